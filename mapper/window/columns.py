"""How a log's columns are taken: shown in a table, put right by hand, agreed to before anything is read."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLineEdit, QWidget

from mapper.farm.errors import MapperError
from mapper.window import looks
from mapper.window.controls import Choice, Words
from mapper.window.dialog import Dialog
from mapper.window.preview import MiniMap
from mapper.window.remarks import Card

# So many sentences on what was amiss; the report after reading has all.
_FAULTS = 4

if TYPE_CHECKING:
    from mapper.farm.farm import Farm
    from mapper.files.preview import LogPreview
    from mapper.window.window import MainWindow

NOT_USED = "not used"
LEVELS = {"certain": "note", "likely": "note", "guess": "look"}


class ColumnsDialog(Dialog):
    """One line a column of the file: its name, what it is taken as, its unit, samples, how sure."""

    def __init__(self, window: "MainWindow", paths: list[str], farm: "Farm", seen: "LogPreview") -> None:
        names = ", ".join(Path(p).name for p in paths)
        lead = f"{names}. Nothing is kept until you bring it in."
        super().__init__(window, "Bring in a harvester log", lead, "Leave it", "Bring it in")
        from mapper.files.columns import MEANINGS, WORDS
        from mapper.files.units import FACTORS

        columns, self._seen = seen.columns, seen
        self._columns, self._dimension, self._units = columns, MEANINGS, FACTORS
        self.agreed: tuple[Any, Any] | None = None
        self.resize(980, 760)
        inside = QWidget()
        grid = QGridLayout(inside)
        grid.setHorizontalSpacing(looks.GAP_L)
        for k, head in enumerate(("In file", "Taken as", "Unit", "First values", "How sure")):
            grid.addWidget(Words(head, "small", wrap=False), 0, k)
        self.rows: list[tuple[str, Choice, Choice]] = []
        entries = {e.column: e for e in columns.entries}
        for k, name in enumerate([*entries, *(c for c in columns.unused if c not in entries)], start=1):
            entry = entries.get(name)
            meaning, unit = Choice(f"{name} is taken as"), Choice(f"Unit of {name}")
            meaning.addItem(NOT_USED, "")
            for key in MEANINGS:
                meaning.addItem(WORDS.get(key, key).replace("_", " "), key)
            meaning.setCurrentIndex(max(0, meaning.findData("" if entry is None else entry.meaning)))
            meaning.setFixedWidth(170)
            unit.setFixedWidth(110)
            meaning.currentIndexChanged.connect(lambda _, m=meaning, u=unit: self._fill_units(m, u))
            self._fill_units(meaning, unit, "" if entry is None else entry.unit)
            for at, widget in enumerate((Words(name, "body", wrap=False), meaning, unit)):
                grid.addWidget(widget, k, at)
            samples = _short("   ".join(seen.samples.get(name, () if entry is None else entry.samples)[:3]))
            grid.addWidget(Words(samples, "soft", wrap=False), k, 3)
            if entry is not None:
                sure = "sure" if entry.sure == "certain" else f"{entry.sure}: {entry.why}" if entry.why else entry.sure
                grid.addWidget(Card(LEVELS[entry.sure], sure), k, 4) if entry.sure == "guess" else grid.addWidget(
                    Words(sure, "soft"), k, 4
                )
            self.rows.append((name, meaning, unit))
        grid.setColumnStretch(4, 1)
        grid.setRowStretch(len(self.rows) + 1, 1)
        self.scrolled(inside)
        if seen.track is not None and len(seen.track):
            self.map = MiniMap(list(farm.paddocks.geometry), [], seen.track[["x", "y"]].to_numpy())
            self.map.setFixedHeight(190)
            self.body.addWidget(self.map)
        if seen.remembered:
            self.body.addWidget(Words("Columns as you put them right before for a log like this.", "soft"))
        for fault in seen.faults()[:_FAULTS]:
            self.body.addWidget(Words(_sentence(fault), "soft"))
        self.crs = QLineEdit(columns.crs)
        self.crs.setPlaceholderText(
            f"only where the file has metres and does not say its grid; the farm's is {farm.grid.name}"
        )
        self.crs.setAccessibleName("Grid of the file, for example EPSG:7854")
        grid_row = QHBoxLayout()
        grid_row.addWidget(Words("Grid of the file", wrap=False))
        grid_row.addWidget(self.crs, 1)
        self.body.addLayout(grid_row)
        self.add_buttons()

    def _fill_units(self, meaning: Choice, unit: Choice, wanted: str = "") -> None:
        known = list(self._units.get(self._dimension.get(meaning.currentData() or "", ""), {}))
        unit.clear()
        unit.addItem("as written", "")
        for name in known:
            unit.addItem(name, name)
        unit.setCurrentIndex(max(0, unit.findData(wanted)))
        unit.setEnabled(bool(known))

    def take(self) -> None:
        """Agree to the columns as they stand now; a meaning taken twice is refused."""
        from mapper.files.columns import ColumnEntry

        old = {e.column: e for e in self._columns.entries}
        made: list[Any] = []
        try:
            for name, meaning, unit in self.rows:
                key = meaning.currentData()
                if not key:
                    continue
                if any(e.meaning == key for e in made):
                    raise MapperError(f"{meaning.currentText()} is taken from two columns", name, "Set one to not used")
                before = old.get(name)
                if before is not None and (before.meaning, before.unit) == (key, unit.currentData()):
                    made.append(before)
                else:
                    made.append(ColumnEntry(key, name, unit.currentData() or "", "certain", "put right by hand"))
        except MapperError as error:
            self.fail(error)
            return
        crs = self.crs.text().strip() or None
        self.agreed = (replace(self._columns, entries=tuple(made)), crs)
        if self.agreed[0].entries != self._columns.entries:
            from mapper.files.remembered import columns_folder

            self._seen.keep(replace(self.agreed[0], crs=crs or ""), columns_folder())
        self.accept()


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _short(samples: str, most: int = 34) -> str:
    return samples if len(samples) <= most else f"{samples[:most]} ..."


def look_at_columns(path: str, zone: str) -> Callable[[Any, Any], "LogPreview | None"]:
    """Return work that looks at the beginning of a log. It gives None for task data, which says itself what its
    columns are: there is nothing to agree to.
    """

    def work(progress: Any, cancelled: Any) -> "LogPreview | None":
        from mapper.files.preview import look_at_log
        from mapper.files.remembered import columns_folder
        from mapper.files.taskxml import is_taskdata

        return None if is_taskdata(Path(path)) else look_at_log(path, zone=zone, remembered=columns_folder())

    return work
