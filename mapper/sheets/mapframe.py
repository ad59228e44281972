"""The map on a page: its scale, its turn, its frame with grid, words and inset, and the marks under it."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from mapper.draw import symbols
from mapper.draw.labels import Ask, Obstacle, Placing
from mapper.draw.palette import PAPER
from mapper.draw.scene import Scene, Style, paint
from mapper.draw.strokes import draw_segments, pen, to_px
from mapper.draw.view import View
from mapper.draw.wording import ink_under, paint_words, place_words
from mapper.draw.words import tr
from mapper.farm.magnetic import Norths
from mapper.sheets.night import NightWind
from mapper.sheets.page import FINE, Box, GeoFrame, Page, text_width

_SCALES = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5)
_NICE = (1.0, 2.0, 2.5, 5.0)


def round_scale(at_least: float) -> float:
    """Return the next scale number of the list 1, 1.25 ... 7.5 x 10^n that is not below."""
    power = 10.0 ** math.floor(math.log10(at_least))
    found = next((s * power for s in _SCALES if s * power >= at_least * (1 - 1e-9)), 10.0 * power)
    return found


def scale_below(at_most: float) -> float:
    """Return the scale number of the list that is not above."""
    power = 10.0 ** math.floor(math.log10(at_most))
    return next(s * power for s in reversed(_SCALES) if s * power <= at_most * (1 + 1e-9))


def row_turn_deg(pieces: Any) -> float:
    """Return the turn that makes rows stand upright (or lie level, where that is the smaller turn), at most 45 degrees.

    Rows that curve or lie in several directions keep north up. A turn under 2 degrees is not worth it.
    """
    if not len(pieces):
        return 0.0
    shape = pieces.geometry.to_numpy()
    first = shapely.get_coordinates(shapely.get_point(shape, 0))
    last = shapely.get_coordinates(shapely.get_point(shape, -1))
    step = last - first
    length = np.hypot(step[:, 0], step[:, 1])
    twice = 2 * np.arctan2(step[:, 0], step[:, 1])
    weight = np.where(length > 0.85 * shapely.length(shape), length, 0.0)
    total = shapely.length(shape).sum()
    east, north = (weight * np.sin(twice)).sum() / total, (weight * np.cos(twice)).sum() / total
    if np.hypot(east, north) < 0.8:
        return 0.0
    bearing = math.degrees(math.atan2(east, north)) / 2
    turn = -bearing if abs(bearing) <= 45 else math.copysign(90.0, bearing) - bearing
    return 0.0 if abs(turn) < 2 else round(turn, 1)


def map_view(shape: Any, box: Box, turn_deg: float = 0.0, margin_mm: float = 16.0, scale: float = 0.0) -> View:
    """Return the view of a map frame: the largest scale of the list that leaves a margin round the shape.

    scale: the scale's number where it is given already; the shape then lies in the middle."""
    k = FINE
    view = View((0.0, 0.0), 1.0, (box.w * k, box.h * k), turn_deg, 1.0, k)
    corners = np.vstack([shapely.get_coordinates(g) for g in shapely.get_parts(shapely.convex_hull(shape))])
    x, y = view.to_px(corners[:, 0], corners[:, 1])
    wide, tall = float(np.ptp(x)), float(np.ptp(y))  # metres, in the turned picture
    room = max(box.w - 2 * margin_mm, 10.0), max(box.h - 2 * margin_mm, 10.0)
    scale = scale or round_scale(max(wide / room[0], tall / room[1], 0.5) * 1000.0)
    middle_x, middle_y = (x.min() + x.max()) / 2, (y.min() + y.max()) / 2
    east, north = view.from_px(np.array(middle_x), np.array(middle_y))
    return replace(view, centre=(float(east), float(north)), px_per_m=k * 1000.0 / scale)


@dataclass(frozen=True)
class Inset:
    """A box inside the map, painted last: size in mm, and its painter, given the box on the page.

    at: its left upper corner, mm in the frame; None for the corner of the frame that covers least.
    """

    width: float
    height: float
    paint: Callable[[Page, Box], None]
    at: tuple[float, float] | None = None


@dataclass(frozen=True)
class Laid:
    """A map laid out: its frame on the page, what is drawn how, the words in their places, the insets' boxes."""

    box: Box
    view: View
    draw: Callable[[Any], None]
    placing: Placing
    insets: tuple[tuple[Inset, Box], ...]


