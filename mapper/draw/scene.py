"""The map itself: layers in, paint out, the same for screen frames and printed pages."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter

from mapper.draw import asburnt, marks, moving, symbols
from mapper.draw.cloud import draw_cloud
from mapper.draw.levels import Lines, Points
from mapper.draw.palette import PAPER, Palette
from mapper.draw.pitch import row_pitch_m
from mapper.draw.strokes import (
    Cancelled,
    dots_in,
    draw_dots,
    draw_segments,
    fill_area,
    ground_of,
    path_of,
    pen,
    to_px,
)
from mapper.draw.view import View
from mapper.farm.errors import Stopped
from mapper.farm.ranged import Array


@dataclass(frozen=True)
class Style:
    """How to draw. hidden: names of the parts (PARTS) left out. row_mm, fifth_mm: line widths of rows.

    hour: the moment shown (aware); rows alight and burnt by then are drawn. None, as on paper: the plan, no moment.
    """

    palette: Palette = PAPER
    hidden: frozenset[str] = frozenset()
    row_mm: float = 0.35
    fifth_mm: float = 0.7
    break_fill: bool = True
    hour: datetime | None = None
    extras: Mapping[str, Any] = field(default_factory=dict)


class Scene:
    """Layers by name (farm/layers.py), with their levels of detail made once and kept.

    Besides the farm's and the plan's layers it takes "track": a table with columns x, y of a harvester's fixes, and
    perhaps shade, the class each is coloured by (0 to 4, palette.points).
    """

    def __init__(self, layers: Mapping[str, Any], kept: dict[str, tuple[Any, Any]] | None = None) -> None:
        self.layers = {name: layer for name, layer in layers.items() if layer is not None and len(layer)}
        self._kept = {n: k for n, k in (kept or {}).items() if self.layers.get(n) is k[0]}

    def with_layers(self, **changes: Any) -> "Scene":
        """Return a scene with some layers exchanged; what was made for the others is kept."""
        return Scene({**self.layers, **changes}, dict(self._kept))

    def layer(self, name: str) -> Any:
        """Return a layer, or None where the scene has none or an empty one."""
        return self.layers.get(name)

    def lines(self, name: str) -> Lines:
        """Return the levels of a layer of lines or areas."""
        made: Lines = self._made(name, lambda layer: Lines(layer.geometry.to_numpy()))
        return made

    def points(self, name: str) -> Points:
        """Return the levels of a layer of points, or of the track."""
        made: Points = self._made(name, _points)
        return made

    @cached_property
    def row_pitch_m(self) -> float:
        """The usual distance between neighbouring rows in metres; infinite where there are not two."""
        # Short pieces of one row lie near others of its neighbours; whole rows tell the distance best.
        rows = self.layer("windrows") if self.layer("windrows") is not None else self.layer("pieces")
        return float("inf") if rows is None else row_pitch_m(rows)

    @cached_property
    def no_burn(self) -> Any:
        """All ground in which nothing is lit, metres; None where there is none."""
        buffers = self.layer("buffers")
        kept = () if buffers is None else buffers[buffers["purpose"].isin(NO_BURN)].geometry.to_numpy()
        if not len(kept):
            return None
        area = shapely.union_all(kept)
        shapely.prepare(area)
        return area

    def _made(self, name: str, make: Callable[[Any], Any]) -> Any:
        layer = self.layers[name]
        if name not in self._kept:
            self._kept[name] = (layer, make(layer))
        return self._kept[name][1]


def _points(layer: Any) -> Points:
    if "geometry" in layer.columns:
        return Points(shapely.get_coordinates(shapely.centroid(layer.geometry.to_numpy())))
    return Points(layer[["x", "y"]].to_numpy(dtype=float))


def paint(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None = None) -> None:
    """Paint every part the scene has layers for, back to front.

    The painter's units are the view's; it is left as it was. Works on a QImage in a worker thread and on paper.
    Raises Stopped when cancelled.
    """
    painter.save()
    painter.setBrush(Qt.BrushStyle.NoBrush)
    try:
        for part, (needs, draw) in PARTS.items():
            if part in style.hidden or scene.layer(needs) is None:
                continue
            if cancelled is not None and cancelled():
                raise Stopped
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
            draw(painter, view, scene, style, cancelled)
    finally:
        painter.restore()


Part = Callable[[QPainter, View, Scene, Style, Cancelled | None], None]


def _flat(painter: QPainter, shape: Any, view: View, colour: str) -> None:
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    fill_area(painter, shape, view, colour)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)


def _seen(layer: Any, view: View) -> Any:
    """Return the features whose box the view touches."""
    west, south, east, north = view.bounds(view.mm(6))
    box = layer.geometry.bounds.to_numpy()
    return layer[(box[:, 0] <= east) & (box[:, 2] >= west) & (box[:, 1] <= north) & (box[:, 3] >= south)]


def _paddock_ground(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    for shape in _seen(scene.layer("paddocks"), view).geometry:
        _flat(painter, shape, view, style.palette.stubble)


def _neighbours(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    painter.setPen(pen(style.palette.field, view.mm(0.25)))
    draw_segments(painter, scene.lines("neighbours").segments(view)[0], cancelled)


def _blocks(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    for k, block in enumerate(scene.layer("blocks").sort_values(["paddock", "first_no"]).itertuples()):
        if k % 2 == 0:
            _flat(painter, block.geometry, view, style.palette.tint)


def block_edges(scene: Scene, view: View) -> list[Array]:
    """Return the lines between blocks, painter positions (n, 2) each; very short ones are left out."""
    blocks = scene.layer("blocks")
    rings = [] if blocks is None else list(blocks.geometry)
    found: list[Array] = []
    for k, one in enumerate(rings):
        for other in rings[k + 1 :]:
            # Blocks meet along rows, not along one line: the strip between them is where the edge is drawn.
            shared = shapely.intersection(shapely.boundary(one), shapely.buffer(other, 0.5))
            for line in shapely.get_parts(shapely.line_merge(shared)):
                if line.geom_type == "LineString" and line.length * view.px_per_m > 2 * view.px_per_mm:
                    found.append(view.points(shapely.get_coordinates(line)))
    return found


def _block_edges(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    mm = view.px_per_mm
    painter.setPen(pen(style.palette.ink, 0.8 * mm, (3 * mm, 1.2 * mm)))
    for xy in block_edges(scene, view):
        painter.drawPath(path_of(xy))


def _roads(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    assets = scene.layer("assets")
    draw: dict[str, Callable[[Array], None]] = {
        "track": lambda xy: marks.track(painter, xy, view.px_per_mm, style.palette),
        "railway": lambda xy: marks.railway(painter, xy, view.px_per_mm, style.palette),
        "road": lambda xy: marks.road(painter, xy, 0.0, view.px_per_mm, style.palette),
    }
    for kind, stroke in draw.items():
        for _, xy in scene.lines("assets").polylines(view, assets["kind"] == kind):
            stroke(xy)


def _asset_areas(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    ink, mm = style.palette, view.px_per_mm
    for asset in _seen(scene.layer("assets"), view).itertuples():
        if not asset.geometry.geom_type.endswith("Polygon"):
            continue
        shape = to_px(asset.geometry, view)
        colour = {"water": ink.water, "house": ink.ink, "shed": ink.plate, "bare": ink.ground}.get(asset.kind, ink.tint)
        _flat(painter, asset.geometry, view, colour)
        marks.outline(painter, shape, pen(ink.ink, 0.3 * mm))


def _power_lines(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    for _, xy in scene.lines("assets").polylines(view, scene.layer("assets")["kind"] == "power_line"):
        marks.power_line(painter, xy, view.px_per_mm, style.palette)
    for at in danger_spots(scene, view):
        symbols.danger(painter, at, view.px_per_mm, style.palette)


def _buffers(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    """Care areas and no-burn rings; a distance wider than the map would only grey it, so its line alone is drawn."""
    ink, mm = style.palette, view.px_per_mm
    from_view = shapely.box(*view.bounds())
    for buffer in _seen(scene.layer("buffers"), view).itertuples():
        shape = shapely.intersection(buffer.geometry, from_view)
        if shape.is_empty:
            continue
        shape_px = to_px(shape, view)
        if buffer.purpose in NO_BURN:
            marks.no_burn(painter, shape_px, mm, ink)
        elif buffer.distance_m * view.px_per_m <= 15 * mm:
            marks.care(painter, shape_px, mm, ink)
        else:
            marks.outline(painter, to_px(buffer.geometry, view), pen(ink.soft, 0.3 * mm, (0.4 * mm, 1.1 * mm)))


def _smoke(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    """Smoke now as dots, denser where it is thicker, one dashed line round all; after the change one dotted line."""
    smoke, ink, mm = scene.layer("smoke"), style.palette, view.px_per_mm
    frame = shapely.box(*view.bounds(mm))
    for when in ("now", "after"):
        areas = smoke[smoke["when"] == when]
        if areas.empty:
            continue
        whole = to_px(shapely.intersection(shapely.union_all(areas.geometry.to_numpy()), frame), view)
        if when == "after":
            marks.smoke_after(painter, whole, mm, ink)
            continue
        marks.smoke(painter, whole, 0.0, mm, ink)
        inner: Any = shapely.Polygon()
        for level, gap_mm in reversed(SMOKE_GAP_MM.items()):
            shapes = areas.loc[areas["level"] == level].geometry.to_numpy()
            here = to_px(shapely.intersection(shapely.union_all(shapes), frame), view)
            draw_dots(painter, dots_in(shapely.difference(here, inner), gap_mm * mm), 0.2 * mm, ink.ink)
            inner = shapely.union(inner, here)


def _breaks(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    breaks = scene.layer("breaks")
    for k, xy in scene.lines("breaks").polylines(view):
        row = breaks.iloc[k]
        present = 0.0 if np.isnan(row["present_m"]) else float(row["present_m"])
        narrow = bool(row["short_m"] > 0)
        marks.break_strip(painter, xy, present * view.px_per_m, narrow, view.px_per_mm, style.palette)


def _breaks_there(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    there = scene.layer("breaks_there")
    for k, xy in scene.lines("breaks_there").polylines(view):
        width = float(there.iloc[k]["width_m"]) * view.px_per_m
        marks.break_strip(painter, xy, width, False, view.px_per_mm, style.palette)


def _paddock_edges(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    painter.setPen(pen(style.palette.ink, view.mm(0.4)))
    draw_segments(painter, scene.lines("paddocks").segments(view)[0], cancelled)


def _edges(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    edges = scene.layer("edges")
    for solid in (False, True):
        exposed = (edges["label" if solid else "label_after"] == EXPOSED).to_numpy()
        if not solid:
            exposed = exposed & (edges["label"] != EXPOSED).to_numpy()
        for name, some in edges[exposed].groupby("paddock", sort=True):
            # Neighbouring stretches are joined, so that teeth keep their distance whatever the stretches' lengths.
            joined = shapely.line_merge(shapely.union_all(some.geometry.to_numpy()))
            for line in shapely.get_parts(joined):
                xy = view.points(shapely.get_coordinates(line))
                if len(xy) > 1:
                    side = _outer_side(line, scene.layer("paddocks"), str(name), float(some["facing_deg"].iloc[0]))
                    # The picture's y runs down, which turns left into right.
                    marks.teeth(painter, xy, -side, view.px_per_mm, style.palette, solid)


def _outer_side(line: Any, paddocks: Any, name: str, facing_deg: float) -> float:
    """Return +1 where outward is left of the line on the ground, else -1: by the paddock, else by the way it faces."""
    middle = line.interpolate(0.5, normalized=True)
    on = line.interpolate(min(line.project(middle) + 0.5, line.length))
    back = line.interpolate(max(line.project(middle) - 0.5, 0.0))
    ahead = np.array([on.x - back.x, on.y - back.y])
    left = np.array([-ahead[1], ahead[0]]) / max(float(np.hypot(*ahead)), 1e-9)
    lands = None if paddocks is None else paddocks.loc[paddocks["paddock"] == name].geometry
    if lands is not None and len(lands):
        beside = shapely.Point(middle.x + 1.5 * left[0], middle.y + 1.5 * left[1])
        return -1.0 if lands.iloc[0].contains(beside) else 1.0
    out = np.radians(facing_deg)
    return 1.0 if left @ np.array([np.sin(out), np.cos(out)]) > 0 else -1.0


def _track(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    points, track = scene.points("track"), scene.layer("track")
    seen = points.seen(view)
    coloured = "shade" in track.columns
    shade = track["shade"].to_numpy()[seen] if coloured else np.zeros(len(seen), dtype=np.int8)
    colours = style.palette.points if coloured else (style.palette.track,)
    # Dots of neighbouring passes must not run into each other: 2 m on the ground, within what can be seen.
    radius = min(max(2.0 * view.px_per_m, view.mm(0.2)), view.mm(0.85))
    draw_cloud(painter, view, view.points(points.xy[seen]), shade, colours, radius, cancelled)


def _windrows(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    if scene.layer("pieces") is not None:
        return
    rows, ink, mm = scene.layer("windrows"), style.palette, view.px_per_mm
    load = rows["load_class"].to_numpy()
    for wanted, colour, width in (
        (~np.isin(load, ("light", "heavy")), ink.row, style.row_mm),
        (load == "light", ink.row_light, style.row_mm * 0.8),
        (load == "heavy", ink.row_heavy, style.row_mm * 1.6),
    ):
        painter.setPen(pen(colour, width * mm))
        draw_segments(painter, scene.lines("windrows").segments(view, wanted)[0], cancelled)


def _pieces(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    pieces, ink, mm = scene.layer("pieces"), style.palette, view.px_per_mm
    number = pieces["order_no"].to_numpy()
    left = (number <= 0) | (pieces["left_reason"] != "").to_numpy()
    # Rows nearer to each other than two line widths would run into one black: the line gives way, never the gap.
    pitch_mm = scene.row_pitch_m * view.px_per_m / mm
    row_mm, fifth_mm = min(style.row_mm, 0.4 * pitch_mm), min(style.fifth_mm, 0.7 * pitch_mm)
    painter.setPen(pen(ink.row, row_mm * mm))
    draw_segments(painter, scene.lines("pieces").segments(view, ~left & (number % 5 != 0))[0], cancelled)
    painter.setPen(pen(ink.row, fifth_mm * mm))
    draw_segments(painter, scene.lines("pieces").segments(view, ~left & (number % 5 == 0))[0], cancelled)
    painter.setPen(pen(ink.row, 0.32 * mm, (0.32 * mm, 0.9 * mm)))
    for _, xy in scene.lines("pieces").polylines(view, left):
        painter.drawPath(path_of(xy))


def _lighting(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    points, mm = scene.layer("lighting_points"), view.px_per_mm
    number = points["order_no"].to_numpy()
    seen = scene.points("lighting_points").seen(view)
    spots = view.points(scene.points("lighting_points").xy[seen]) if len(seen) else np.empty((0, 2))
    # A row's first dot is bold. The others are small, and left out where rows lie too near for them to be told apart;
    # first dots that would run into each other are thinned to every fifth row's.
    pitch_mm = scene.row_pitch_m * view.px_per_m / mm
    first = ~points.sort_values("lit_at", kind="stable")["piece_id"].duplicated().sort_index().to_numpy()
    crowded = len(spots) > 1 and _nearest_gap(spots) < 1.3 * mm
    for k, at in zip(seen, spots, strict=True):
        fifth = number[k] % 5 == 0
        if first[k] and (fifth or not crowded or pitch_mm >= 1.3):
            symbols.light_dot(painter, at, mm * max(min(1.0, pitch_mm / 1.7), 0.5), style.palette, bool(fifth))
        elif not first[k] and pitch_mm >= LATER_DOT_PITCH_MM:
            symbols.light_dot(painter, at, mm * 0.55, style.palette, False)


def _nearest_gap(xy: Array) -> float:
    """Return the median distance from a point to its nearest neighbour."""
    tree = shapely.STRtree(shapely.points(xy))
    _, gap = tree.query_nearest(tree.geometries, exclusive=True, return_distance=True, all_matches=False)
    return float(np.median(gap)) if len(gap) else np.inf


def _row_parts(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    parts = scene.layer("row_parts")
    asburnt.paint_parts(painter, view, parts, row_pitch_m(parts), style.palette)


def _escapes(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    asburnt.paint_escapes(painter, view, scene.layer("escapes"), style.palette)


def _ways_out(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    for _, xy in scene.lines("ways_out").polylines(view):
        if len(xy) > 1:
            marks.way_out(painter, xy, view.px_per_mm, style.palette)
    for _, at in safe_spots(scene, view):
        symbols.safe_ground(painter, at, view.px_per_mm, style.palette)


def _heaps(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    points = scene.points("heaps")
    draw_dots(painter, view.points(points.xy[points.seen(view)]), view.mm(0.6), style.palette.ink)


def _symbols(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    for _, kind, at in symbol_spots(scene, view):
        symbols.ASSET_SYMBOLS[kind](painter, at, view.px_per_mm, style.palette)


def _start_finish(painter: QPainter, view: View, scene: Scene, style: Style, cancelled: Cancelled | None) -> None:
    for name, at in start_finish(scene, view):
        (symbols.start if name == "START" else symbols.finish)(painter, at, view.px_per_mm, style.palette)


def symbol_spots(scene: Scene, view: View) -> list[tuple[str, str, Array]]:
    """Return asset id, kind and painter position of every asset that is drawn as a point symbol in the view."""
    assets = scene.layer("assets")
    found: list[tuple[str, str, Array]] = []
    if assets is None:
        return found
    for asset in _seen(assets, view).itertuples():
        if asset.kind in symbols.ASSET_SYMBOLS and not asset.geometry.geom_type.endswith("LineString"):
            middle = asset.geometry.representative_point()
            x, y = view.to_px(np.array(middle.x), np.array(middle.y))
            if 0 <= x <= view.size[0] and 0 <= y <= view.size[1]:
                found.append((str(asset.asset), str(asset.kind), np.array([float(x), float(y)])))
    return found


def danger_spots(scene: Scene, view: View) -> list[Array]:
    """Return painter positions of the electricity signs: one on each power line, in the middle of what is seen."""
    assets = scene.layer("assets")
    found: list[Array] = []
    if assets is None:
        return found
    frame = ground_of(view, view.mm(8))
    for line in assets.loc[assets["kind"] == "power_line"].geometry:
        seen = shapely.get_parts(shapely.intersection(line, frame))
        seen = [g for g in seen if g.geom_type == "LineString" and g.length * view.px_per_m > view.mm(25)]
        if seen:
            middle = shapely.line_interpolate_point(max(seen, key=lambda g: g.length), 0.42, normalized=True)
            found.append(view.points(shapely.get_coordinates(middle))[0])
    return found


def safe_spots(scene: Scene, view: View) -> list[tuple[str, Array]]:
    """Return name and painter position of the ends of ways out where people can stay: bare, green, a wide break."""
    ways = scene.layer("ways_out")
    if ways is None:
        return []
    safe = ways[ways["to"].str.contains(SAFE_WORDS, case=False, regex=True)]
    ends = {str(w.to): shapely.get_coordinates(w.geometry)[-1:] for w in safe.itertuples()}
    return [(name, view.points(xy)[0]) for name, xy in sorted(ends.items())]


def start_finish(scene: Scene, view: View) -> list[tuple[str, Array]]:
    """Return START and FINISH of each paddock, set off outward from the first and the last lighting point."""
    points, paddocks = scene.layer("lighting_points"), scene.layer("paddocks")
    if points is None or scene.layer("pieces") is None or paddocks is None:
        return []
    found: list[tuple[str, Array]] = []
    for name, some in points[points["order_no"] > 0].groupby("paddock", sort=True):
        land = paddocks.loc[paddocks["paddock"] == name].geometry
        for word, number in (("START", some["order_no"].min()), ("FINISH", some["order_no"].max())):
            at = some.loc[some["order_no"] == number].geometry.iloc[0]
            found.append((word, _outward(at, land.iloc[0] if len(land) else None, view, scene.no_burn)))
    return found


def _outward(at: Any, land: Any, view: View, clear: Any = None) -> Array:
    here = np.array([v.item() for v in view.to_px(np.array(at.x), np.array(at.y))])
    if land is None:
        return here
    land_px = shapely.boundary(to_px(land, view))
    edge = shapely.get_coordinates(shapely.shortest_line(shapely.Point(here), land_px))
    away = edge[-1] - edge[0]
    if np.hypot(*away) < 1e-6:
        middle = shapely.get_coordinates(to_px(land.representative_point(), view))[0]
        away = here - middle
    unit = away / max(float(np.hypot(*away)), 1e-9)
    # Straight out is best; a turned place is taken where straight out lies in ground kept clear or off the map.
    best: Array = edge[-1] + unit * 7.5 * view.px_per_mm
    for turn in np.radians([0.0, 35.0, -35.0, 70.0, -70.0]):
        way = np.array(
            [unit[0] * np.cos(turn) - unit[1] * np.sin(turn), unit[0] * np.sin(turn) + unit[1] * np.cos(turn)]
        )
        spot: Array = edge[-1] + way * 7.5 * view.px_per_mm
        east, north = view.from_px(spot[:1], spot[1:])
        if clear is None or not clear.intersects(shapely.Point(east[0], north[0]).buffer(view.mm(3) / view.px_per_m)):
            return spot
    return best


# A stretch of boundary that fire would be blown over (ground/edges.py).
EXPOSED = "downwind"
# Rows nearer than this on paper show where each is lit first, not the points after it.
LATER_DOT_PITCH_MM = 1.8
SAFE_WORDS = "safe|bare|green|break"
NO_BURN = frozenset({"no burn", "no-burn"})
SMOKE_GAP_MM = {"haze": 3.4, "smoke": 2.4, "thick smoke": 1.6}

# Back to front: the part's name, the layer it needs, its painter.
PARTS: dict[str, tuple[str, Part]] = {
    "paddock_ground": ("paddocks", _paddock_ground),
    "blocks": ("blocks", _blocks),
    "neighbours": ("neighbours", _neighbours),
    "asset_areas": ("assets", _asset_areas),
    "buffers": ("buffers", _buffers),
    "smoke": ("smoke", _smoke),
    "roads": ("assets", _roads),
    "track": ("track", _track),
    "windrows": ("windrows", _windrows),
    "pieces": ("pieces", _pieces),
    "fronts": ("pieces", moving.fronts),
    "row_parts": ("row_parts", _row_parts),
    "heaps": ("heaps", _heaps),
    "block_edges": ("blocks", _block_edges),
    "paddock_edges": ("paddocks", _paddock_edges),
    "breaks_there": ("breaks_there", _breaks_there),
    "breaks": ("breaks", _breaks),
    "edges": ("edges", _edges),
    "arrival": ("arrival", moving.arrival),
    "power_lines": ("assets", _power_lines),
    "lighting": ("lighting_points", _lighting),
    "ways_out": ("ways_out", _ways_out),
    "escapes": ("escapes", _escapes),
    "symbols": ("assets", _symbols),
    "start_finish": ("lighting_points", _start_finish),
}
