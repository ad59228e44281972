"""Line and area marks: teeth, breaks, roads, power lines, ways out, hatches."""

from typing import Any

import numpy as np
import shapely
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPainter

from mapper.draw.palette import Palette
from mapper.draw.strokes import (
    arrow_head,
    dots_in,
    draw_dots,
    draw_segments,
    hatch_lines,
    path_of,
    pen,
    polygon,
)
from mapper.farm.ranged import Array


def along(xy: Array, every: float, first: float = 0.0) -> tuple[Array, Array]:
    """Return positions (n, 2) and unit directions (n, 2) at even steps along a polyline, inset by `first`."""
    step = np.diff(xy, axis=0)
    length = np.hypot(step[:, 0], step[:, 1])
    run = np.concatenate([[0.0], np.cumsum(length)])
    at = np.arange(first, max(run[-1] - first * 0.5, first), every)
    if not len(at) or run[-1] <= 0:
        return np.empty((0, 2)), np.empty((0, 2))
    k = np.clip(np.searchsorted(run, at, side="right") - 1, 0, len(length) - 1)
    unit = step[k] / np.maximum(length[k], 1e-9)[:, None]
    return xy[k] + unit * (at - run[k])[:, None], unit


def offset(xy: Array, by: float) -> Array:
    """Return a polyline shifted sideways, positive as shapely's offset_curve counts."""
    moved = shapely.offset_curve(shapely.linestrings(xy), by, join_style="mitre", mitre_limit=2.0)
    parts = [shapely.get_coordinates(p) for p in shapely.get_parts(moved)]
    return max(parts, key=len) if parts and max(map(len, parts)) > 1 else xy


def teeth(painter: QPainter, xy: Array, side: float, mm: float, ink: Palette, solid: bool) -> None:
    """Teeth on an exposed edge, pointing outward: solid black on a fire-coloured band now, hollow after the change.

    side: +1 where outward is the positive side of the line as offset_curve counts, else -1.
    """
    if solid:
        painter.setPen(pen(ink.fire, 1.2 * mm))
        painter.drawPath(path_of(offset(xy, side * 0.6 * mm)))
    at, unit = along(xy, 5.0 * mm, 2.5 * mm)
    if not len(at):
        at, unit = (xy[:1] + xy[-1:]) / 2, (xy[-1:] - xy[:1]) / max(float(np.hypot(*(xy[-1] - xy[0]))), 1e-9)
    normal = np.column_stack([-unit[:, 1], unit[:, 0]]) * side
    painter.setPen(pen(ink.ink, 0.3 * mm))
    painter.setBrush(QColor(ink.ink if solid else ink.plate))
    for p, u, n in zip(at, unit, normal, strict=True):
        painter.drawPolygon(polygon(np.array([p - u * 1.2 * mm, p + n * 2.4 * mm, p + u * 1.2 * mm])))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def break_strip(painter: QPainter, xy: Array, width: float, narrow: bool, mm: float, ink: Palette) -> None:
    """A bare break at its true width (at least 1.3 mm); hatched where it is too narrow."""
    width = max(width, 1.3 * mm)
    painter.setPen(pen(ink.ink, width + 0.8 * mm))
    painter.drawPath(path_of(xy))
    painter.setPen(pen(ink.plate, width))
    painter.drawPath(path_of(xy))
    if narrow:
        strip = shapely.buffer(shapely.linestrings(xy), width / 2, cap_style="flat", join_style="mitre")
        painter.setPen(pen(ink.ink, 0.3 * mm))
        draw_segments(painter, hatch_lines(strip, 0.8 * mm, 45.0))


def road(painter: QPainter, xy: Array, width: float, mm: float, ink: Palette) -> None:
    """A road or lane: white between two lines."""
    width = max(width, 1.5 * mm)
    painter.setPen(pen(ink.ink, width + 0.6 * mm))
    painter.drawPath(path_of(xy))
    painter.setPen(pen(ink.plate, width))
    painter.drawPath(path_of(xy))


