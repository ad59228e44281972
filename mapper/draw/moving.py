"""What moves with the hour on the map: rows alight and burnt, and lines of equal minutes from an escape."""

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter

from mapper.draw.lettering import font, metrics
from mapper.draw.strokes import Cancelled, draw_segments, path_of, pen
from mapper.draw.view import View

if TYPE_CHECKING:
    from mapper.draw.scene import Scene, Style

# Sooner than this is drawn strongest; later than that faintest, minutes.
_SOON_MIN, _LATE_MIN = 10.0, 60.0
_WIDTHS_MM = (0.9, 0.6, 0.4)


def fronts(painter: QPainter, view: View, scene: "Scene", style: "Style", cancelled: Cancelled | None) -> None:
    """Rows alight at the hour in the fire's colour, rows burnt out by then dark; nothing where no hour is shown."""
    if style.hour is None:
        return
    pieces, mm, ink = scene.layer("pieces"), view.px_per_mm, style.palette
    hour = pd.Timestamp(style.hour).tz_convert("UTC")
    lit, out = pieces["lit_at"], pieces["out_at"]
    burnt, alight = (out <= hour).to_numpy(), ((lit <= hour) & (out > hour)).to_numpy()
    pitch_mm = scene.row_pitch_m * view.px_per_m / mm
    for wanted, colour, width in (
        (burnt, ink.burnt, min(0.9, 0.55 * pitch_mm)),
        (alight, ink.ground, min(1.6, 1.0 * pitch_mm)),
        (alight, ink.fire, min(1.0, 0.7 * pitch_mm)),
    ):
        painter.setPen(pen(colour, max(width, 0.3) * mm))
        draw_segments(painter, scene.lines("pieces").segments(view, wanted)[0], cancelled)


def arrival(painter: QPainter, view: View, scene: "Scene", style: "Style", cancelled: Cancelled | None) -> None:
    """Lines of equal minutes, the soonest boldest, each with its minutes once where it is long enough."""
    lines, mm, ink = scene.layer("arrival"), view.px_per_mm, style.palette
    minutes = lines["minutes"].to_numpy()
    longest: dict[float, np.ndarray] = {}
    for k, xy in scene.lines("arrival").polylines(view):
        rank = 0 if minutes[k] <= _SOON_MIN else 1 if minutes[k] <= _LATE_MIN else 2
        painter.setPen(pen(ink.ground, (_WIDTHS_MM[rank] + 0.5) * mm, flat=False))
        painter.drawPath(path_of(xy))
        painter.setPen(pen(ink.fire, _WIDTHS_MM[rank] * mm, (2.4 * mm, 0.8 * mm) if rank else (), flat=rank > 0))
        painter.drawPath(path_of(xy))
        if len(xy) > len(longest.get(minutes[k], ())):
            longest[minutes[k]] = xy
    for value, xy in longest.items():
        _label(painter, view, style, f"{value:g} min", xy)


def _label(painter: QPainter, view: View, style: "Style", words: str, xy: np.ndarray) -> None:
    inside = xy[((xy > 0) & (xy < view.size)).all(axis=1)]
    if len(inside) < 2 or float(np.hypot(*np.ptp(inside, axis=0))) < view.mm(8):
        return
    at = inside[len(inside) // 3]
    size = metrics(8.0, True, view.px_per_mm)
    box = QRectF(0, 0, size.horizontalAdvance(words) + view.mm(1.6), size.height())
    box.moveCenter(QPointF(*at))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(style.palette.plate))
    painter.drawRoundedRect(box, view.mm(0.6), view.mm(0.6))
    painter.setPen(QColor(style.palette.ink))
    painter.setFont(font(8.0, True, view.px_per_mm))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)
