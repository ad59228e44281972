"""The hours of a night typed in or pasted: a table that takes both decimal marks and compass names."""

import math
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView

from mapper.farm.errors import MapperError
from mapper.window.dialog import Dialog
from mapper.window.evening import COMPASS
from mapper.window.numberbox import read_number

if TYPE_CHECKING:
    import pandas as pd

    from mapper.window.window import MainWindow

Index = QModelIndex | QPersistentModelIndex
NO_PARENT = QModelIndex()
# Column of weather/forecast.py, its words and unit.
COLUMNS = (
    ("temp_c", "Air", "°C"), ("rh_pct", "Humidity", "%"), ("wind_km_h", "Wind, 10 m", "km/h"),
    ("gust_km_h", "Gust", "km/h"), ("wind_from_deg", "Wind from", "grid degrees or NW"), ("rain_mm", "Rain", "mm"),
    ("cloud_pct", "Cloud", "%"),
)  # fmt: skip
NIGHT_H = 24
WHAT = (
    "Noon to noon, hour by hour; a point or a comma, as you like. Paste from a spreadsheet where the cursor stands, or "
    "paste a whole forecast with its headings. An empty cell is not known, and what is not known is never a go."
)


class TypedHours(QAbstractTableModel):
    """A line an hour, a column a figure; NaN shows empty."""

    def __init__(self, times: list[datetime], values: list[list[float]], zone: str) -> None:
        super().__init__()
        self.times, self.values, self._zone = times, values, ZoneInfo(zone)

    def rowCount(self, parent: Index = NO_PARENT) -> int:
        """Hours."""
        return len(self.times)

    def columnCount(self, parent: Index = NO_PARENT) -> int:
        """Figures."""
        return len(COLUMNS)

    def headerData(self, section: int, way: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The hour on the farm's clock, or the figure and its unit."""
        if role != Qt.ItemDataRole.DisplayRole:
            return None
        if way == Qt.Orientation.Vertical:
            return f"{self.times[section].astimezone(self._zone):%a %H:%M}"
        return f"{COLUMNS[section][1]}\n{COLUMNS[section][2]}"

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Every cell can be typed in."""
        return super().flags(index) | Qt.ItemFlag.ItemIsEditable

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The figure as text."""
        if role in {Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole}:
            value = self.values[index.row()][index.column()]
            return "" if math.isnan(value) else f"{value:.1f}".rstrip("0").rstrip(".")
        if role == Qt.ItemDataRole.AccessibleTextRole:
            hour = self.headerData(index.row(), Qt.Orientation.Vertical)
            return f"{hour}, {COLUMNS[index.column()][1]}: {self.data(index) or 'not known'}"
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Take what was typed; what is no figure is refused and the cell stays as it was."""
        figure = read_figure(str(value), COLUMNS[index.column()][0])
        if figure is None:
            return False
        self.values[index.row()][index.column()] = figure
        self.dataChanged.emit(index, index)
        return True


def read_figure(text: str, column: str) -> float | None:
    """Return what was typed into a cell: NaN where empty, degrees for a compass name, None where it is no figure."""
    text = text.strip()
    if not text:
        return math.nan
    if column == "wind_from_deg" and text.upper() in COMPASS:
        return COMPASS.index(text.upper()) * 22.5
    return read_number(text)


class HoursView(QTableView):
    """The table. Signal pasted(text): Ctrl+V; Delete empties what is marked."""

    pasted = Signal(str)

    def __init__(self, model: TypedHours) -> None:
        super().__init__()
        self.hours = model
        self.setModel(model)
        self.setAccessibleName("Hours of the night")
        self.setTabKeyNavigation(False)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.verticalHeader().setDefaultSectionSize(28)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ContiguousSelection)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Paste and empty."""
        if event.matches(QKeySequence.StandardKey.Paste):
            self.pasted.emit(QGuiApplication.clipboard().text())
        elif event.key() in {Qt.Key.Key_Delete, Qt.Key.Key_Backspace}:
            for index in self.selectedIndexes():
                self.hours.setData(index, "")
        else:
            super().keyPressEvent(event)

    def paste(self, text: str) -> int:
        """Put lines and tab-parted cells in from the current cell on; return how many cells were no figures."""
        first, wrong = self.currentIndex(), 0
        top, left = max(first.row(), 0), max(first.column(), 0)
        for down, line in enumerate(text.rstrip("\n").split("\n")):
            for right, cell in enumerate(line.rstrip("\r").split("\t")):
                at = self.hours.index(top + down, left + right)
                if at.isValid() and not self.hours.setData(at, cell):
                    wrong += 1
        return wrong


class HoursDialog(Dialog):
    """Shows the night's hours; `table` holds the changed forecast once they are taken."""

    def __init__(self, window: "MainWindow") -> None:
        super().__init__(window, "Hours of the night", WHAT, "Leave them", "Use these hours")
        assert window.session.farm is not None
        self._farm = window.session.farm
        self.table: pd.DataFrame | None = None
        self._held = self._farm.forecast
        night = window.session.night or window.session.now().astimezone(ZoneInfo(self._farm.zone)).date()
        noon = datetime.combine(night, time(12), ZoneInfo(self._farm.zone)).astimezone(UTC)
        self.resize(860, 640)
        self.noon = noon
        self.view = HoursView(TypedHours(*self._hours(noon), self._farm.zone))
        self.view.pasted.connect(self._paste)
        self.body.addWidget(self.view, 1)
        self.add_buttons()
        self.view.setFocus()
        self.view.setCurrentIndex(self.view.hours.index(0, 0))

    def _hours(self, noon: datetime) -> tuple[list[datetime], list[list[float]]]:
        """The forecast's hours from noon to noon, or empty ones."""
        held = self._held
        if held is not None:
            some = held[(held["time_utc"] >= noon) & (held["time_utc"] < noon + timedelta(hours=NIGHT_H))]
            if len(some):
                return [t.to_pydatetime() for t in some["time_utc"]], some[[c for c, *_ in COLUMNS]].to_numpy().tolist()
        return [noon + timedelta(hours=k) for k in range(NIGHT_H)], [[math.nan] * len(COLUMNS) for _ in range(NIGHT_H)]

    def _paste(self, text: str) -> None:
        """Paste cells; a whole table with headings goes through the reader that files go through."""
        head = text.partition("\n")[0]
        if sum(c.isalpha() for c in head) > 8 and text.count("\n") > 1:
            self._paste_whole(text)
            return
        wrong = self.view.paste(text)
        if wrong:
            self.fail(MapperError(f"{wrong} cells were no figures and stay as they were", "pasted", "Look at them"))

    def _paste_whole(self, text: str) -> None:
        from mapper.files.forecast import read_pasted
        from mapper.window.evening import middle

        try:
            self._held, report = read_pasted(text, self._farm.grid, middle(self._farm), self._farm.zone)
        except MapperError as error:
            self.fail(error)
            return
        self.errors.show_items([("note", line, None) for line in report.lines()])
        self.view.setModel(None)
        self.view.hours = TypedHours(*self._hours(self.noon), self._farm.zone)
        self.view.setModel(self.view.hours)

    def take(self) -> None:
        """Put the hours into the forecast, or say what cannot be."""
        import pandas as pd

        from mapper.weather.forecast import FORECAST_COLUMNS, check_forecast

        model = self.view.hours
        typed = pd.DataFrame(model.values, columns=[c for c, *_ in COLUMNS], dtype=float)
        typed.insert(0, "time_utc", pd.to_datetime(model.times, utc=True).astype("datetime64[ns, UTC]"))
        # Hours of which nothing at all was typed are no hours of a forecast.
        typed = typed[typed.drop(columns="time_utc").notna().any(axis=1)]
        held = self._held
        if held is not None:
            rest = held.loc[~held["time_utc"].isin(model.times), list(FORECAST_COLUMNS)]
            typed = pd.concat([rest, typed[list(FORECAST_COLUMNS)]]) if len(typed) else rest
        typed = typed.sort_values("time_utc", ignore_index=True)[list(FORECAST_COLUMNS)]
        try:
            self.table = check_forecast(typed)
        except MapperError as error:
            self.fail(error)
            return
        self.accept()