def track(painter: QPainter, xy: Array, mm: float, ink: Palette) -> None:
    """A farm track: one dashed line."""
    painter.setPen(pen(ink.soft, 0.35 * mm, (2.2 * mm, 1.0 * mm)))
    painter.drawPath(path_of(xy))


def railway(painter: QPainter, xy: Array, mm: float, ink: Palette) -> None:
    """A railway: a line with sleepers."""
    painter.setPen(pen(ink.ink, 0.5 * mm))
    painter.drawPath(path_of(xy))
    at, unit = along(xy, 2.5 * mm, 1.0 * mm)
    normal = np.column_stack([-unit[:, 1], unit[:, 0]]) * 1.1 * mm
    painter.setPen(pen(ink.ink, 0.3 * mm))
    draw_segments(painter, np.hstack([at - normal, at + normal]))


def power_line(painter: QPainter, xy: Array, mm: float, ink: Palette) -> None:
    """A power line: 0.6 mm on a white casing. Poles are symbols."""
    painter.setPen(pen(ink.plate, 1.4 * mm))
    painter.drawPath(path_of(xy))
    painter.setPen(pen(ink.ink, 0.6 * mm))
    painter.drawPath(path_of(xy))


def way_out(painter: QPainter, xy: Array, mm: float, ink: Palette) -> None:
    """A way out: cased dashes that end in an arrow."""
    ahead = xy[-1] - xy[-2]
    bearing = float(np.degrees(np.arctan2(ahead[0], -ahead[1])))
    painter.setPen(pen(ink.plate, 2.2 * mm))
    painter.drawPath(path_of(xy))
    unit = ahead / max(float(np.hypot(*ahead)), 1e-9)
    short = np.vstack([xy[:-1], xy[-1] - unit * min(2.5 * mm, float(np.hypot(*ahead)) * 0.8)])
    for colour, width in ((ink.ink, 1.3), (ink.out, 0.8)):
        painter.setPen(pen(colour, width * mm, (2.6 * mm, 1.2 * mm)))
        painter.drawPath(path_of(short))
    arrow_head(painter, xy[-1], bearing, 4.2 * mm, ink.ink)
    arrow_head(painter, xy[-1] - unit * 0.5 * mm, bearing, 3.2 * mm, ink.out)


def no_burn(painter: QPainter, shape_px: Any, mm: float, ink: Palette) -> None:
    """Ground where nothing is lit: cross-hatch within a solid line."""
    painter.setPen(pen(ink.ink, 0.18 * mm))
    for angle in (45.0, -45.0):
        draw_segments(painter, hatch_lines(shape_px, 1.3 * mm, angle))
    outline(painter, shape_px, pen(ink.ink, 0.6 * mm))


def care(painter: QPainter, shape_px: Any, mm: float, ink: Palette) -> None:
    """Ground that wants care: single hatch within a dashed line."""
    painter.setPen(pen(ink.soft, 0.15 * mm))
    draw_segments(painter, hatch_lines(shape_px, 2.4 * mm, 0.0))
    outline(painter, shape_px, pen(ink.ink, 0.3 * mm, (1.6 * mm, 0.9 * mm)))


def smoke(painter: QPainter, shape_px: Any, gap_mm: float, mm: float, ink: Palette) -> None:
    """Smoke now: dots (none at gap 0) within dashes."""
    if gap_mm:
        draw_dots(painter, dots_in(shape_px, gap_mm * mm), 0.2 * mm, ink.ink)
    outline(painter, shape_px, pen(ink.ink, 0.35 * mm, (2.2 * mm, 1.2 * mm)))


def smoke_after(painter: QPainter, shape_px: Any, mm: float, ink: Palette) -> None:
    """Smoke after the change: a dotted outline only."""
    made = pen(ink.ink, 0.45 * mm, (0.5 * mm, 1.1 * mm))
    outline(painter, shape_px, made)


def outline(painter: QPainter, shape_px: Any, with_pen: Any) -> None:
    """Stroke every ring of an area in painter units."""
    painter.setPen(with_pen)
    for part in shapely.get_parts(shape_px):
        if part.geom_type == "Polygon":
            for ring in (part.exterior, *part.interiors):
                painter.drawPath(path_of(shapely.get_coordinates(ring), closed=True))
