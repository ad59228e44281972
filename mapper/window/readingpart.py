"""Readings by the hand-held meter: typed, kept, and held against the limits at once."""

import math
from pathlib import Path
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFileDialog, QLineEdit, QVBoxLayout

from mapper.window.controls import PushButton, Words
from mapper.window.nightbook import NightBook
from mapper.window.numberbox import NumberBox
from mapper.window.section import Section
from mapper.window.tables import PlainTable
from mapper.window.tallypart import Attempt

# Field of the entry: words, unit, lowest, highest, may be empty.
_BOXES = {
    "temp_c": ("Air", "degC", -30.0, 60.0, True),
    "rh_pct": ("Humidity", "%", 0.0, 100.0, True),
    "wind_km_h": ("Wind, mean", "km/h", 0.0, 200.0, True),
    "gust_km_h": ("Gust", "km/h", 0.0, 250.0, True),
    "wind_from_deg": ("Wind from", "deg", 0.0, 360.0, True),
    "height_m": ("Meter held at", "m", 0.5, 50.0, False),
}
_WANTED = ("temp_c", "rh_pct", "wind_km_h")


class ReadingPart(Section):
    """Signal outside(sentence) where a reading is outside a limit. now() is the clock."""

    outside = Signal(str)

    def __init__(self, into: QVBoxLayout, book: NightBook, attempt: Attempt, now: Any) -> None:
        super().__init__(into)
        self._book, self._attempt, self._now = book, attempt, now
        self.add(Words("Reading by the meter", "head"))
        self.boxes: dict[str, NumberBox] = {}
        for key, (words, unit, low, high, empty) in _BOXES.items():
            box = self.boxes[key] = NumberBox(words, low, high, may_be_empty=empty)
            self.field(words, box, unit)
        self.boxes["height_m"].set_number(2.0)
        self.at = QLineEdit()
        self.at.setFixedWidth(84)
        self.at.setPlaceholderText("now")
        self.field("Taken at", self.at)
        self.keep = PushButton("Keep the reading")
        self.keep.clicked.connect(self._write)
        self.add(self.keep)
        self.bring = PushButton("Bring in the meter's log")
        self.bring.clicked.connect(self._ask)
        self.add(self.bring)
        self.table = PlainTable("Readings", ("Time", "km/h", "degC", "%", "Limits"), (52, 46, 46, 40, 0))
        self.add(self.table)
        self.last = Words("", "small")
        self.add(self.last)

    def refresh(self) -> None:
        """Show the record's readings."""
        from mapper.record.readings import readings_table

        if self._book.record is None:
            return
        table = readings_table(self._book.record)
        lines: Any = table.itertuples()
        rows = [
            (self._book.clock(r.time_utc), f"{r.wind_km_h:.0f}", f"{r.temp_c:.0f}", f"{r.rh_pct:.0f}",
             "ok|inside" if r.carry_on else "stop|stop and hold")
            for r in lines
        ]  # fmt: skip
        self.table.setVisible(bool(rows))
        self.table.show_rows(rows, most=5)
        self.last.setVisible(bool(rows))
        if rows:
            last = table.iloc[-1]
            index = "" if math.isnan(last["index"]) else f" Danger index {last['index']:.0f}."
            self.last.setText(f"{rows[-1][0]}: {last['words']}{index}")

    def _ask(self) -> None:
        path, _ = QFileDialog.getOpenFileName(self, "A meter's log", "", "Tables (*.csv *.txt)")
        if path:
            self.bring_log(Path(path))

    def bring_log(self, path: Path) -> None:
        """Keep all readings of a meter's log."""
        from mapper.files.meterlog import meter_readings

        record = self._book.record
        if record is not None:
            self._attempt(lambda: self._book.write("reading", meter_readings(path, record)[0]))

    def _write(self) -> None:
        from mapper.farm.errors import MapperError
        from mapper.record.readings import against_limits

        body = {key: box.number() for key, box in self.boxes.items() if not math.isnan(box.number())}

        def write() -> None:
            missing = [_BOXES[key][0].lower() for key in _WANTED if key not in body]
            if missing:
                raise MapperError(f"the {missing[0]} is not typed in", "Reading", "Type it, then keep the reading")
            self._book.write("reading", [(body, self._book.moment(self.at.text()) or self._now())])

        if not self._attempt(write) or self._book.record is None:
            return
        self.at.clear()
        for key in ("temp_c", "rh_pct", "wind_km_h", "gust_km_h"):
            self.boxes[key].set_number(math.nan)
        for why in against_limits(body, self._book.record.limits).why[:1]:
            self.outside.emit(why)
