"""A paddock too big for its sheet: numbered maps that overlap, each with what it joins."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from mapper.draw.palette import PAPER
from mapper.draw.strokes import draw_segments, pen, to_px
from mapper.draw.view import View
from mapper.draw.words import tr
from mapper.sheets.mapframe import Inset, map_view, scale_below
from mapper.sheets.page import FINE, Box, Page, text_width

# Rows nearer than 0.8 mm on paper cannot be told apart, and under 1 mm not every fifth has room for its number; the
# parts are drawn so that both are so.
LEAST_PITCH_MM, PART_PITCH_MM = 1.0, 1.5
_OVERLAP_MM, _MOST = 15.0, 12


@dataclass(frozen=True)
class Part:
    """One numbered map. frame: its ground, metres, turned as the map is. joins: side of the frame to map number."""

    number: int
    frame: Any
    centre: tuple[float, float]
    joins: dict[str, int]


def parts_of(land: Any, pitch_m: float, front_scale: float, box: Box, turn_deg: float) -> tuple[float, list[Part]]:
    """Return the scale's number and the maps that cover a paddock; no maps where the front shows every row.

    land: the ground to cover, metres. front_scale: scale of the front. box: frame of a part's map, mm.
    """
    if not math.isfinite(pitch_m) or pitch_m * 1000.0 / front_scale >= LEAST_PITCH_MM:
        return front_scale, []
    wanted = scale_below(pitch_m * 1000.0 / PART_PITCH_MM)
    parts = _tiles(land, wanted, box, turn_deg)
    while len(parts) > _MOST and wanted < front_scale:
        wanted = scale_below(wanted * 1.3) if scale_below(wanted * 1.3) > wanted else wanted * 1.3
        parts = _tiles(land, wanted, box, turn_deg)
    return wanted, parts


def _tiles(land: Any, scale: float, box: Box, turn_deg: float) -> list[Part]:
    flat = View((0.0, 0.0), 1.0, (2.0, 2.0), turn_deg)
    ring = flat.points(shapely.get_coordinates(land))
    low, high = ring.min(axis=0), ring.max(axis=0)
    size = np.array([box.w, box.h]) * scale / 1000.0
    over = _OVERLAP_MM * scale / 1000.0
    # The paddock's edge stands clear of the frame, so that words find room.
    span = high - low + over
    count = np.maximum(np.ceil((span - over) / (size - over)), 1).astype(int)
    step = np.where(count > 1, (span - size) / np.maximum(count - 1, 1), 0.0)
    first = (low + high) / 2 - step * (count - 1) / 2
    turned = shapely.transform(land, flat.points)
    found: dict[tuple[int, int], Any] = {}
    for down in range(count[1]):
        for across in range(count[0]):
            middle = first + step * np.array([across, down])
            frame = shapely.box(*(middle - size / 2), *(middle + size / 2))
            core = shapely.buffer(frame, -over / 2, join_style="mitre")
            if shapely.intersection(core, turned).area > 0.002 * frame.area:
                found[down, across] = (frame, middle)
    number = {cell: n for n, cell in enumerate(found, 1)}
    sides = {"left": (0, -1), "right": (0, 1), "top": (-1, 0), "foot": (1, 0)}
    made = []
    for (down, across), (frame, middle) in found.items():
        joins = {
            s: number[down + dy, across + dx] for s, (dy, dx) in sides.items() if (down + dy, across + dx) in number
        }
        back = shapely.transform(frame, lambda xy: np.column_stack(flat.from_px(xy[:, 0], xy[:, 1])))
        east, north = flat.from_px(middle[:1], middle[1:])
        made.append(Part(number[down, across], back, (float(east[0]), float(north[0])), joins))
    return made


def part_view(part: Part, box: Box, turn_deg: float, scale: float) -> View:
    """Return the view of one part's map."""
    return map_view(part.frame, box, turn_deg, 0.0, scale)


def draw_frames(painter: Any, view: View, parts: list[Part], own: int = 0) -> None:
    """Draw the frames of the maps: all of them on the overview, those that begin inside a part's own map on it."""
    for part in parts:
        if part.number != own:
            ring = shapely.get_coordinates(to_px(part.frame, view))
            painter.setPen(pen(PAPER.plate, 1.1 * FINE))
            draw_segments(painter, np.hstack([ring[:-1], ring[1:]]))
            painter.setPen(pen(PAPER.ink, 0.45 * FINE, (1.5 * FINE, 0.9 * FINE)))
            draw_segments(painter, np.hstack([ring[:-1], ring[1:]]))


def join_tags(part: Part, box: Box) -> list[Inset]:
    """Return the tags at the frame's sides that say which map goes on there."""
    tags = []
    for side, number in part.joins.items():
        words = tr("joins map {number}").format(number=number)
        wide = text_width(words, 9, True) + 3.0
        x = {"left": 0.0, "right": box.w - wide}.get(side, box.w / 2 - wide / 2)
        y = {"top": 0.0, "foot": box.h - 5.0}.get(side, box.h / 2 - 2.5)

        def draw(page: Page, at: Box, words: str = words) -> None:
            page.rect(at, PAPER.ink, 0)
            page.text(at.x + at.w / 2, at.y + 3.7, words, 9, True, "centre", PAPER.ground)

        tags.append(Inset(wide, 5.0, draw, (x, y)))
    return tags


def join_words(part: Part) -> str:
    """Return which maps this one joins: "joins map 2 on the right, map 4 at the foot"."""
    at = {"left": tr("on the left"), "right": tr("on the right"), "top": tr("at the top"), "foot": tr("at the foot")}
    said = ", ".join(tr("map {number} {side}").format(number=n, side=at[s]) for s, n in part.joins.items())
    return tr("Joins {maps}; a dashed line shows where it begins.").format(maps=said) if said else ""
