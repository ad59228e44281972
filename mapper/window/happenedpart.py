"""What else happened: patrols, holds, notes; blocks as planned and as burnt; other people's words of the night."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QLineEdit, QVBoxLayout

from mapper.window.controls import PushButton, Words
from mapper.window.nightbook import NightBook
from mapper.window.section import Section
from mapper.window.tables import PlainTable
from mapper.window.tallypart import Attempt

# Kind of entry: the words on its button, and the field that holds what was typed.
_KINDS = {"patrol": ("Patrol", "seen"), "hold": ("Held", "why"), "note": ("Note", "text")}


class HappenedPart(Section):
    """now() is the clock; folder() is where files are looked for."""

    def __init__(
        self,
        into: QVBoxLayout,
        book: NightBook,
        attempt: Attempt,
        now: Callable[[], datetime],
        folder: Callable[[], str],
    ) -> None:
        super().__init__(into)
        self._book, self._attempt, self._now, self._folder = book, attempt, now, folder
        self.add(Words("What happened", "head"))
        self.what = QLineEdit()
        self.what.setPlaceholderText("What was seen or done")
        self.what.setAccessibleName("What was seen or done")
        self.add(self.what)
        self.more = {"place": QLineEdit(), "done": QLineEdit()}
        for words, line in zip(("Where", "What was done"), self.more.values(), strict=True):
            line.setFixedWidth(190)
            self.field(words, line)
        self.at = QLineEdit()
        self.at.setFixedWidth(84)
        self.at.setPlaceholderText("now")
        self.field("At", self.at)
        row = QHBoxLayout()
        self.kinds: dict[str, PushButton] = {}
        for kind, (words, _) in _KINDS.items():
            button = self.kinds[kind] = PushButton(words)
            button.clicked.connect(lambda _=False, k=kind: self._write(k))
            row.addWidget(button, 1)
        self.add_layout(row)
        self.rule()
        self.add(Words("Blocks, as planned and as burnt", "head"))
        self.blocks = PlainTable("Blocks, as planned and as burnt", ("", "Planned", "As burnt"), (40, 116, 0))
        self.add(self.blocks)
        self.rule()
        self.add(Words("Other people's words", "head"))
        self.track = PushButton("Bring in the lighter's track")
        self.track.clicked.connect(self._bring_track)
        self.join = PushButton("Add another person's record")
        self.join.clicked.connect(self._add_other)
        self.added = Words("", "small")
        for widget in (self.track, self.join, self.added):
            self.add(widget)

    def refresh(self) -> None:
        """Show the blocks as they are now."""
        from mapper.record.progress import blocks_as_burnt

        if self._book.record is None:
            return
        clock = self._book.clock
        table = blocks_as_burnt(self._book.record).rename(columns={"from": "begun"})
        lines: Any = table.itertuples()
        self.blocks.show_rows([
            (str(b.block), f"{clock(b.planned_from)} to {clock(b.planned_to)}",
             f"{clock(b.begun)} to {clock(b.to)}" if clock(b.begun) else f"{b.copied} of {b.rows} rows")
            for b in lines
        ], most=6)  # fmt: skip

    def _write(self, kind: str) -> None:
        text = self.what.text().strip()
        if not text:
            self.what.setFocus()
            return

        def write() -> None:
            at = self._book.moment(self.at.text()) or self._now()
            more = {key: line.text().strip() for key, line in self.more.items() if line.text().strip()}
            self._book.write(kind, [({_KINDS[kind][1]: text, **more}, at)])

        if self._attempt(write):
            for line in (self.what, self.at, *self.more.values()):
                line.clear()

    def _bring_track(self) -> None:
        path, _ = QFileDialog.getOpenFileName(self, "The lighter's track", self._folder(), "GPX (*.gpx)")
        if path:
            self.bring_track(Path(path))

    def bring_track(self, path: Path) -> None:
        """Write down the rows that a track was driven along, and say how many."""
        from mapper.files.lighttrack import lit_rows

        def bring() -> None:
            assert self._book.record is not None
            found = lit_rows(path, self._book.record)
            self._book.write("rows", found)
            self.added.setText(f"{len(found)} rows lit by {path.name}; look at them on the map.")

        self._attempt(bring)

    def _add_other(self) -> None:
        path, _ = QFileDialog.getOpenFileName(self, "Another record", self._folder(), "Records (*.record.jsonl)")
        if path:
            self.add_other(Path(path))

    def add_other(self, path: Path) -> None:
        """Add another person's record of the night, and say how much of it was new."""

        def add() -> None:
            new = self._book.add_other(path)
            self.added.setText(f"{new} entries of {path.name} are new here.")

        self._attempt(add)
