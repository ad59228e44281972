"""The Rows step: the logs, the machines, what was found, the picked row."""

import math
from typing import TYPE_CHECKING, Any

from mapper.farm.errors import MapperError
from mapper.window import rowedits
from mapper.window.calibrate import Calibrate
from mapper.window.controls import Choice, PushButton, Words
from mapper.window.handrows import HandRows
from mapper.window.loadline import LoadLine
from mapper.window.numberbox import NumberBox
from mapper.window.panel import StepPanel
from mapper.window.section import Section

if TYPE_CHECKING:
    pass

MACHINE = (
    ("header_width_m", "Cutting width", "m", 1.0, 60.0, 2),
    ("chute_behind_m", "Antenna to chute", "m", -15.0, 20.0, 1),
    ("header_ahead_m", "Antenna to cutter bar", "m", -5.0, 15.0, 1),
    ("antenna_right_m", "Antenna right of centre", "m", -10.0, 10.0, 2),
    ("threshing_delay_s", "Straw comes out after", "s", 0.0, 60.0, 0),
    ("row_width_m", "Row width", "m", 0.2, 3.0, 2),
)


class RowsPanel(StepPanel):
    """Fields of the second step."""

    step, title = "rows", "Rows"
    lead = "One row for each pass of the harvester; from a pattern where there is no log."
    quiet, act = "Work out rows", "Use these rows"

    def build(self) -> None:
        """Logs, machine, facts, picked row."""
        self._logs = Section(self.body)
        self.log_words = Words("", "body")
        self._logs.add(self.log_words)
        button = PushButton("Bring in a harvester log", "log")
        button.clicked.connect(self.window_.files.open_logs)
        self._logs.add(button)
        self._found = Section(self.body)
        self._found.rule()
        self.facts = {w: self._found.fact(w) for w in ("Rows", "Row in all", "Load, middle", "Too heavy", "Heaps")}
        self._row = Section(self.body)
        self._row.rule()
        self.row_head = Words("", "head")
        self._row.add(self.row_head)
        self.row_facts = {
            w: self._row.fact(w)
            for w in ("Length", "Load", "Lightest, heaviest", "Load in the row", "Driven", "Known from")
        }
        self.load_line = LoadLine()
        self._row.add(self.load_line)
        self._machine = Section(self.body)
        self._machine.rule()
        self.machine = Choice("Harvester")
        self.machine.setFixedWidth(180)
        self.machine.activated.connect(lambda _: self.refresh())
        self._machine.field("Harvester", self.machine)
        self.boxes: dict[str, NumberBox] = {}
        for key, words, unit, low, high, decimals in MACHINE:
            box = self.boxes[key] = NumberBox(words, low, high, decimals)
            box.valueChanged.connect(lambda v, k=key, w=words: self._set(k, v, w.lower()))
            self._machine.field(words, box, unit)
        self.calibrate = Calibrate(self.body, self.window_)
        self.hand = HandRows(self.body, self.window_)

    def _set(self, key: str, value: float, words: str) -> None:
        farm = self.session.farm
        name = self.machine.currentText()
        if farm is None or not name:
            return
        try:
            changed = rowedits.set_machine_figure(farm, name, key, value)
        except MapperError as error:
            self.session.fail("rows", error)
            return
        self.session.edit(f"Change {words} of {name}", changed)

    def refresh(self) -> None:
        """Show logs, machine, what was found, the picked row."""
        farm = self.session.farm
        known = farm is not None and not farm.paddocks.empty
        for section in (self._logs, self._machine, self.calibrate, self.hand, self._found, self._row):
            section.setVisible(known)
        found = self.session.known("rows")
        self.quiet_button.set_words("Work out rows" if known and found else "")
        self.act_button.set_words(("Use these rows" if found else "Work out rows") if known else "Go to paddock")
        if farm is None or not known:
            self.lead_words.setText("Rows need a paddock first.")
            return
        self.lead_words.setText(self.lead)
        fixes = sum(len(t) for t in farm.tracks.values())
        self.log_words.setText(
            "No harvester log yet. Rows are laid by the paddock's cutting width, bearing and laps."
            if not farm.tracks
            else f"{len(farm.tracks)} log{'s' * (len(farm.tracks) != 1)}, {fixes:,} points: {', '.join(farm.tracks)}."
        )
        names = [h.machine for h in farm.harvesters]
        if [self.machine.itemText(k) for k in range(self.machine.count())] != names:
            self.machine.clear()
            self.machine.addItems(names)
        self._machine.setVisible(bool(names))
        machine = next((h for h in farm.harvesters if h.machine == self.machine.currentText()), None)
        if machine is not None:
            for key, box in self.boxes.items():
                if not box.hasFocus():
                    box.set_number(getattr(machine, key))
            self.calibrate.refresh(machine.machine)
        self.calibrate.setVisible(machine is not None and bool(farm.tracks))
        self.hand.refresh()
        self._show_found()

    def _show_found(self) -> None:
        rows, heaps = self.session.layer("windrows"), self.session.layer("heaps")
        self._found.setVisible(rows is not None)
        self._row.setVisible(False)
        self.act_button.setEnabled(rows is None or len(rows) > 0)
        if rows is None:
            return
        name = self.session.paddock
        some = rows[rows["paddock"] == name] if name else rows
        self.facts["Rows"].setText(f"{len(some)}")
        self.facts["Row in all"].setText(f"{some['length_m'].sum() / 1000:.1f} km")
        self.facts["Load, middle"].setText(
            _figure(float(some["load_kg_m"].median()) if len(some) else math.nan, "kg/m")
        )
        heavy = some[some["load_class"] == "heavy"]
        self.facts["Too heavy"].setText(f"{len(heavy)} rows, {heavy['length_m'].sum() / 1000:.1f} km")
        count = 0 if heaps is None else int((heaps["paddock"] == name).sum()) if name else len(heaps)
        self.facts["Heaps"].setText(str(count))
        picked = rows[rows["row_id"] == self.session.row_id]
        self._row.setVisible(len(picked) > 0)
        if len(picked):
            self._show_row(picked.iloc[0])

    def _show_row(self, row: Any) -> None:
        assert self.session.farm is not None
        self.row_head.setText(f"Row {str(row['row_id']).rpartition('-')[2].lstrip('0')} of {row['paddock']}")
        self.load_line.show_row(row, self.session.farm.limits)
        along = self.load_line.kg_m
        self.row_facts["Lightest, heaviest"].setText(
            f"{min(along):.1f}, {max(along):.1f} kg/m" if along else "not known"
        )
        self.row_facts["Length"].setText(f"{row['length_m']:,.0f} m")
        load = _figure(float(row["load_kg_m"]), "kg/m")
        self.row_facts["Load"].setText(f"{load}, {row['load_class']}" if row["load_class"] else load)
        self.row_facts["Load in the row"].setText(_figure(float(row["load_t_ha"]), "t/ha"))
        import pandas as pd

        when = row["dropped_at"]
        driven = "" if pd.isna(when) else f"{when.tz_convert(self.session.farm.zone):%d %b %Y, %H:%M}".lstrip("0")
        self.row_facts["Driven"].setText(", ".join(t for t in (driven, str(row["machine"])) if t) or "not known")
        gap = float(row["share_interpolated"])
        known = str(row["evidence"]) or "not known"
        self.row_facts["Known from"].setText(f"{known}, {gap:.0%} filled in" if gap > 0.005 else known)

    def on_quiet(self) -> None:
        """Work the rows out."""
        self.window_.work.work_out(("rows",))

    def on_act(self) -> None:
        """Go on to the breaks; work the rows out while there are none, back to the paddock while there is none."""
        if self.session.farm is None or self.session.farm.paddocks.empty:
            self.session.go_to("paddock")
        elif not self.session.known("rows"):
            self.on_quiet()
        else:
            self.session.go_to("breaks")


def _figure(value: float, unit: str) -> str:
    return "not known" if math.isnan(value) else f"{value:.2f} {unit}"
