"""Rows as they burnt: burnt rows as rows, never as a burnt block; what did not burn stands out in black and white."""

from typing import Any

import numpy as np
import shapely
from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainter

from mapper.draw import marks
from mapper.draw.labels import Ask
from mapper.draw.palette import Palette
from mapper.draw.strokes import draw_segments, path_of, pen
from mapper.draw.view import View
from mapper.farm.ranged import Array

# Line width, mm, and dashes, mm, of each state; "" is not written down yet.
STROKES: dict[str, tuple[float, tuple[float, ...]]] = {
    "burnt": (0.8, ()),
    "lit": (0.8, ()),
    "late": (0.45, ()),
    "cool": (0.45, (3.0, 0.7, 0.7, 0.7)),
    "went out": (0.4, (1.6, 1.2)),
    "missed": (0.4, (3.6, 1.6)),
    "got away": (0.8, ()),
    "left": (0.32, (0.32, 0.9)),
    "": (0.15, ()),
}
# Written on the map beside the row; the rest is a pattern of lines to be read at a glance.
NAMED = ("went out", "missed", "cool", "late", "got away")


def stroke(painter: QPainter, xy: Array, state: str, mm: float, ink: Palette, most: float) -> None:
    """Draw one stretch of row in painter units; most: widest line that leaves a gap to the next row."""
    width, dashes = STROKES[state]
    colour = {"lit": ink.fire, "got away": ink.fire, "": ink.soft}.get(state, ink.burnt)
    painter.setPen(pen(colour, min(width * mm, most), [d * mm for d in dashes]))
    painter.drawPath(path_of(xy))
    if state == "went out":
        # A bar where the fire stopped.
        across = xy[min(1, len(xy) - 1)] - xy[0]
        unit = across / max(float(np.hypot(*across)), 1e-9)
        side = np.array([-unit[1], unit[0]]) * 1.1 * mm
        painter.setPen(pen(ink.ink, 0.5 * mm))
        painter.drawLine(QPointF(*(xy[0] - side)), QPointF(*(xy[0] + side)))


def paint_parts(painter: QPainter, view: View, parts: Any, pitch_m: float, ink: Palette) -> None:
    """Paint layer "row_parts". pitch_m: distance between rows, which caps the lines' width."""
    mm = view.px_per_mm
    most = max(0.6 * pitch_m * view.px_per_m, 0.1 * mm) if np.isfinite(pitch_m) else 0.8 * mm
    west, south, east, north = view.bounds(mm)
    box = parts.geometry.bounds.to_numpy()
    seen = parts[(box[:, 0] <= east) & (box[:, 2] >= west) & (box[:, 1] <= north) & (box[:, 3] >= south)]
    for state in STROKES:
        for line in seen.geometry[(seen["state"] == state).to_numpy()]:
            stroke(painter, view.points(shapely.get_coordinates(line)), state, mm, ink, most)


def paint_escapes(painter: QPainter, view: View, escapes: Any, ink: Palette) -> None:
    """Paint layer "escapes": the area that burnt, or an arrow out of a ring where only the place is known."""
    mm = view.px_per_mm
    for escape in escapes.itertuples():
        if escape.geometry.geom_type in ("Polygon", "MultiPolygon"):
            shape = shapely.transform(escape.geometry, view.points)
            marks.care(painter, shape, mm, ink)
            marks.outline(painter, shape, pen(ink.fire, 0.8 * mm))
            continue
        at = view.points(shapely.get_coordinates(escape.geometry.centroid))[0]
        painter.setPen(pen(ink.ink, 0.5 * mm))
        painter.drawEllipse(QPointF(*at), 1.4 * mm, 1.4 * mm)
        tip = at + np.array([4.5, 0.0]) * mm
        painter.drawLine(QPointF(*at), QPointF(*tip))
        draw_segments(painter, np.array([[*tip, tip[0] - 1.3 * mm, tip[1] + s * 1.0 * mm] for s in (-1, 1)]))


def part_asks(parts: Any, view: View) -> list[Ask]:
    """Return asks for the numbers of rows that did not burn as wanted, white on black, beside the stretch."""
    found = []
    mm = view.px_per_mm
    for part in parts[parts["state"].isin(NAMED) & (parts["order_no"] > 0)].itertuples():
        xy = view.points(shapely.get_coordinates(part.geometry))
        run = float(np.hypot(*np.diff(xy, axis=0).T).sum())
        at, unit = marks.along(xy, max(run / 7, 5 * mm), run / 14)
        if not len(at):
            at, unit = xy[:1], np.array([[1.0, 0.0]])
        normal = np.column_stack([-unit[:, 1], unit[:, 0]]) * mm
        spots = np.vstack([at, at + 3.2 * normal, at - 3.2 * normal])
        likes = np.concatenate([np.abs(np.arange(len(at)) - len(at) / 2) * 0.1 + more for more in (0.0, 0.6, 0.6)])
        name = f"part {part.order_no:05d} {part.from_m:06.0f}"
        anchor = (float(at[0, 0]), float(at[0, 1]))
        found.append(Ask(name, (str(part.order_no),), spots, likes, 2, "black", 8.5, leader=True, anchor=anchor))
    return found


def escape_asks(escapes: Any, view: View) -> list[Ask]:
    """Return asks for the names of escapes."""
    from mapper.draw.naming import round_spot

    found = []
    for escape in escapes.itertuples():
        at = view.points(shapely.get_coordinates(escape.geometry.centroid))[0]
        spots, likes = round_spot(at, view.px_per_mm, 4.5, 1.9 * len(escape.name))
        found.append(Ask(f"escape {escape.name}", (escape.name,), spots, likes, 1, "black", 9.0, leader=True,
                         anchor=(float(at[0]), float(at[1]))))  # fmt: skip
    return found
