"""What else happened: patrols, holds, notes, fires that got away; blocks as burnt; other people's records."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QLineEdit, QVBoxLayout

from mapper.window.controls import PushButton, Words
from mapper.window.nightbook import NightBook
from mapper.window.section import Section
from mapper.window.tables import PlainTable
from mapper.window.tallypart import Attempt

if TYPE_CHECKING:
    from mapper.record.entry import Entry

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
        self.rule()
        self.add(Words("What else happened", "head"))
        self.what = QLineEdit()
        self.what.setPlaceholderText("What was seen or done")
        self.what.setAccessibleName("What was seen or done")
        self.add(self.what)
        row = QHBoxLayout()
        self.kinds: dict[str, PushButton] = {}
        for kind, (words, _) in _KINDS.items():
            button = self.kinds[kind] = PushButton(words)
            button.clicked.connect(lambda _=False, k=kind: self._write(k))
            row.addWidget(button, 1)
        self.add_layout(row)
        self.escaped = PushButton("Write down a fire that got away")
        self.escaped.clicked.connect(lambda: self._ask_escape(None))
        self.add(self.escaped)
        self.escapes = PlainTable("Fires that got away", ("", "Noticed", "Still to write"), (40, 66, 0))
        self.escapes.chosen.connect(lambda row: self._ask_escape(self._got_away()[row]))
        self.add(self.escapes)
        self.rule()
        self.add(Words("Blocks, as planned and as burnt", "head"))
        self.blocks = PlainTable("Blocks, as planned and as burnt", ("", "Planned", "As burnt"), (40, 116, 0))
        self.add(self.blocks)
        self.withdraw = PushButton("Take back my last entry")
        self.withdraw.clicked.connect(lambda: self._attempt(self._book.take_back))
        self.track = PushButton("Bring in the lighter's track")
        self.track.clicked.connect(self._bring_track)
        self.join = PushButton("Add another person's record")
        self.join.clicked.connect(self._add_other)
        for button in (self.withdraw, self.track, self.join):
            self.add(button)

    def refresh(self) -> None:
        """Show escapes and blocks as they are now."""
        from mapper.record.escape import still_missing
        from mapper.record.progress import blocks_as_burnt

        if self._book.record is None:
            return
        clock = self._book.clock
        rows = []
        for e in self._got_away():
            missing = ", ".join(f.label.lower() for f in still_missing(e))
            rows.append((str(e.body["name"]), clock(e.happened), missing or "ok|all written"))
        self.escapes.setVisible(bool(rows))
        self.escapes.show_rows(rows, most=4)
        table = blocks_as_burnt(self._book.record).rename(columns={"from": "begun"})
        lines: Any = table.itertuples()
        self.blocks.show_rows([
            (str(b.block), f"{clock(b.planned_from)} to {clock(b.planned_to)}",
             f"{clock(b.begun)} to {clock(b.to)}" if clock(b.begun) else f"{b.copied} of {b.rows} rows")
            for b in lines
        ], most=6)  # fmt: skip

    def _got_away(self) -> "tuple[Entry, ...]":
        from mapper.record.escape import escapes

        return escapes(self._book.record) if self._book.record is not None else ()

    def _write(self, kind: str) -> None:
        text = self.what.text().strip()
        if not text:
            self.what.setFocus()
        elif self._attempt(lambda: self._book.write(kind, [({_KINDS[kind][1]: text}, self._now())])):
            self.what.clear()

    def _ask_escape(self, before: "Entry | None") -> None:
        from mapper.window.escapedialog import EscapeDialog

        name = str(before.body["name"]) if before is not None else f"E{len(self._got_away()) + 1}"
        replaces = before.entry_id if before is not None else ""

        def keep(body: dict[str, Any], at: datetime | None) -> None:
            self._book.write("escape", [(body, at)], replaces)

        EscapeDialog(self, name, self._book, keep, before).exec()

    def _bring_track(self) -> None:
        path, _ = QFileDialog.getOpenFileName(self, "The lighter's track", self._folder(), "GPX (*.gpx)")
        if path:
            self._attempt(lambda: self.bring_track(Path(path)))

    def bring_track(self, path: Path) -> None:
        """Write down the rows that a track was driven along. Raises MapperError."""
        from mapper.files.lighttrack import lit_rows

        assert self._book.record is not None
        self._book.write("rows", lit_rows(path, self._book.record))

    def _add_other(self) -> None:
        path, _ = QFileDialog.getOpenFileName(self, "Another record", self._folder(), "Records (*.record.jsonl)")
        if path:
            self._attempt(lambda: self._book.add_other(Path(path)))
