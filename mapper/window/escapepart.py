"""Fires that got away: written as far as they are known, with their place or outline on the map."""

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QFileDialog, QVBoxLayout

from mapper.window.controls import PushButton, Words
from mapper.window.section import Section
from mapper.window.shapes import Point
from mapper.window.tables import PlainTable
from mapper.window.tallypart import Attempt
from mapper.window.tools import MeasureTool

if TYPE_CHECKING:
    from datetime import datetime

    from mapper.record.entry import Entry
    from mapper.window.window import MainWindow


class BurntTool(MeasureTool):
    """Draw round what burnt, or click the place alone."""

    name, key, icon = "Draw what burnt", "U", "fire"
    words = "Click round what burnt, or the place alone. Enter or a double click keeps it, Backspace takes back."
    steps = frozenset({"record"})

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Set a corner."""
        if event.button() == Qt.MouseButton.LeftButton:
            self.move(at, event)
            super().press(at, event)

    def on_key(self, event: QKeyEvent) -> bool:
        """Enter keeps it; Esc on nothing leaves."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self._keep()
        elif event.key() == Qt.Key.Key_Escape and not self.corners:
            self.canvas.take_tool("Pick")
        else:
            return super().on_key(event)
        return True

    def double(self, at: Point, event: QMouseEvent) -> None:
        """Keep it."""
        self._keep()

    def _keep(self) -> None:
        corners, self.corners = list(dict.fromkeys(self.corners)), []
        if corners:
            self.canvas.shape_drawn.emit(corners)
        self.canvas.take_tool("Pick")


class EscapePart(Section):
    """Each escape of the record; one is picked, written on, and drawn."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow", attempt: Attempt) -> None:
        super().__init__(into)
        self._window, self._book, self._attempt = window, window.session.book, attempt
        self._picked = ""
        self.add(Words("Fire that got away", "head"))
        self.add(Words("Tell the fire authority at once; this page is written beside it.", "small"))
        self.table = PlainTable("Fires that got away", ("", "Noticed", "Still to write"), (44, 66, 0))
        self.table.chosen.connect(self._pick)
        self.add(self.table)
        self.missing = Words("", "small")
        self.add(self.missing)
        self.fresh = PushButton("Write one down")
        self.more = PushButton("Write more of it")
        self.draw = PushButton("Draw what burnt")
        self.track = PushButton("Its outline from a track")
        self.fresh.clicked.connect(lambda: self._ask(None))
        self.more.clicked.connect(lambda: self._ask(self._one()))
        self.draw.clicked.connect(lambda: window.canvas.take_tool("Draw what burnt"))
        self.track.clicked.connect(self._ask_track)
        for button in (self.fresh, self.more, self.draw, self.track):
            self.add(button)
        window.canvas.shape_drawn.connect(self.keep_drawn)

    def refresh(self) -> None:
        """Show the escapes as they are now."""
        from mapper.record.escape import area_ha, still_missing

        found = self._all()
        rows = []
        for e in found:
            missing = len(still_missing(e, self._asked()))
            rows.append((str(e.body["name"]), self._book.clock(e.happened), f"look|{missing} fields" if missing
                         else "ok|all written"))  # fmt: skip
        self.table.setVisible(bool(rows))
        self.table.show_rows(rows, most=4)
        one = self._one()
        names = [str(e.body["name"]) for e in found]
        self.table.mark_row(names.index(self._picked) if one is not None else -1)
        for button in (self.more, self.draw, self.track):
            button.setVisible(one is not None)
        self.missing.setVisible(one is not None)
        if one is not None:
            words = ", ".join(f.label.lower() for f in still_missing(one, self._asked()))
            size = area_ha(one)
            area = "" if math.isnan(size) else f" {size:.2g} ha."
            self.missing.setText(f"{one.body['name']}:{area} Not written yet: {words or 'nothing'}.")

    def _asked(self) -> Any:
        assert self._book.record is not None
        return self._book.record.escape_fields

    def _all(self) -> "tuple[Entry, ...]":
        from mapper.record.escape import escapes

        return escapes(self._book.record) if self._book.record is not None else ()

    def _one(self) -> "Entry | None":
        return next((e for e in self._all() if e.body["name"] == self._picked), None)

    def _pick(self, row: int) -> None:
        self._picked = str(self._all()[row].body["name"])
        self.refresh()

    def _ask(self, before: "Entry | None") -> None:
        from mapper.window.escapedialog import EscapeDialog

        taken = {str(e.body["name"]) for e in self._all()}
        name = str(before.body["name"]) if before is not None else _free_name(taken)
        replaces = before.entry_id if before is not None else ""

        def keep(body: dict[str, Any], at: "datetime | None") -> None:
            self._book.write("escape", [(body, at)], replaces)
            self._picked = name

        EscapeDialog(self, name, self._book, keep, before).exec()

    # Its shape ---------------------------------------------------------------------------------------------------

    def keep_drawn(self, corners: list[Point]) -> None:
        """Keep what was drawn: a place, a line of fire, or an outline."""
        if len(corners) == 1:
            self._keep_shape(f"POINT ({corners[0][0]:.2f} {corners[0][1]:.2f})")
        else:
            self._keep_shape(f"LINESTRING ({', '.join(f'{x:.2f} {y:.2f}' for x, y in corners)})")

    def _ask_track(self) -> None:
        path, _ = QFileDialog.getOpenFileName(self, "A track round what burnt", "", "GPX (*.gpx)")
        if path:
            self.bring_track(Path(path))

    def bring_track(self, path: Path) -> None:
        """Take a track walked round what burnt as the outline of the picked escape."""
        from mapper.files.lighttrack import track_wkt

        record = self._book.record
        if record is not None:
            self._attempt(lambda: self._keep_shape(track_wkt(path, record)))

    def _keep_shape(self, wkt: str) -> None:
        one = self._one() or next(iter(self._all()[-1:]), None)

        def keep() -> None:
            # Drawn before anything is written: the place comes first, the words later.
            body = {"name": "E1"} if one is None else dict(one.body)
            at = self._window.session.now() if one is None else one.at
            self._book.write("escape", [({**body, "shape": wkt}, at)], "" if one is None else one.entry_id)
            self._picked = str(body["name"])

        self._attempt(keep)


def _free_name(taken: set[str]) -> str:
    return next(f"E{n}" for n in range(1, len(taken) + 2) if f"E{n}" not in taken)
