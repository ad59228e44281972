"""The season so far: its nights in a table, what they come to, and both as spreadsheet and on paper."""

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QFileDialog, QHBoxLayout

from mapper.window.controls import PushButton, Words
from mapper.window.dialog import Dialog
from mapper.window.numberbox import NumberBox
from mapper.window.tables import PlainTable

if TYPE_CHECKING:
    from mapper.record.night import NightRecord
    from mapper.window.window import MainWindow

HEADS = ("Night", "Paddocks", "Rows", "km", "ha", "Hours", "People", "Readings", "Wind off plan", "Got away", "Cost")
_WIDTHS = (92, 0, 78, 50, 50, 54, 58, 100, 100, 72, 66)


class SeasonDialog(Dialog):
    """Nights kept beside the farm, of the season of the latest one; last season's tell what burnt twice."""

    def __init__(self, window: "MainWindow") -> None:
        super().__init__(window, "The season", "Every night kept beside this farm.", "Close", "Save the report")
        self._window, self.session = window, window.session
        self.table = PlainTable("Nights of the season", HEADS, _WIDTHS)
        self.body.addWidget(self.table)
        self.said = Words("", "body")
        self.body.addWidget(self.said)
        row = QHBoxLayout()
        self.costs: dict[str, NumberBox] = {}
        for key, words in (("cost_hour", "Cost of a person, an hour"), ("cost_km", "of fuel, a kilometre of row")):
            box = self.costs[key] = NumberBox(words, 0.0, 10_000.0, 2, may_be_empty=True)
            box.set_number(float(str(QSettings("mapper", "mapper").value(key, "nan"))))
            box.valueChanged.connect(lambda _, k=key: self._cost_typed(k))
            row.addWidget(Words(words, "soft", wrap=False))
            row.addWidget(box)
        row.addStretch(1)
        self.sheet = PushButton("Save as spreadsheet")
        self.sheet.clicked.connect(self._ask_sheet)
        row.addWidget(self.sheet)
        self.body.addStretch(1)
        self.body.addLayout(row)
        self.add_buttons()
        self.resize(980, 520)
        self.records, self.before = self._nights()
        self.show_season()

    def _nights(self) -> "tuple[list[NightRecord], list[NightRecord]]":
        """The nights of the latest season, and those of the one before it."""
        from mapper.record.season import season_name

        every = self.session.book.nights(self.session.path)
        names = {season_name(r.night) for r in every}
        latest = max(names, default="")
        mine = [r for r in every if season_name(r.night) == latest]
        year = int(latest[:4]) - 1 if latest else 0
        return mine, [r for r in every if season_name(r.night)[:4] == str(year)]

    def _season(self) -> Any:
        from mapper.record.season import season_of

        assert self.session.farm is not None
        km = self.costs["cost_km"].number()
        return season_of(self.session.farm, self.records, self.before, self.costs["cost_hour"].number(),
                         0.0 if math.isnan(km) else km)  # fmt: skip

    def show_season(self) -> None:
        """Show the nights and the sentences."""
        from mapper.sheets.seasonpage import season_words

        for button in (self.sheet, self.take_button):
            button.setEnabled(bool(self.records))
        if not self.records:
            self.table.setVisible(False)
            self.said.setText("No night is kept beside this farm yet. The Record step opens one.")
            return
        season = self._season()
        self.setWindowTitle(f"The season {season.season}")
        lines: Any = season.nights.itertuples()
        self.table.show_rows([
            (f"{n.night.day} {n.night:%b %Y}", n.paddocks, f"{n.rows_burnt} of {n.rows}", f"{n.km_burnt:.1f}",
             f"{n.burnt_ha:.1f}", _number(n.hours, ".1f"), str(n.people),
             f"look|{n.outside_limits} outside" if n.outside_limits else str(n.readings),
             _number(n.wind_error_km_h, "+.0f"), str(n.escapes or ""), _number(n.cost, ",.0f"))
            for n in lines
        ], most=8)  # fmt: skip
        self.said.setText("\n".join(season_words(season)))

    def _cost_typed(self, key: str) -> None:
        QSettings("mapper", "mapper").setValue(key, str(self.costs[key].number()))
        self.show_season()

    def _ask_sheet(self) -> None:
        path, _ = QFileDialog.getSaveFileName(self, "Save the season", self._name("xlsx"), "Spreadsheets (*.xlsx)")
        if path:
            self.save_sheet(Path(path))

    def save_sheet(self, path: Path) -> None:
        """Save the season as a spreadsheet."""
        season, records = self._season(), self.records

        def work(progress: Any, cancelled: Any) -> None:
            from mapper.files.seasontable import write_season

            write_season(season, records, path)

        self._start(work, path)

    def take(self) -> None:
        """Ask where and save the report."""
        path, _ = QFileDialog.getSaveFileName(self, "Save the season's report", self._name("pdf"), "PDF (*.pdf)")
        if path:
            self.save_report(Path(path))

    def save_report(self, path: Path) -> None:
        """Save the report as PDF."""
        assert self.session.farm is not None
        season, records, farm, now = self._season(), self.records, self.session.farm, self.session.now()

        def work(progress: Any, cancelled: Any) -> None:
            from mapper.record.season import burnt_parts
            from mapper.sheets.recordbook import print_season

            print_season(season, farm, burnt_parts(records), now, path)

        self._start(work, path)

    def _name(self, ending: str) -> str:
        return f"{self._window.files.folder()}/Season {self._season().season.replace('/', '-')}.{ending}"

    def _start(self, work: Any, path: Path) -> None:
        saved = f"Saved as {path.name}."
        self._window.jobs.start(
            "season", work, lambda _: self.errors.show_items([("note", saved, None)]), self.fail
        )  # fmt: skip


def _number(value: float, form: str) -> str:
    return "" if math.isnan(value) else format(value, form)
