"""The evening strip: a real table of the night's hours, with the windows, the wind change and the blocks over it."""

import math
from datetime import datetime, timedelta
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from mapper.window import looks
from mapper.window.controls import Words
from mapper.window.evening import Evening, compass
from mapper.window.icons import paint_icon

Index = QModelIndex | QPersistentModelIndex
NO_PARENT = QModelIndex()
WIND, DANGER, AIR, LIMITS, LANES = 0, 1, 2, 3, 4
HEIGHTS = (38, 21, 21, 26)
LANE_PX, HOUR_PX, LABEL_PX, HEAD_PX = 26, 80, 158, 52
NO_FORECAST = "No forecast yet. Open a forecast file, and the evening shows here."


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
    for key, word in (("stay_in_row", "wind"), ("heat", "too cool"), ("smoke", "smoke"), ("local_rules", "rules")):
        if hour.get(key) == "no-go":
            first = str(hour.get(f"{key}_why", "")).lower()
            words.append(next((short for begin, short in _SHORT.items() if first.startswith(begin)), word))
    return ", ".join(dict.fromkeys(words)) or "not"


class Cell(QStyledItemDelegate):
    """Paints one cell: the wind with its arrow, figures, or why an hour is not inside the limits."""

    def paint(self, p: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint a cell without the style's own look."""
        view: StripTable = self.parent()  # type: ignore[assignment]
        model = view.hours
        evening = model.evening
        if evening is None:
            return
        c, box = looks.colours(view), QRectF(option.rect)
        hour = evening.hours.iloc[index.column()]
        inside = hour["verdict"] != "no-go"
        ink = QColor(c.ink if inside else c.soft)
        p.save()
        p.setClipRect(box)
        p.setPen(ink)
        p.setFont(looks.font_px(view, looks.SMALL, bold=inside))
        if index.row() == WIND:
            deg = hour["wind_from_deg"]
            if not math.isnan(deg):
                paint_icon(p, "arrow", QRectF(box.x() + 5, box.y() + 9, 18, 18), ink, deg + 180)
            head = f"{compass(deg)} {hour['wind_km_h']:.0f}" if hour["wind_km_h"] == hour["wind_km_h"] else "not known"
            p.drawText(box.adjusted(27, 2, 0, -18), Qt.AlignmentFlag.AlignVCenter, head)
            p.setFont(looks.font_px(view, looks.SMALL))
            gust = f"gust {hour['gust_km_h']:.0f}" if hour["gust_km_h"] == hour["gust_km_h"] else ""
            p.drawText(box.adjusted(27, 19, 0, 0), Qt.AlignmentFlag.AlignVCenter, gust)
        elif index.row() in {DANGER, AIR}:
            if index.row() == AIR:
                p.setFont(looks.font_px(view, looks.SMALL))
            p.drawText(box.adjusted(7, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, str(index.data()))
        elif index.row() == LIMITS and not inside:
            band = box.adjusted(0, 2, 0, -2)
            p.fillRect(band, Qt.GlobalColor.transparent)
            p.setPen(QPen(QColor(c.line), 1))
            x = band.left() - band.height()
            while x < band.right():
                p.drawLine(int(x), int(band.bottom()), int(x + band.height()), int(band.top()))
                x += 5.0
            p.setFont(looks.font_px(view, looks.SMALL))
            text = p.fontMetrics().elidedText(str(index.data()), Qt.TextElideMode.ElideRight, int(box.width() - 10))
            plate = QRectF(box.x() + 5, box.y() + 4, p.fontMetrics().horizontalAdvance(text) + 4, box.height() - 8)
            p.fillRect(plate, QColor(c.panel))
            p.setPen(QColor(c.soft))
            p.drawText(plate.adjusted(2, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, text)
        p.restore()


class HourHeader(QHeaderView):
    """The hours, and above them flags: sunset, the hour shown on the map, the wind change."""

    def __init__(self, view: "StripTable") -> None:
        super().__init__(Qt.Orientation.Horizontal, view)
        self._view = view
        self.setSectionsClickable(False)
        self.setFixedHeight(HEAD_PX)

    def sizeHint(self) -> QSize:
        """Room for flags and hours."""
        return QSize(super().sizeHint().width(), HEAD_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint hours and flags."""
        view, p = self._view, QPainter(self.viewport())
        c, evening = looks.colours(view), view.hours.evening
        p.fillRect(self.viewport().rect(), QColor(c.panel))
        if evening is None:
            return
        for column in range(view.hours.columnCount()):
            x = self.sectionViewportPosition(column)
            inside = evening.hours["verdict"].iloc[column] != "no-go"
            p.setFont(looks.font_px(view, looks.SMALL, bold=inside))
            p.setPen(QColor(c.ink if inside else c.soft))
            p.drawText(
                QRectF(x + 7, 31, HOUR_PX - 8, 19), Qt.AlignmentFlag.AlignVCenter, f"{view.hours.local(column):%H:%M}"
            )
        taken: list[QRectF] = []
        flags: list[tuple[datetime, str, str, str]] = []
        if view.shown is not None:
            flags.append(
                (view.shown, f"{view.clock(view.shown)} shown on map", c.panel if c.dark else "#FFFFFF", c.focus)
            )
        flags += [(ch.at, f"wind change {view.clock(ch.at)}", c.stop, c.stop_ground) for ch in evening.changes]
        for at, text, ink, ground in flags:
            self._flag(p, at, text, ink, ground, taken)
        if evening.sunset is not None:
            x = view.x_of(evening.sunset)
            text = f"sunset {view.clock(evening.sunset)}"
            p.setFont(looks.font_px(view, looks.SMALL))
            box = QRectF(
                x - p.fontMetrics().horizontalAdvance(text) - 6, 6, p.fontMetrics().horizontalAdvance(text) + 4, 20
            )
            if not any(box.intersects(t) for t in taken):
                p.setPen(QColor(c.soft))
                p.drawText(box, Qt.AlignmentFlag.AlignVCenter, text)

    def _flag(self, p: QPainter, at: datetime, text: str, ink: str, ground: str, taken: list[QRectF]) -> None:
        x = self._view.x_of(at)
        p.setFont(looks.font_px(self._view, looks.SMALL, bold=True))
        width = p.fontMetrics().horizontalAdvance(text) + 14
        box = QRectF(x, 6, width, 21)
        if box.right() > self.viewport().width() or any(box.intersects(t) for t in taken):
            box.moveRight(x)
        if any(box.intersects(t) for t in taken) or x < 0 or x > self.viewport().width():
            return
        taken.append(box)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setPen(Qt.PenStyle.NoPen)
        p.setBrush(QColor(ground))
        p.drawRoundedRect(box, 3, 3)
        p.setPen(QColor(ink))
        p.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
        p.fillRect(
            QRectF(x - 0.75, 27, 1.5, HEAD_PX - 27),
            QColor(ground if ground == looks.colours(self._view).focus else ink),
        )


class StripTable(QTableView):
    """The hours. Dragging or the arrow keys move the hour shown on the map."""

    hour_wanted = Signal(object)
    block_picked = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.hours = HoursModel()
        self.shown: datetime | None = None
        self.stale = False
        self.block = ("", "")
        self.setModel(self.hours)
        self.setAccessibleName("Hours of the evening")
        self.setItemDelegate(Cell(self))
        self.setHorizontalHeader(HourHeader(self))
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.horizontalHeader().setDefaultSectionSize(HOUR_PX)
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setObjectName("hourLabels")
        self.verticalHeader().setMinimumSectionSize(12)
        self.verticalHeader().setFixedWidth(LABEL_PX)
        self.verticalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.setShowGrid(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTabKeyNavigation(False)
        self.setMouseTracking(True)
        self.setCornerButtonEnabled(False)

    def show(self, evening: Evening | None = None) -> None:
        """Show an evening; called without one it is the widget's own show."""
        if evening is None:
            super().show()
            return
        at: float | None = self.horizontalScrollBar().value() if self._same_night(evening) else None
        self.hours.show(evening)
        for row in range(self.hours.rowCount()):
            self.setRowHeight(row, HEIGHTS[row] if row < LANES else LANE_PX)
        if at is None:
            first = evening.windows[0].starts_at if evening.windows else evening.sunset
            at = 0.0 if first is None else max(0.0, self._column_x(first) - 3 * HOUR_PX)
        self.horizontalScrollBar().setValue(int(at // HOUR_PX * HOUR_PX))
        self.viewport().update()

    def _same_night(self, evening: Evening) -> bool:
        return self.hours.evening is not None and self.hours.evening.night == evening.night

    def wanted_height(self) -> int:
        """Return the height that shows every row."""
        return HEAD_PX + sum(HEIGHTS) + LANE_PX * max(1, min(5, len(self.hours.lanes))) + 12

    def clock(self, at: datetime) -> str:
        """Return a time in the farm's zone, as on a clock."""
        import pandas as pd

        assert self.hours.evening is not None
        return f"{pd.Timestamp(at).tz_convert(self.hours.evening.zone):%H:%M}"

    def _column_x(self, at: datetime) -> float:
        evening = self.hours.evening
        assert evening is not None
        times = evening.hours["time_utc"]
        column = max(0, int(times.searchsorted(at, side="right")) - 1)
        following = times.iloc[column + 1] if column + 1 < len(times) else times.iloc[column] + timedelta(hours=1)
        part = (at - times.iloc[column]) / (following - times.iloc[column])
        return float((column + part) * HOUR_PX)

    def x_of(self, at: datetime) -> float:
        """Return the x of a time in the viewport."""
        return self._column_x(at) - self.horizontalScrollBar().value()

    def time_at(self, x: float) -> datetime | None:
        """Return the time at an x of the viewport, to five minutes."""
        evening = self.hours.evening
        if evening is None or not len(evening.hours):
            return None
        times, at = evening.hours["time_utc"], (x + self.horizontalScrollBar().value()) / HOUR_PX
        column = min(max(0, int(at)), len(times) - 1)
        following = times.iloc[column + 1] if column + 1 < len(times) else times.iloc[column] + timedelta(hours=1)
        part = min(max(0.0, at - column), 1.0)
        exact = times.iloc[column] + (following - times.iloc[column]) * part
        return exact.round("5min").to_pydatetime()  # type: ignore[no-any-return]

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint cells, then hour lines, windows, blocks and the marked times over them."""
        evening = self.hours.evening
        c, p = looks.colours(self), QPainter(self.viewport())
        if evening is None:
            return
        bottom = sum(HEIGHTS) + LANE_PX * max(1, len(self.hours.lanes))
        for column in range(self.hours.columnCount() + 1):
            p.fillRect(QRectF(self.columnViewportPosition(0) + column * HOUR_PX, 0, 1, bottom), QColor(c.line))
        p.end()
        super().paintEvent(event)
        p = QPainter(self.viewport())
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        if evening.sunset is not None:
            p.setPen(QPen(QColor(c.soft), 1, Qt.PenStyle.DashLine))
            x = self.x_of(evening.sunset)
            p.drawLine(int(x), 0, int(x), 20)
        for change in evening.changes:
            p.fillRect(QRectF(self.x_of(change.at) - 0.75, 0, 1.5, bottom), QColor(c.stop))
        self._paint_windows(p, evening)
        self._paint_blocks(p, evening)
        if self.shown is not None:
            p.fillRect(QRectF(self.x_of(self.shown) - 1, 0, 2, bottom), QColor(c.focus))

    def _paint_windows(self, p: QPainter, evening: Evening) -> None:
        c, top = looks.colours(self), sum(HEIGHTS[:LIMITS])
        for window in evening.windows:
            box = QRectF(self.x_of(window.starts_at), top + 2, 0, HEIGHTS[LIMITS] - 4)
            box.setRight(self.x_of(window.ends_at))
            ink, ground = (c.ok, c.ok_ground) if window.verdict == "go" else (c.warn, c.warn_ground)
            p.setPen(QPen(QColor(ink), 1.5, Qt.PenStyle.SolidLine if window.verdict == "go" else Qt.PenStyle.DashLine))
            p.setBrush(QColor(ground))
            p.drawRoundedRect(box, 4, 4)
            words = "inside every limit you typed" if window.verdict == "go" else f"with care: {window.why}"
            text = f"{self.clock(window.starts_at)} to {self.clock(window.ends_at)}, {words}"
            paint_icon(p, "done" if window.verdict == "go" else "look", QRectF(box.x() + 7, box.y() + 3, 15, 15), ink)
            p.setFont(looks.font_px(self, looks.SMALL, bold=True))
            room = box.adjusted(27, 0, -4, 0)
            p.drawText(room, Qt.AlignmentFlag.AlignVCenter,
                       p.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, int(max(0, room.width()))))  # fmt: skip

    def _paint_blocks(self, p: QPainter, evening: Evening) -> None:
        c = looks.colours(self)
        if not evening.blocks:
            p.setFont(looks.font_px(self, looks.SMALL))
            p.setPen(QColor(c.soft))
            p.drawText(QRectF(7, sum(HEIGHTS), 400, LANE_PX), Qt.AlignmentFlag.AlignVCenter, "no order worked out yet")
            return
        for block, box in self.block_boxes():
            picked = (block.paddock, block.block) == self.block
            alight = self.shown is not None and block.starts_at <= self.shown < block.ends_at
            pen = QPen(QColor(c.act if picked or alight else c.edge), 1.4)
            if self.stale:
                pen.setStyle(Qt.PenStyle.DashLine)
            p.setPen(pen)
            burnt = self.shown is not None and block.ends_at <= self.shown
            ground = c.act if alight or picked else "#5F5A50" if burnt and not c.dark else c.line if burnt else c.ground
            p.setBrush(Qt.BrushStyle.NoBrush if self.stale else QColor(ground))
            p.drawRoundedRect(box, 4, 4)
            p.setFont(looks.font_px(self, looks.SMALL, bold=True))
            ink = (
                c.soft
                if self.stale
                else c.act_ink
                if alight or picked
                else "#FFFFFF"
                if burnt and not c.dark
                else c.ink
            )
            p.setPen(QColor(ink))
            p.drawText(box, Qt.AlignmentFlag.AlignCenter,
                       p.fontMetrics().elidedText(block.block, Qt.TextElideMode.ElideRight, int(box.width())))  # fmt: skip
        p.setFont(looks.font_px(self, looks.SMALL, bold=self.stale))
        end = max(self.x_of(block.ends_at) for block in evening.blocks)
        change = evening.change_after(max(b.starts_at for b in evening.blocks))
        x = max(end, self.x_of(change.at)) + 10 if change is not None else end + 10
        text, short = "", evening.spare_min < evening.margin_min
        if self.stale:
            text = "out of date"
        elif evening.spare_min == evening.spare_min:
            m = evening.spare_min
            text = f"{m:.0f} min to spare before the change" if m >= 0 else f"ends {-m:.0f} min after the change"
            text += f", your rule is {evening.margin_min:.0f}" if short else ""
        p.setPen(QColor(c.warn if self.stale or short else c.soft))
        p.drawText(QRectF(x, sum(HEIGHTS), 420, LANE_PX), Qt.AlignmentFlag.AlignVCenter, text)

    def block_boxes(self) -> list[tuple[Any, QRectF]]:
        """Return each block with its box in the viewport: from its start to its end, or to the next one's start."""
        evening = self.hours.evening
        assert evening is not None
        boxes = []
        for block in evening.blocks:
            later = [
                b.starts_at for b in evening.blocks if b.paddock == block.paddock and b.starts_at > block.starts_at
            ]
            end = min([block.ends_at, *later])
            top = sum(HEIGHTS) + LANE_PX * self.hours.lanes.index(block.paddock)
            box = QRectF(self.x_of(block.starts_at) + 1, top + 2, 0, LANE_PX - 4)
            box.setRight(max(box.left() + 6, self.x_of(end) - 1))
            boxes.append((block, box))
        return boxes

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Pick a block, or take hold of the hour."""
        if self.hours.evening is not None:
            for block, box in self.block_boxes():
                if box.contains(event.position()):
                    self.block_picked.emit(block.paddock, block.block)
                    return
        self._want(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag the hour."""
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._want(event)
        else:
            super().mouseMoveEvent(event)

    def _want(self, event: QMouseEvent) -> None:
        at = self.time_at(event.position().x())
        if at is not None:
            self.hour_wanted.emit(at)

    def currentChanged(self, current: Index, previous: Index) -> None:
        """The arrow keys walk the hours and take the map with them."""
        super().currentChanged(current, previous)
        if current.isValid() and current.column() != previous.column() and self.hasFocus():
            self.hour_wanted.emit(self.hours.local(current.column()))

    def show_shown(self, at: datetime | None) -> None:
        """Mark the hour shown on the map."""
        self.shown = at
        self.viewport().update()
        self.horizontalHeader().viewport().update()


class EveningStrip(QWidget):
    """The strip with its date; a line of words while there is no forecast."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 1, 0, 0)
        column.setSpacing(0)
        self.table = StripTable()
        self.date = Words("Evening", "head", wrap=False, parent=self)
        self.date.move(looks.GAP_XL, 8)
        self.empty = Words(NO_FORECAST, "soft", wrap=False, parent=self)
        self.empty.move(looks.GAP_XL, 32)
        column.addWidget(self.table)
        self.date.raise_()
        self.show_evening(None)

    def show_evening(self, evening: Evening | None, stale: bool = False) -> None:
        """Show an evening, or that there is none."""
        self.table.setVisible(evening is not None)
        self.empty.setVisible(evening is None)
        self.table.stale = stale
        if evening is None:
            self.date.setText("Evening")
            self.setFixedHeight(60)
        else:
            self.table.show(evening)
            self.date.setText(f"{evening.night:%a} {evening.night.day} {evening.night:%B}")
            self.setFixedHeight(self.table.wanted_height())
        self.date.adjustSize()
        self.empty.adjustSize()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the ground and the line above."""
        c, p = looks.colours(self), QPainter(self)
        p.fillRect(self.rect(), QColor(c.panel))
        p.fillRect(QRectF(0, 0, self.width(), 1), QColor(c.line))
