"""The Evening step: which evening, what is known of bans, which paddocks, and the local limits."""

from datetime import date

from PySide6.QtWidgets import QLineEdit

from mapper.hours.verdict import BanCheck
from mapper.window.controls import Choice, PushButton, Tick, Words
from mapper.window.forecastpart import ForecastPart, Readings
from mapper.window.numberbox import MomentBox
from mapper.window.panel import StepPanel
from mapper.window.section import Section
from mapper.window.tables import PlainTable
from mapper.window.typedchange import TypedChange

BAN_WORDS = {"unknown": "Nobody has looked", "none": "No ban declared", "declared": "A ban is declared"}
# Limits shown in the panel; the rest are in the list that "Change a limit" opens.
SHOWN = ("wind_min", "wind_max", "gust_max", "index_max", "humidity_min", "temperature_max", "light_from", "out_by",
         "change_margin")  # fmt: skip


class EveningPanel(StepPanel):
    """Fields of the fourth step."""

    step, title = "evening", "Evening"
    lead = "The forecast hours, held against the limits you typed in."
    quiet, act = "Open a forecast", "Use these hours"

    def build(self) -> None:
        """Evening, ban, paddocks, limits."""
        self.forecast = ForecastPart(self.body, self.window_)
        self._ask = Section(self.body)
        self.night = Choice("Evening")
        self.night.setFixedWidth(180)
        self.night.activated.connect(lambda _: self._take_night())
        self._ask.field("Evening", self.night)
        self.ban = Choice("Ban declared")
        self.ban.setFixedWidth(180)
        for state, words in BAN_WORDS.items():
            self.ban.addItem(words, state)
        self.ban.activated.connect(lambda _: self._take_ban())
        self._ask.field("Ban for that day", self.ban)
        self.ban_time = MomentBox("Looked at")
        self.ban_by = QLineEdit()
        self.ban_by.setFixedWidth(180)
        self.ban_time.editingFinished.connect(self._take_ban)
        self.ban_by.editingFinished.connect(self._take_ban)
        self._ask.field("Looked at", self.ban_time)
        self._ask.field("Looked at by", self.ban_by)
        self._paddocks = Section(self.body)
        self._paddocks.rule()
        self._paddocks.add(Words("Paddocks to burn", "head"))
        self.ticks: dict[str, Tick] = {}
        self.change = TypedChange(self.body, self.window_)
        self.readings = Readings(self.body, self.window_)
        self._limits = Section(self.body)
        self._limits.rule()
        self._limits.add(Words("Local limits", "head"))
        self.table = PlainTable("Local limits", ("Limit", "", "Source"), (138, 68, 0))
        self._limits.add(self.table)
        change = PushButton("Change a limit")
        change.clicked.connect(lambda _=False: self.window_.change_limits())
        self.table.chosen.connect(lambda k: self.window_.change_limits(self._keys[k]))
        self._limits.add(change)
        self._keys: list[str] = []

    def refresh(self) -> None:
        """Show the session as it is."""
        farm = self.session.farm
        has = farm is not None and farm.forecast is not None
        for section in (self._ask, self._paddocks, self.change):
            section.setVisible(has)
        self.forecast.setVisible(farm is not None and not farm.paddocks.empty)
        self.readings.setVisible(has)
        self._limits.setVisible(farm is not None)
        self.quiet_button.set_words("Open a forecast" if has else "")
        self.act_button.set_words("Use these hours" if has else "Open a forecast")
        self.act_button.setEnabled(farm is not None)
        self.lead_words.setText(
            self.lead if has else "No forecast yet. Open a forecast file, and the hours are judged."
        )
        if farm is None:
            return
        self.forecast.refresh()
        if has:
            self.readings.refresh()
            self._show_nights()
            self._show_ban()
            self._show_paddocks()
            self.change.refresh()
        self._keys = [k for k in SHOWN if farm.limits.get(k) is not None]
        rows = []
        for key in self._keys:
            limit = farm.limits.get(key)
            assert limit is not None
            words = (
                limit.kind.label.split(" (")[0]
                .replace("Air temperature", "Air")
                .replace("Spare time before a wind change", "Before a change")
            )
            if key == "index_max":
                words = "Fire danger index"
            value = _clock(limit.value) if limit.unit == "h" else f"{limit.value:g} {limit.unit}".replace("degC", "°C")
            source = "not set by you" if limit.starting else f"{limit.source}, {limit.date}"
            rows.append((words, value, f"look|{source}" if limit.starting else source))
        self.table.show_rows(rows, most=12)

    def _show_nights(self) -> None:
        farm = self.session.farm
        assert farm is not None and farm.forecast is not None
        local = farm.forecast["time_utc"].dt.tz_convert(farm.zone)
        nights = sorted(set(local[local.dt.hour.between(16, 23)].dt.date))
        if [self.night.itemData(k) for k in range(self.night.count())] != nights:
            self.night.clear()
            for night in nights:
                self.night.addItem(f"{night:%a} {night.day} {night:%B %Y}", night)
        self.night.setCurrentIndex(nights.index(self.session.night) if self.session.night in nights else -1)

    def _show_ban(self) -> None:
        ban, farm = self.session.ban, self.session.farm
        assert farm is not None
        self.ban.setCurrentIndex(self.ban.findData(ban.state))
        for widget in (self.ban_time, self.ban_by):
            widget.setEnabled(ban.state != "unknown")
        if not self.ban_time.hasFocus():
            self.ban_time.show_moment(ban.checked_at or self.session.now(), farm.zone)
        if not self.ban_by.hasFocus():
            self.ban_by.setText(ban.by)

    def _show_paddocks(self) -> None:
        farm = self.session.farm
        assert farm is not None
        names = list(farm.paddocks["paddock"])
        if list(self.ticks) != names:
            for tick in self.ticks.values():
                tick.hide()
                tick.deleteLater()
            self.ticks = {}
            for name in names:
                tick = self.ticks[name] = Tick(name)
                tick.clicked.connect(lambda _=False: self._take_paddocks())
                self._paddocks.add(tick)
        chosen = self.session.asked.paddocks
        for name, tick in self.ticks.items():
            tick.setChecked(not chosen or name in chosen)

    def _take_night(self) -> None:
        night: date = self.night.currentData()
        if night != self.session.night:
            self.session.look_at(night)
            if self.session.ban.state == "unknown":
                self.session.said.emit("Another evening: look whether a ban is declared for it.")
            self.window_.work.work_out(("hours",))

    def _take_ban(self) -> None:
        farm = self.session.farm
        if farm is None:
            return
        state = self.ban.currentData()
        if state == "unknown":
            ban = BanCheck()
        else:
            at = self.ban_time.moment(farm.zone)
            if at > self.session.now():
                self.session.said.emit("The time has not come yet: type when somebody looked.")
                self.ban_time.setFocus()
                return
            ban = BanCheck(state, at, self.ban_by.text().strip())
        if ban != self.session.ban:
            self.session.ask("Note the ban check", ban=ban)
            self.window_.work.work_out(("hours",))

    def _take_paddocks(self) -> None:
        chosen = tuple(name for name, tick in self.ticks.items() if tick.isChecked())
        if not chosen:
            self.session.said.emit("At least one paddock must be ticked.")
            self._show_paddocks()
            return
        self.session.ask("Choose the paddocks to burn", paddocks=() if len(chosen) == len(self.ticks) else chosen)

    def on_quiet(self) -> None:
        """Open a forecast file."""
        self.window_.files.open_forecast()

    def on_act(self) -> None:
        """Work out the order for these hours and go there; open a forecast while there is none."""
        if self.session.farm is None or self.session.farm.forecast is None:
            self.on_quiet()
            return
        self.session.go_to("order")
        self.window_.work.work_out()


def _clock(hours: float) -> str:
    return f"{int(hours):02d}:{round(hours % 1 * 60):02d}"
