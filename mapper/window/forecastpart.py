"""Which issue of the forecast is used, hours typed in, and readings of a hand-held meter beside it."""

import math
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QVBoxLayout

from mapper.farm.errors import MapperError
from mapper.window import looks
from mapper.window.controls import Choice, PushButton, Words
from mapper.window.evening import compass
from mapper.window.numberbox import MomentBox, NumberBox
from mapper.window.section import Section
from mapper.window.tables import PlainTable
from mapper.window.week import look_at_week

if TYPE_CHECKING:
    from mapper.window.window import MainWindow

# Figure of weather/readings.py, words, unit, lowest, highest.
FIGURES = (
    ("wind_km_h", "Wind read", "km/h", 0.0, 150.0), ("gust_km_h", "Gust read", "km/h", 0.0, 200.0),
    ("wind_from_deg", "Wind from", "deg", 0.0, 360.0), ("temp_c", "Air", "°C", -20.0, 55.0),
    ("rh_pct", "Humidity", "%", 0.0, 100.0), ("height_m", "Meter held at", "m", 0.5, 10.0),
)  # fmt: skip


class ForecastPart(Section):
    """The forecast in hand: its issues to choose from, and its hours to type in."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow") -> None:
        super().__init__(into)
        self._window, self.session = window, window.session
        self.issue = Choice("Forecast used")
        self.issue.setFixedWidth(218)
        self.issue.activated.connect(lambda _: self._take_issue())
        self.field("Forecast", self.issue)
        self.type_in = PushButton("Type in or paste hours")
        self.type_in.clicked.connect(self._type_in)
        self.week = PushButton("Look at the week of evenings")
        self.week.clicked.connect(lambda: look_at_week(window))
        for button in (self.type_in, self.week):
            self.add(button)

    def refresh(self) -> None:
        """Show the issues kept; the one used is chosen."""
        farm = self.session.farm
        if farm is None:
            return
        self.week.setEnabled(farm.forecast is not None)
        used = farm.issue
        issues = [*farm.forecasts, *([used] if used is not None and used not in farm.forecasts else [])]
        words = [i.words(farm.zone) for i in issues] if issues else ["none yet"]
        if [self.issue.itemText(k) for k in range(self.issue.count())] != words:
            self.issue.clear()
            self.issue.addItems(words)
        self.issue.setEnabled(len(issues) > 1)
        if used is not None:
            at = next(k for k, i in enumerate(issues) if i is used or i.table is used.table)
            self.issue.setCurrentIndex(at)
            self.issue.setToolTip(words[at])

    def _take_issue(self) -> None:
        farm, at = self.session.farm, self.issue.currentIndex()
        if farm is not None and at < len(farm.forecasts) and farm.forecasts[at].table is not farm.forecast:
            issue = farm.forecasts[at]
            self.session.edit(f"Use the forecast {issue.source}", farm.with_(forecast=issue.table))
            self._window.work.work_out(("hours",))

    def _type_in(self) -> None:
        from mapper.window.hourstable import HoursDialog

        farm = self.session.farm
        if farm is None:
            return
        dialog = HoursDialog(self._window)
        if dialog.exec() and dialog.table is not None:
            self.session.edit("Type in hours", farm.with_(forecast=dialog.table))
            self._window.work.work_out(("hours",))


class Readings(Section):
    """What a hand-held meter read, beside what the forecast says for that moment."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow") -> None:
        super().__init__(into)
        self._window, self.session = window, window.session
        self.rule()
        self.add(Words("Readings of your own meter", "head"))
        self.table = PlainTable("Readings", ("At", "Wind", "Air", ""), (86, 84, 76, 0))
        self.table.chosen.connect(self._tell)
        self.add(self.table)
        self.words = Words("", "small")
        self.add(self.words)
        self.at = MomentBox("Read at")
        self.field("Read at", self.at)
        self.boxes: dict[str, NumberBox] = {}
        for key, words, unit, low, high in FIGURES:
            self.boxes[key] = NumberBox(f"Reading: {words.lower()}", low, high, 1, may_be_empty=True)
            self.field(words, self.boxes[key], unit)
        self.boxes["height_m"].set_number(2.0)
        self.by = QLineEdit()
        self.by.setFixedWidth(180)
        self.field("Read by", self.by)
        self.put_in, self.take_out = PushButton("Put in the reading"), PushButton("Take out the last")
        self.put_in.clicked.connect(self._put_in)
        self.take_out.clicked.connect(self._take_out)
        row = QHBoxLayout()
        row.setSpacing(looks.GAP_M)
        row.addWidget(self.put_in, 1)
        row.addWidget(self.take_out, 1)
        self.add_layout(row)
        self._said: list[str] = []

    def refresh(self) -> None:
        """Show the readings, newest last, each held against the forecast."""
        farm = self.session.farm
        if farm is None:
            return
        if not self.at.hasFocus():
            self.at.show_moment(self.session.now(), farm.zone)
        has = farm.readings is not None and len(farm.readings) > 0
        self.table.setVisible(has)
        self.take_out.setVisible(has)
        if not has or farm.readings is None:
            self.words.setText(
                "A reading at the paddock says more than a forecast. Put yours in; they are held together."
            )
            return
        from mapper.weather.readings import against_forecast

        zone, rows = farm.zone, []
        if farm.forecast is None:
            held = farm.readings.assign(differs=False, known=False)
            self._said = ["There is no forecast to hold it against."]
        else:
            held = against_forecast(farm.forecast, farm.readings)
            held["known"] = held[["wind_km_h_forecast", "temp_c_forecast"]].notna().any(axis=1)
            self._said = list(held["words"])
        for _, line in held.iterrows():
            at = line["time_utc"].tz_convert(zone)
            air = "" if math.isnan(line["temp_c"]) else f"{line['temp_c']:.0f}°"
            air += "" if math.isnan(line["rh_pct"]) else f" {line['rh_pct']:.0f} %"
            wind = "" if math.isnan(line["wind_km_h"]) else f"{compass(line['wind_from_deg'])} {line['wind_km_h']:.0f}"
            state = "look|differs" if line["differs"] else "ok|as forecast" if line["known"] else "todo|no hour"
            rows.append((f"{at.day} {at:%b %H:%M}", wind.strip(), air.strip(), state))
        self.table.show_rows(rows, most=5)
        self.words.setText(self._said[-1])

    def _tell(self, row: int) -> None:
        self.words.setText(self._said[min(row, len(self._said) - 1)])

    def _put_in(self) -> None:
        from mapper.weather.readings import add_reading

        farm = self.session.farm
        if farm is None:
            return
        figures = {key: box.number() for key, box in self.boxes.items()}
        if all(math.isnan(figures[k]) for k in ("wind_km_h", "temp_c", "rh_pct")):
            self.session.said.emit("A reading needs a wind, a temperature or a humidity.")
            self.boxes["wind_km_h"].setFocus()
            return
        values = {"time_utc": self.at.moment(farm.zone), "by": self.by.text().strip(), **figures}
        try:
            readings = add_reading(farm.readings, **values)
        except MapperError as error:
            self.session.fail("evening", error)
            return
        self.session.clear_error("evening")
        self.session.edit("Put in a reading", farm.with_(readings=readings))

    def _take_out(self) -> None:
        farm = self.session.farm
        if farm is not None and farm.readings is not None:
            rest = farm.readings.iloc[:-1].reset_index(drop=True)
            self.session.edit("Take out a reading", farm.with_(readings=rest if len(rest) else None))
