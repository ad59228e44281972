"""The picked row's load along its length, between the limits for too light and too heavy."""

import math
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from mapper.draw.palette import DARK, LIGHT
from mapper.window import looks

if TYPE_CHECKING:
    from mapper.farm.limits import LocalLimits

HIGH_PX, LEFT_PX, FOOT_PX = 132, 34, 22


class LoadLine(QWidget):
    """Paints kg/m from the row's beginning to its end, in the way it was driven."""

    def __init__(self) -> None:
        super().__init__()
        self.kg_m: tuple[float, ...] = ()
        self._limits = (math.nan, math.nan)
        self._ends = ("", "")
        self.setFixedHeight(HIGH_PX)

    def show_row(self, row: Any, limits: "LocalLimits") -> None:
        """Show a row of the layer windrows; hidden where its load along is not known."""
        from mapper.farm.along import read_along
        from mapper.window.evening import compass
        from mapper.window.rowload import limits_kg_m
        from mapper.window.snap import bearing_deg

        self.kg_m = tuple(float(v) for v in read_along(str(row["load_along"])))
        self._limits = limits_kg_m(row, limits)
        first, last = row.geometry.coords[0], row.geometry.coords[-1]
        way = bearing_deg(first[:2], last[:2])
        self._ends = (f"0 m, {compass((way + 180) % 360)} end", f"{row['length_m']:,.0f} m, {compass(way)} end")
        self.setVisible(len(self.kg_m) > 0)
        if self.kg_m:
            said = f"Load along the row: {min(self.kg_m):.1f} to {max(self.kg_m):.1f} kg/m"
            self.setAccessibleName(said)
            self.setToolTip(said)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the band that is right, the limits, the load and the two ends' names."""
        if not self.kg_m:
            return
        c, p = looks.colours(self), QPainter(self)
        ink = DARK if c.dark else LIGHT
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        known = [v for v in self._limits if not math.isnan(v)]
        top = 1.12 * max([*self.kg_m, *known])
        box = QRectF(LEFT_PX, 8, self.width() - LEFT_PX - 4, self.height() - 8 - FOOT_PX)

        def y(kg: float) -> float:
            return box.bottom() - kg / top * box.height()

        # A limit that is not known shuts nothing out.
        low = box.bottom() if math.isnan(self._limits[0]) else y(self._limits[0])
        high = box.top() if math.isnan(self._limits[1]) else y(self._limits[1])
        if len(known) == 2:
            p.fillRect(QRectF(box.x(), high, box.width(), low - high), QColor(c.ok_ground))
        p.setFont(looks.font_px(self, looks.SMALL))
        for value in known:
            p.setPen(QPen(QColor(c.ok), 1.2, Qt.PenStyle.DashLine))
            p.drawLine(QPointF(box.x(), y(value)), QPointF(box.right(), y(value)))
            p.setPen(QColor(c.soft))
            at = QRectF(0, y(value) - 9, LEFT_PX - 5, 18)
            p.drawText(at, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, f"{value:.1f}")
        p.fillRect(QRectF(box.x(), box.bottom(), box.width(), 1), QColor(c.edge))
        step = box.width() / len(self.kg_m)
        places = [QPointF(box.x() + (k + 0.5) * step, y(v)) for k, v in enumerate(self.kg_m)]
        # Ends are drawn out, so that a row of one stretch shows a line too.
        places = [QPointF(box.x(), places[0].y()), *places, QPointF(box.right(), places[-1].y())]
        for from_y, to_y, colour in (
            (0.0, high, ink.row_heavy), (high, low, ink.row), (low, box.bottom() + 1, ink.row_light),
        ):  # fmt: skip
            p.save()
            p.setClipRect(QRectF(0, from_y, self.width(), to_y - from_y))
            p.setPen(QPen(QColor(colour), 2))
            p.drawPolyline(QPolygonF(places))
            p.restore()
        p.setPen(QColor(c.soft))
        foot = QRectF(box.x(), box.bottom() + 3, box.width(), 18)
        p.drawText(foot, Qt.AlignmentFlag.AlignLeft, self._ends[0])
        p.drawText(foot, Qt.AlignmentFlag.AlignRight, self._ends[1])
        p.drawText(QRectF(0, 0, 40, 16), Qt.AlignmentFlag.AlignLeft, "kg/m")
