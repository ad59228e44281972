"""The next crop: where to look, weeds counted there, and whether burning worked, with what few counts leave open."""

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QFileDialog, QLineEdit, QVBoxLayout

from mapper.farm.errors import MapperError
from mapper.window.controls import PushButton, Tick, Words
from mapper.window.numberbox import NumberBox
from mapper.window.section import Section
from mapper.window.tables import PlainTable
from mapper.window.tallypart import Attempt

if TYPE_CHECKING:
    from mapper.window.window import MainWindow


class CropPart(Section):
    """Places worst first; a place chosen is shown on the map."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow", attempt: Attempt) -> None:
        super().__init__(into)
        self._window, self._book, self._attempt = window, window.session.book, attempt
        self.add(Words("Look here in the next crop", "head"))
        self.places = PlainTable("Where to look in the next crop", ("", "Row", "From, to", "Why"), (38, 38, 96, 0))
        self.places.chosen.connect(self._show)
        self.add(self.places)
        self.none = Words("Every row is written down as burnt: nothing to look for.", "small")
        self.add(self.none)
        self.rule()
        self.add(Words("Weeds counted there", "head"))
        self.burnt = Tick("On a row that burnt")
        self.burnt.setChecked(True)
        self.add(self.burnt)
        self.plants = NumberBox("Plants", 0, 1e6, 0, may_be_empty=True)
        self.length = NumberBox("Counted along", 0.05, 10_000, 2, may_be_empty=True)
        self.across = NumberBox("Counted across", 0.05, 100, 2)
        self.across.set_number(0.5)
        self.row = NumberBox("Row counted", 1, 9999, 0, may_be_empty=True)
        self.row.valueChanged.connect(self._row_typed)
        self.species = QLineEdit()
        self.species.setFixedWidth(150)
        self.field("Row", self.row)
        self.field("Plants", self.plants)
        self.field("Along", self.length, "m")
        self.field("Across", self.across, "m")
        self.field("Weed", self.species)
        self.keep = PushButton("Keep the count")
        self.keep.clicked.connect(self._keep)
        self.bring = PushButton("Bring in counts")
        self.bring.clicked.connect(self._ask)
        self.add(self.keep)
        self.add(self.bring)
        self.counts = PlainTable("Counts", ("", "Plants", "m2", "Row", "Weed"), (76, 56, 50, 40, 0))
        self.add(self.counts)
        self.worked = Words("", "body")
        self.add(self.worked)

    def refresh(self) -> None:
        """Show places, counts and what they say."""
        from mapper.record.counts import counts_table, worked_words

        record = self._book.record
        if record is None:
            return
        places = self._book.places
        lines: Any = places.itertuples()
        self.places.setVisible(len(places) > 0)
        self.none.setVisible(len(places) == 0)
        self.places.show_rows([(p.place, str(p.order_no or ""), f"{p.from_m:.0f} to {p.to_m:.0f} m", p.reason)
                               for p in lines], most=5)  # fmt: skip
        table = counts_table(record)
        counted: Any = table.itertuples()
        self.counts.setVisible(len(table) > 0)
        self.counts.show_rows([("burnt" if c.burnt else "not burnt", str(c.plants), f"{c.area_m2:g}",
                                "" if c.row is None or c.row != c.row else f"{c.row:.0f}", c.species)
                               for c in counted], most=5)  # fmt: skip
        words = worked_words(table)
        self.worked.setText(words or "Count on rows that burnt and on places that did not: then it shows.")

    def _show(self, row: int) -> None:
        place = self._book.places.iloc[row]
        self._window.show_place(place.geometry)
        if place["order_no"] > 0:
            self.row.set_number(float(place["order_no"]))
            self._row_typed()

    def _row_typed(self) -> None:
        """Take from the record whether the row burnt."""
        number = self.row.number()
        if not math.isnan(number):
            self.burnt.setChecked(self._book.states.get(int(number), "burnt") == "burnt")

    def _keep(self) -> None:
        def write() -> None:
            for words, box in (("plants", self.plants), ("length", self.length)):
                if math.isnan(box.number()):
                    raise MapperError(f"the {words} is not typed in", "Weed counts", "Type it, then keep the count")
            row = self.row.number()
            area = self.length.number() * self.across.number()
            self._book.write("count", [({
                "burnt": self.burnt.isChecked(), "plants": int(self.plants.number()), "area_m2": round(area, 4),
                "row": None if math.isnan(row) else int(row), "species": self.species.text().strip(),
            }, self._window.session.now())])  # fmt: skip

        if self._attempt(write):
            self.plants.set_number(math.nan)

    def _ask(self) -> None:
        path, _ = QFileDialog.getOpenFileName(self, "Weed counts", "", "Tables (*.csv *.txt)")
        if path:
            self.bring_counts(Path(path))

    def bring_counts(self, path: Path) -> None:
        """Keep all counts of a table."""
        from mapper.files.weedcounts import read_counts

        self._attempt(lambda: self._book.write("count", read_counts(path)))