def lay_map(
    box: Box, view: View, scene: Scene, style: Style, asks: Sequence[Ask], obstacles: Sequence[Obstacle],
    insets: Sequence[Inset] = (), keep_clear: Any = None, extra: Callable[[Any], None] | None = None,
) -> Laid:  # fmt: skip
    """Lay out a map in a frame: insets in the emptiest corners, words without a collision.

    keep_clear: area in metres that an inset should not cover. extra(painter) paints above the marks, below the words.
    """
    mm = view.px_per_mm

    def draw(painter: Any) -> None:
        paint(painter, view, scene, style)
        if extra is not None:
            extra(painter)

    places = _inset_boxes(insets, box, view, keep_clear)
    blocked = [Obstacle(f"inset {n}", (b.x * mm, b.y * mm, b.right * mm, b.bottom * mm)) for n, b in enumerate(places)]
    asks = [a for a in asks if _seen(a, view)]
    placing = place_words(view, asks, ink_under(view, draw), [*obstacles, *blocked])
    return Laid(box, view, draw, placing, tuple(zip(insets, places, strict=True)))


def _seen(ask: Ask, view: View) -> bool:
    """Return whether any place for a label lies in the frame: what lies beyond it is not asked for."""
    return bool(((ask.spots >= 0) & (ask.spots <= np.array(view.size))).all(axis=1).any())


def paint_map(page: Page, laid: Laid) -> None:
    """Paint a map: grid, marks, words, insets, frame. Words without a place go to page.unplaced."""
    box, view, painter = laid.box, laid.view, page.painter
    mm = view.px_per_mm
    page.unplaced.extend(laid.placing.left)
    page.maps.append(laid)

    def inside() -> None:
        painter.translate(box.x * mm, box.y * mm)
        _grid_lines(painter, view)
        laid.draw(painter)
        paint_words(painter, laid.placing, mm, PAPER)

    page.clipped(box, inside)
    for inset, place in laid.insets:
        on_page = Box(box.x + place.x, box.y + place.y, place.w, place.h)
        page.rect(on_page, PAPER.ground, 0.35)
        inset.paint(page, on_page)
    page.rect(box, "", 0.5)
    _grid_labels(page, box, view)
    x, y = view.from_px(np.array([0, 1, 1, 0]) * view.size[0], np.array([0, 0, 1, 1]) * view.size[1])
    page.frames.append(GeoFrame(box, tuple((float(a), float(b)) for a, b in zip(x, y, strict=True))))


def _inset_boxes(insets: Sequence[Inset], box: Box, view: View, keep_clear: Any) -> list[Box]:
    """Return a box (mm in the frame) for each inset: its own, or the corner that covers least of keep_clear."""
    shape = to_px(keep_clear, view) if keep_clear is not None else None
    free = [(0, 0), (1, 0), (0, 1), (1, 1)]
    found = []
    for inset in insets:
        if inset.at is not None:
            found.append(Box(*inset.at, inset.width, inset.height))
            continue

        def covered(corner: tuple[int, int], inset: Inset = inset) -> float:
            b = _corner_box(corner, inset, box)
            if shape is None:
                return 0.0
            mine = shapely.box(*(v * view.px_per_mm for v in (b.x, b.y, b.right, b.bottom)))
            return float(shapely.intersection(mine, shape).area)

        best = min(free, key=lambda c: (covered(c), free.index(c)))
        free.remove(best)
        found.append(_corner_box(best, inset, box))
    return found


def _corner_box(corner: tuple[int, int], inset: Inset, box: Box) -> Box:
    return Box(1.2 + corner[0] * (box.w - inset.width - 2.4), 1.2 + corner[1] * (box.h - inset.height - 2.4),
               inset.width, inset.height)  # fmt: skip


def grid_step_m(scale: float) -> float:
    """Return the grid's spacing in metres: 20 to 50 mm on paper."""
    power = 10.0 ** math.floor(math.log10(0.02 * scale))
    return next(n * power for n in (1.0, 2.0, 5.0, 10.0) if n * power >= 0.02 * scale * (1 - 1e-9))


def _grid_values(view: View) -> tuple[Any, Any]:
    west, south, east, north = view.bounds()
    step = grid_step_m(view.scale)
    return (np.arange(math.ceil(west / step), math.floor(east / step) + 1) * step,
            np.arange(math.ceil(south / step), math.floor(north / step) + 1) * step)  # fmt: skip


def _grid_lines(painter: Any, view: View) -> None:
    west, south, east, north = view.bounds()
    across, up = _grid_values(view)
    ends = [((x, south), (x, north)) for x in across] + [((west, y), (east, y)) for y in up]
    if ends:
        flat = np.array(ends).reshape(-1, 2)
        painter.setPen(pen("#9A9A9A", 0.12 * view.px_per_mm))
        draw_segments(painter, view.points(flat).reshape(-1, 4))


