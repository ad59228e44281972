"""The evening strip: a real table of the night's hours, with the windows, the wind change and the blocks over it."""

from datetime import datetime, timedelta
from typing import Any

from PySide6.QtCore import QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from mapper.window import looks
from mapper.window.controls import IconButton, Words
from mapper.window.evening import Evening
from mapper.window.icons import paint_icon
from mapper.window.striphead import Cell, HourHeader
from mapper.window.striphours import HEAD_PX, HEIGHTS, HOUR_PX, LABEL_PX, LANE_PX, LANES, LIMITS, HoursModel, Index

# A night plays at a minute a tick: five hours in ten seconds.
TICK_MS, PLAYED_STEP, WHY_PX = 33, timedelta(minutes=1), 38
NO_FORECAST = "No forecast yet. Open a forecast file, and the evening shows here."


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
            words = "inside every limit you typed" if window.verdict == "go" else f"with care: {_brief(window.why)}"
            text = f"{self.clock(window.starts_at)} to {self.clock(window.ends_at)}, {words}"
            icon = QRectF(box.x() + 7, box.center().y() - 8, 15, 15)
            paint_icon(p, "done" if window.verdict == "go" else "look", icon, ink)
            p.setFont(looks.font_px(self, looks.SMALL, bold=True))
            room = box.adjusted(27, 0, -4, 0)
            wrapped = int(Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap)
            if p.boundingRect(room, wrapped, text).height() > room.height():
                text = f"{self.clock(window.starts_at)} to {self.clock(window.ends_at)}"
            p.drawText(room, wrapped, text)

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
            name = p.fontMetrics().elidedText(block.block, Qt.TextElideMode.ElideRight, int(box.width()))
            p.drawText(box, Qt.AlignmentFlag.AlignCenter, name)
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


def _brief(why: str) -> str:
    """Return a window's reason short enough for its bar; the whole sentence stands in the panel."""
    return "ban not checked yet" if why.startswith("Not a go until a ban check") else why


def _played(evening: Evening) -> tuple[datetime, datetime]:
    """Return from when to when a night is played: its blocks, else its windows, else all of it."""
    some = [(b.starts_at, b.ends_at) for b in evening.blocks] or [(w.starts_at, w.ends_at) for w in evening.windows]
    times = evening.hours["time_utc"]
    some = some or [(times.iloc[0].to_pydatetime(), times.iloc[-1].to_pydatetime())]
    return min(a for a, _ in some), max(b for _, b in some)


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
        self.why = Words("", "small", parent=self)
        self.why.setFixedHeight(WHY_PX)
        self.why.setContentsMargins(looks.GAP_XL, 0, looks.GAP_XL, 6)
        column.addWidget(self.why)
        self.play = IconButton("go", "Play the night", "Ctrl+Space", checkable=True)
        self.play.setParent(self)
        self.play.move(looks.GAP_XL - 6, 27)
        self._clock = QTimer(self)
        self._clock.setInterval(TICK_MS)
        self._clock.timeout.connect(self._tick)
        self.play.toggled.connect(self._play)
        self.date.raise_()
        self.show_evening(None)

    def show_evening(self, evening: Evening | None, stale: bool = False) -> None:
        """Show an evening, or that there is none."""
        for widget in (self.table, self.why, self.play):
            widget.setVisible(evening is not None)
        self.empty.setVisible(evening is None)
        self.table.stale = stale
        if evening is None:
            self.date.setText("Evening")
            self.setFixedHeight(60)
            self.play.setChecked(False)
        else:
            self.table.show(evening)
            self.date.setText(f"{evening.night:%a} {evening.night.day} {evening.night:%B}")
            self.setFixedHeight(self.table.wanted_height() + WHY_PX)
            self.show_hour(self.table.shown)
        self.date.adjustSize()
        self.empty.adjustSize()

    def show_hour(self, at: datetime | None) -> None:
        """Mark the hour shown on the map, and say in full why it is a go or not."""
        self.table.show_shown(at)
        evening = self.table.hours.evening
        if evening is None or at is None:
            self.why.setText("")
            return
        hour = evening.at(at)
        verdict = str(hour["verdict"])
        sentence = str(hour["reason"]) if verdict == "go" else f"{verdict.capitalize()}: {hour['why']}."
        self.why.setText(f"{self.table.clock(at)}  {sentence}")
        self.why.setToolTip(self.why.text().replace("; ", ";\n"))
        self.why.setAccessibleName(f"Why, {self.why.text()}")

    def _play(self, on: bool) -> None:
        evening, shown = self.table.hours.evening, self.table.shown
        if not on or evening is None:
            self._clock.stop()
            return
        first, last = _played(evening)
        if shown is None or not first <= shown < last:
            self.table.hour_wanted.emit(first)
        self._clock.start()

    def _tick(self) -> None:
        evening, shown = self.table.hours.evening, self.table.shown
        if evening is None or shown is None or shown >= _played(evening)[1]:
            self.play.setChecked(False)
            return
        self.table.hour_wanted.emit(shown + PLAYED_STEP)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the ground and the line above."""
        c, p = looks.colours(self), QPainter(self)
        p.fillRect(self.rect(), QColor(c.panel))
        p.fillRect(QRectF(0, 0, self.width(), 1), QColor(c.line))
