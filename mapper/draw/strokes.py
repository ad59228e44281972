"""Strokes and fills from arrays: many segments in one call, in chunks that let other threads breathe."""

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
import shapely
import shiboken6
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QPolygonF

from mapper.draw.view import View
from mapper.farm.errors import Stopped
from mapper.farm.ranged import Array

Cancelled = Callable[[], bool]
# A call holds the interpreter; measured: longer chunks make the window stutter, shorter ones cost calls.
_CHUNK = 2000


def pen(colour: str, width: float, dashes: Iterable[float] = (), flat: bool = True) -> QPen:
    """Return a pen; width and dash lengths in painter units."""
    made = QPen(QColor(colour), width)
    made.setCapStyle(Qt.PenCapStyle.FlatCap if flat else Qt.PenCapStyle.RoundCap)
    made.setJoinStyle(Qt.PenJoinStyle.MiterJoin if flat else Qt.PenJoinStyle.RoundJoin)
    lengths = [d / max(width, 1e-9) for d in dashes]
    if lengths:
        made.setDashPattern(lengths)
    return made


def draw_segments(painter: QPainter, segments: Array, cancelled: Cancelled | None = None) -> None:
    """Draw segments (k, 4) of painter units with the pen in hand. Raises Stopped when cancelled."""
    lines = np.ascontiguousarray(segments, dtype=np.float64)
    for start in range(0, len(lines), _CHUNK):
        if cancelled is not None and cancelled():
            raise Stopped
        chunk = lines[start : start + _CHUNK]
        painter.drawLines(shiboken6.wrapInstance(chunk.ctypes.data, QLineF), len(chunk))  # type: ignore[call-overload]


def polygon(xy_px: Array) -> QPolygonF:
    """Return positions (n, 2) as Qt's polygon without a Python object a point."""
    made = QPolygonF()
    made.resize(len(xy_px))
    if len(xy_px):
        held = np.frombuffer(shiboken6.VoidPtr(made.data(), len(xy_px) * 16, True), dtype=np.float64)  # type: ignore
        held[:] = np.asarray(xy_px, dtype=np.float64).ravel()
    return made


def path_of(xy_px: Array, closed: bool = False) -> QPainterPath:
    """Return one polyline or ring as a path (dashes run on through its corners)."""
    path = QPainterPath()
    path.addPolygon(polygon(xy_px))
    if closed:
        path.closeSubpath()
    return path


def area_path(shape: Any, view: View) -> QPainterPath:
    """Return an area (any shapely geometry; only its polygons count), holes and all, as a path in painter units."""
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.OddEvenFill)
    shape = shapely.simplify(shape, 0.25 / (view.px_per_m * view.ratio)) if shape is not None else None
    for part in shapely.get_parts(shape) if shape is not None else ():
        if part.geom_type == "Polygon":
            for ring in (part.exterior, *part.interiors):
                path.addPath(path_of(view.points(shapely.get_coordinates(ring)), closed=True))
    return path


def fill_area(painter: QPainter, shape: Any, view: View, brush: QBrush | QColor | str) -> None:
    """Fill an area without an outline."""
    painter.fillPath(area_path(shape, view), QBrush(QColor(brush)) if isinstance(brush, str) else QBrush(brush))


def hatch_lines(shape_px: Any, gap: float, angle_deg: float) -> Array:
    """Return hatch segments (k, 4) inside an area that is already in painter units.

    Lines stand on a grid fixed to the picture's corner, so that neighbouring areas' hatches meet.
    """
    if shape_px is None or shape_px.is_empty:
        return np.empty((0, 4))
    turn = np.radians(angle_deg)
    along, across = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    corners = shapely.get_coordinates(shapely.envelope(shape_px))
    low, high = (corners @ across).min(), (corners @ across).max()
    offsets = np.arange(np.ceil(low / gap), np.floor(high / gap) + 1) * gap
    if not len(offsets):
        return np.empty((0, 4))
    reach = (corners @ along).min() - gap, (corners @ along).max() + gap
    side = offsets[:, None] * across
    ends = np.stack([side + reach[0] * along, side + reach[1] * along], axis=1)
    shapely.prepare(shape_px)
    cut = shapely.get_parts(shapely.intersection(shapely.linestrings(ends), shape_px))
    cut = cut[shapely.get_type_id(cut) == 1]
    return np.hstack([shapely.get_coordinates(shapely.get_point(cut, k)).reshape(-1, 2) for k in (0, -1)])


def ground_of(view: View, inset_px: float = 0.0) -> Any:
    """Return the ground a view shows as an area in metres, turned as the view is; smaller by inset_px on all sides."""
    (w, h), d = view.size, inset_px
    corners = view.from_px(np.array([d, w - d, w - d, d]), np.array([d, d, h - d, h - d]))
    return shapely.Polygon(np.column_stack(corners))


def to_px(shape: Any, view: View) -> Any:
    """Return a shapely geometry in painter units."""
    return shapely.transform(shape, view.points)


def dots_in(shape_px: Any, gap: float) -> Array:
    """Return positions (n, 2) of a staggered grid of dots inside an area in painter units."""
    if shape_px is None or shape_px.is_empty:
        return np.empty((0, 2))
    left, top, right, bottom = shapely.bounds(shape_px)
    row = np.arange(np.ceil(top / gap), np.floor(bottom / gap) + 1)
    column = np.arange(np.floor(left / gap), np.ceil(right / gap) + 1)
    x, y = np.meshgrid(column * gap, row * gap)
    x = x + (row[:, None] % 2) * gap / 2
    inside = shapely.contains_xy(shape_px, x.ravel(), y.ravel())
    return np.column_stack([x.ravel()[inside], y.ravel()[inside]])


def draw_dots(painter: QPainter, xy_px: Array, radius: float, colour: str) -> None:
    """Draw round dots as points of a round pen (one call)."""
    if len(xy_px):
        painter.setPen(pen(colour, 2 * radius, flat=False))
        painter.drawPoints(polygon(xy_px))


def arrow_head(painter: QPainter, tip: Array, bearing_deg: float, length: float, colour: str) -> None:
    """Fill an arrow head whose tip points along a picture bearing (clockwise from up)."""
    turn = np.radians(bearing_deg)
    ahead, right = np.array([np.sin(turn), -np.cos(turn)]), np.array([np.cos(turn), np.sin(turn)])
    back = tip - ahead * length
    corners = np.array([tip, back + right * length * 0.42, back + ahead * length * 0.2, back - right * length * 0.42])
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(colour))
    painter.drawPolygon(polygon(corners))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def point(xy: Array) -> QPointF:
    """Return one position as Qt's point."""
    return QPointF(float(xy[0]), float(xy[1]))