def _grid_labels(page: Page, box: Box, view: View) -> None:
    """Label eastings where their lines leave by the foot, northings where theirs leave by the left side."""
    mm = view.px_per_mm
    across, up = _grid_values(view)
    _, left_y = view.from_px(np.zeros(2), np.array([0.0, view.size[1]]))
    foot_x, _ = view.from_px(np.array([0.0, view.size[0]]), np.full(2, view.size[1]))
    last = -1e9
    for x in across:
        share = (x - foot_x[0]) / (foot_x[1] - foot_x[0])
        at = box.x + share * box.w
        wide = text_width(f"{x:.0f} E", 7)
        if 0 <= share <= 1 and at - wide / 2 > max(last + 2, box.x - 2) and at + wide / 2 < box.right + 1:
            page.line(at, box.bottom, at, box.bottom + 1, 0.2)
            page.text(at, box.bottom + 3.6, f"{x:.0f} E", 7, align="centre")
            last = at + wide / 2
    for y in up:
        share = (y - left_y[0]) / (left_y[1] - left_y[0])
        at = box.y + share * box.h
        wide = text_width(f"{y:.0f} N", 7)
        if 0 <= share <= 1 and at - wide / 2 > box.y - 1 and at + wide / 2 < box.bottom + 1:
            page.line(box.x - 1, at, box.x, at, 0.2)
            page.painter.save()
            page.painter.translate((box.x - 1.4) * mm, (at + wide / 2) * mm)
            page.painter.rotate(-90)
            page.text(0, 0, f"{y:.0f} N", 7)
            page.painter.restore()
            page.written.pop()


def scale_marks(page: Page, box: Box, view: View, paper: str, north: Norths, words: str = "") -> None:
    """Draw the norths, a scale bar and the words on scale and turn in one strip 8 mm high."""
    x, y = box.x, box.y
    north_marks(page, x + 3.0, y + 5.0, view, north)
    bar = scale_bar(page, x + 12, y + 5.0, view)
    turned = tr("grid north up")
    if view.turn_deg:
        way = tr("clockwise") if view.turn_deg > 0 else tr("anticlockwise")
        so = tr("turned {angle}° {way} so that rows stand straight")
        turned = so.format(angle=f"{abs(view.turn_deg):.0f}", way=way)
    left = x + 12 + bar + 12
    said = f"1:{view.scale:,.0f} {tr('on')} {paper.split(maxsplit=1)[0]}, {turned}. {words}".strip()
    page.paragraph(Box(left, y - 0.8, box.right - left, 9.4), said, 7.5, leading=1.17)


def north_marks(page: Page, x: float, y: float, view: View, north: Norths, size: float = 0.8) -> None:
    """Draw the arrow of grid north, and beside it a thin one with M for magnetic north where that is known."""
    at = np.array([x, y]) * page.k
    symbols.north_arrow(page.painter, at, page.k * size, PAPER, view.screen_bearing(0))
    if north.magnetic_deg is not None:
        symbols.magnetic_arrow(page.painter, at, page.k * size, PAPER, view.screen_bearing(north.magnetic_deg))


def scale_bar(page: Page, x: float, y: float, view: View, longest_mm: float = 50.0) -> float:
    """Draw a scale bar with its left end at x, y; return its length in mm."""
    most = longest_mm / 1000.0 * view.scale / 4
    power = 10.0 ** math.floor(math.log10(most))
    step = max(n * power for n in _NICE if n * power <= most)
    one = step * 1000.0 / view.scale
    for n in range(4):
        page.rect(Box(x + n * one, y, one, 1.5), PAPER.ink if n % 2 == 0 else PAPER.ground, 0.25)
    for n in (0, 2, 4):
        page.text(x + n * one, y - 1, f"{step * n:,.0f}" + (" m" if n == 4 else ""), 7.5, align="centre")
    return 4 * one


def check_line(page: Page, x: float, y: float) -> None:
    """Draw the line that shows whether the printer kept the size: 100 mm."""
    page.line(x, y, x + 100, y, 0.3)
    for end in (x, x + 100):
        page.line(end, y - 1, end, y + 1, 0.3)
    page.text(x + 102, y + 0.9, tr("This line is 100 mm at full size. If it is not, trust the scale bar only."), 7)


def wind_inset(now: NightWind | None, after: NightWind | None, change_at: str, view: View) -> Inset:
    """Return the wind's inset: an arrow flying with it, its words, and the change."""
    tall = 24.0 + (9.0 if after is not None else 0.0)

    def draw(page: Page, box: Box) -> None:
        middle = box.x + box.w / 2
        if now is None:
            page.paragraph(box.inset(1.5), tr("No forecast wind"), 9, True)
            return
        at = np.array([middle, box.y + 8.0]) * page.k
        symbols.wind_arrow(page.painter, at, page.k, PAPER, view.screen_bearing(now.from_deg + 180.0), 12.5)
        page.text(middle, box.y + 18.6, tr("from {point}").format(point=now.words), 10, True, "centre")
        page.text(middle, box.y + 22.8, f"{now.km_h:.0f} km/h", 10, True, "centre")
        if after is not None:
            page.line(box.x, box.y + 24.4, box.right, box.y + 24.4, 0.2)
            page.text(middle, box.y + 28.0, tr("{time} change").format(time=change_at), 8, False, "centre")
            page.text(middle, box.y + 31.8, f"{after.words} {after.km_h:.0f}", 9, True, "centre")

    return Inset(26.0, tall, draw)
