"""How the strip's cells and hours are painted, with the flags above them."""

import math
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHeaderView, QStyledItemDelegate, QStyleOptionViewItem

from mapper.window import looks
from mapper.window.evening import compass
from mapper.window.icons import paint_icon
from mapper.window.striphours import AIR, DANGER, HEAD_PX, HOUR_PX, LIMITS, WIND, Index

if TYPE_CHECKING:
    from mapper.window.strip import StripTable


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
            wrapped = int(Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap)
            room = box.adjusted(7, 3, -3, -3)
            words = p.boundingRect(room, wrapped, str(index.data()))
            p.fillRect(words.adjusted(-2, 0, 2, 0), QColor(c.panel))
            p.setPen(QColor(c.soft))
            p.drawText(room, wrapped, str(index.data()))
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
            at_x = view.x_of(evening.sunset)
            text = f"sunset {view.clock(evening.sunset)}"
            p.setFont(looks.font_px(view, looks.SMALL))
            box = QRectF(
                at_x - p.fontMetrics().horizontalAdvance(text) - 6, 6, p.fontMetrics().horizontalAdvance(text) + 4, 20
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
