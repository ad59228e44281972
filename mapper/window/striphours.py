"""The evening as a table: a column an hour, a row a matter; what each cell says to eye and reader."""

import math
from datetime import datetime, timedelta
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt

from mapper.window.evening import Evening, compass

Index = QModelIndex | QPersistentModelIndex
NO_PARENT = QModelIndex()
WIND, DANGER, AIR, LIMITS, LANES = 0, 1, 2, 3, 4
HEIGHTS = (38, 21, 21, 40)
LANE_PX, HOUR_PX, LABEL_PX, HEAD_PX = 26, 80, 158, 52


class HoursModel(QAbstractTableModel):
    """The evening as a table: a column an hour, a row a matter; read out cell by cell."""

    LABELS = ("Wind and gust, km/h", "Fire danger index", "°C / humidity %", "Inside your limits")

    def __init__(self) -> None:
        super().__init__()
        self.evening: Evening | None = None
        self.lanes: tuple[str, ...] = ()

    def show(self, evening: Evening | None) -> None:
        """Show another evening."""
        self.beginResetModel()
        self.evening = evening
        self.lanes = () if evening is None else tuple(dict.fromkeys(b.paddock for b in evening.blocks))
        self.endResetModel()

    def rowCount(self, parent: Index = NO_PARENT) -> int:
        """Four matters of weather and a lane for each paddock."""
        return 0 if self.evening is None else len(HEIGHTS) + max(1, len(self.lanes))

    def columnCount(self, parent: Index = NO_PARENT) -> int:
        """One for each hour."""
        return 0 if self.evening is None else len(self.evening.hours)

    def local(self, column: int) -> datetime:
        """Return the column's hour in the farm's zone."""
        assert self.evening is not None
        return self.evening.hours["time_utc"].iloc[column].tz_convert(self.evening.zone).to_pydatetime()  # type: ignore[no-any-return]

    def headerData(self, section: int, way: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return the hour or the matter."""
        if role not in {Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole} or self.evening is None:
            return None
        if way == Qt.Orientation.Horizontal:
            return f"{self.local(section):%H:%M}"
        if section < LANES:
            return self.LABELS[section]
        return self.lanes[section - LANES] if self.lanes else "Blocks"

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return the cell's words; the tip and the reader get the whole reason."""
        whole = role in {Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole}
        if self.evening is None or not (whole or role == Qt.ItemDataRole.DisplayRole):
            return None
        hour = self.evening.hours.iloc[index.column()]
        row = index.row()
        if row == WIND:
            words = f"{compass(hour['wind_from_deg'])} {hour['wind_km_h']:.0f}, gust {hour['gust_km_h']:.0f}"
            return f"{words} km/h" if whole else words
        if row == DANGER:
            value = hour[self.evening.index_column]
            return "" if math.isnan(value) else f"{value:.1f}" if value < 1 else f"{value:.0f}"
        if row == AIR:
            return f"{hour['temp_c']:.0f} / {hour['rh_pct']:.0f}"
        if row == LIMITS:
            why = str(hour["why"])
            if not whole:
                return {"go": "inside", "caution": "with care"}.get(hour["verdict"]) or short_reasons(hour)
            return f"{hour['verdict']}: {why}" if why else str(hour["verdict"])
        if not self.lanes:
            return "no order worked out yet" if index.column() == 0 and whole else ""
        start = hour["time_utc"]
        inside = [
            b.block for b in self.evening.blocks
            if b.paddock == self.lanes[row - LANES] and b.starts_at < start + timedelta(hours=1) and b.ends_at > start
        ]  # fmt: skip
        return ("block " + ", ".join(inside)) if whole and inside else ""


# The first words of a reason that stands against an hour, and the word for it in a narrow cell.
_SHORT = {
    "wind": "wind", "gust": "gust", "humidity": "humidity", "air temp": "heat", "temp": "heat", "rain": "rain",
    "soaking": "wet", "outside your hours": "your hours", "nothing is lit": "day off", "a ban": "ban",
    "visib": "smoke", "smoke": "smoke", "grass": "index", "fire": "index",
}  # fmt: skip


def short_reasons(hour: Any) -> str:
    """Return a word for each matter that stands against an hour (a matter's reasons begin with the worst)."""
    words = []
    for key, word in (("stay_in_row", "wind"), ("heat", "too cool"), ("smoke", "smoke"), ("local_rules", "rules"),
                      ("lighting", "change too near")):  # fmt: skip
        if hour.get(key) == "no-go":
            first = str(hour.get(f"{key}_why", "")).lower()
            words.append(next((short for begin, short in _SHORT.items() if first.startswith(begin)), word))
    return ", ".join(dict.fromkeys(words)) or "not"
