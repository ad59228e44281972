"""A wind change typed in by hand, used besides those found in the forecast."""

from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from PySide6.QtCore import QTime
from PySide6.QtWidgets import QVBoxLayout

from mapper.weather.windchange import WindChange
from mapper.window.controls import PushButton, Words
from mapper.window.evening import compass
from mapper.window.numberbox import ClockBox, NumberBox
from mapper.window.section import Section
from mapper.window.tables import PlainTable

if TYPE_CHECKING:
    from mapper.window.window import MainWindow

NOON = 12


class TypedChange(Section):
    """Time, from, to and speeds of a change; bearings are grid degrees, where the wind blows from."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow") -> None:
        super().__init__(into)
        self._window, self.session = window, window.session
        self.rule()
        self.add(Words("Wind change typed in", "head"))
        self.table = PlainTable("Wind changes typed in", ("At", "Wind from", "km/h"), (60, 0, 90))
        self.add(self.table)
        self.at = ClockBox("Wind change at")
        self.at.setTime(QTime(20, 0))
        self.field("At", self.at)
        self.boxes: dict[str, NumberBox] = {}
        for key, words, unit, high in (
            ("from_deg", "From before", "deg", 360.0), ("to_deg", "From after", "deg", 360.0),
            ("from_km_h", "Speed before", "km/h", 150.0), ("to_km_h", "Speed after", "km/h", 150.0),
        ):  # fmt: skip
            self.boxes[key] = NumberBox(f"Wind change: {words.lower()}", 0.0, high, 0, may_be_empty=True)
            self.field(words, self.boxes[key], unit)
        self.put_in, self.take_out = PushButton("Put in a change"), PushButton("Take out the last")
        self.put_in.clicked.connect(self._put_in)
        self.take_out.clicked.connect(self._take_out)
        self.add(self.put_in)
        self.add(self.take_out)

    def refresh(self) -> None:
        """Show the changes typed in."""
        farm, changes = self.session.farm, self.session.asked.typed_changes
        self.table.setVisible(bool(changes))
        self.take_out.setVisible(bool(changes))
        if farm is not None:
            zone = ZoneInfo(farm.zone)
            self.table.show_rows([
                (f"{c.at.astimezone(zone):%H:%M}", f"{compass(c.from_deg)}, then {compass(c.to_deg)}",
                 f"{c.from_km_h:.0f}, then {c.to_km_h:.0f}")
                for c in changes
            ])  # fmt: skip

    def _put_in(self) -> None:
        farm, night = self.session.farm, self.session.night
        if farm is None or night is None:
            return
        figures = {key: box.number() for key, box in self.boxes.items()}
        empty = [box for box in self.boxes.values() if box.number() != box.number()]
        if empty:
            self.session.said.emit("A wind change needs both directions and both speeds.")
            empty[0].setFocus()
            return
        typed = self.at.time()
        # The night runs from noon to noon.
        day = night if typed.hour() >= NOON else night + timedelta(days=1)
        at = datetime.combine(day, time(typed.hour(), typed.minute()), ZoneInfo(farm.zone)).astimezone(UTC)
        others = [c for c in self.session.asked.typed_changes if c.at != at]
        changes = tuple(sorted((*others, WindChange(at, **figures)), key=lambda c: c.at))
        self.session.ask("Type in a wind change", typed_changes=changes)
        self._window.work.work_out(("hours",))

    def _take_out(self) -> None:
        self.session.ask("Take out a wind change", typed_changes=self.session.asked.typed_changes[:-1])
        self._window.work.work_out(("hours",))
