"""Frames of the map: which layers stand at the hour shown, and the painting of one frame off the GUI thread."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPen

from mapper.draw.palette import DARK, LIGHT
from mapper.draw.scene import EXPOSED, PARTS, Scene, Style, paint
from mapper.draw.strokes import area_path
from mapper.draw.view import View
from mapper.window.findings import LAYERS
from mapper.window.looks import Colours
from mapper.window.signs import Sign, paint_signs

if TYPE_CHECKING:
    from mapper.window.evening import Evening
    from mapper.window.state import Session

# Within this of straight downwind an edge faces the wind's run: half the width at which the flank spreads as a back
# fire does. Common practice, no source; the plan's own edges weigh the whole forecast, this shows one hour.
DOWNWIND_DEG = 67.5
# Parts that move with the hour: on a picture of their own, so that dragging the hour paints nothing else.
MOVING = frozenset({"smoke", "fronts", "edges", "arrival"})
# What the map shows at each step besides what it shows always.
SHOWN_AT: dict[str, frozenset[str]] = {
    "paddock": frozenset({"breaks_there"}),
    "rows": frozenset({"windrows", "heaps"}),
    "breaks": frozenset({"windrows", "edges", "breaks", "buffers", "arrival"}),
    "evening": frozenset({"pieces", "windrows", "edges", "breaks", "smoke", "blocks"}),
    "order": frozenset({"pieces", "windrows", "edges", "breaks", "lighting_points", "blocks", "ways_out", "smoke"}),
    "sheets": frozenset({"pieces", "windrows", "edges", "breaks", "lighting_points", "blocks", "ways_out"}),
    "record": frozenset({"breaks"}),
}


@dataclass(frozen=True)
class Ask:
    """All that a frame needs, taken in the GUI thread so that the worker reads nothing that may change."""

    view: View
    scene: Scene
    colours: Colours
    hidden: frozenset[str]
    signs: tuple[Sign, ...]
    image: str
    crs: Any
    picked: Any = None
    stale_blocks: tuple[Any, ...] = ()
    hour: datetime | None = None

    def with_scene(self, scene: Scene) -> "Ask":
        """Return the same of another scene."""
        return replace(self, scene=scene)

    def with_hidden(self, hidden: frozenset[str]) -> "Ask":
        """Return the same with other parts hidden."""
        return replace(self, hidden=hidden)


def map_layers(session: "Session") -> dict[str, Any]:
    """Return the layers that the map shows at the step in hand, but for those that move with the hour."""
    farm = session.farm
    if farm is None:
        return {}
    layers: dict[str, Any] = {
        "paddocks": farm.paddocks, "assets": farm.assets, "neighbours": farm.neighbours,
    }  # fmt: skip
    shown = SHOWN_AT[session.step]
    if "breaks_there" in shown:
        layers["breaks_there"] = farm.breaks_there
    for name in LAYERS:
        if name in shown and name not in MOVING:
            layers[name] = session.layer(name)
    if session.step == "record":
        layers |= session.book.layers() or {"pieces": session.layer("pieces")}
    return {name: layer for name, layer in layers.items() if layer is not None}


class Moving:
    """The layers that move with the hour; what holds for a whole hour is made once in it."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[Any, Any]] = {}

    def layers(self, session: "Session", evening: "Evening | None", escape: Any = None) -> dict[str, Any]:
        """Return edges by the hour's wind, smoke of the hour, rows to tell alight from burnt, an escape's lines."""
        farm, hour, shown = session.farm, session.hour, SHOWN_AT[session.step]
        if farm is None:
            return {}
        edges, smoke = (session.layer(n) if n in shown else None for n in ("edges", "smoke"))
        found = {"paddocks": farm.paddocks, "pieces": session.layer("pieces") if "pieces" in shown else None}
        if edges is not None and evening is not None and hour is not None:
            row, change = evening.at(hour), evening.change_after(hour)
            made = self._once("edges", (id(edges), row["time_utc"], change), lambda: edges_at(edges, evening, hour))
            edges = made
        if smoke is not None and hour is not None:
            now, held = _now(smoke, hour), smoke
            smoke = self._once("smoke", (id(smoke), now.tobytes()), lambda: held[now])
        found["edges"], found["smoke"] = edges, smoke
        found["arrival"] = escape if escape is not None else session.layer("arrival") if "arrival" in shown else None
        return {name: layer for name, layer in found.items() if layer is not None}

    def _once(self, name: str, key: Any, make: Callable[[], Any]) -> Any:
        if name not in self._kept or self._kept[name][0] != key:
            self._kept[name] = (key, make())
        return self._kept[name][1]


def stale_blocks(session: "Session") -> tuple[Any, ...]:
    """Return the outlines of the blocks shown while their order is out of date; they are dashed."""
    blocks = session.layer("blocks") if "blocks" in SHOWN_AT[session.step] else None
    return tuple(blocks.geometry) if blocks is not None and "order" in session.stale else ()


def _now(smoke: Any, hour: datetime) -> Any:
    begun = (smoke["starts_at"].isna() | (smoke["starts_at"] <= hour)).to_numpy()
    lasts = (smoke["ends_at"].isna() | (smoke["ends_at"] > hour)).to_numpy()
    return (smoke["when"] != "now").to_numpy() | (begun & lasts)


def edges_at(edges: Any, evening: "Evening", hour: datetime) -> Any:
    """Return the edges labelled by the wind of one hour, and by the wind after the next change."""
    wind = float(evening.at(hour)["wind_from_deg"])
    if math.isnan(wind) or edges.empty:
        return edges
    change = evening.change_after(hour)
    made = edges.copy()
    made["label"] = _labels(edges["facing_deg"].to_numpy(), wind)
    made["label_after"] = "" if change is None else _labels(edges["facing_deg"].to_numpy(), change.to_deg)
    return made


def _labels(facing_deg: Any, from_deg: float) -> Any:
    off = np.abs((facing_deg - (from_deg + 180.0) + 180.0) % 360.0 - 180.0)
    return np.where(off <= DOWNWIND_DEG, EXPOSED, "other").astype(object)


def paint_frame(ask: Ask, cancelled: Callable[[], bool]) -> QImage:
    """Paint what stands still. Runs in a worker; raises Stopped when cancelled."""
    image = _image(ask, QImage.Format.Format_RGB32, ask.colours.ground)
    p = QPainter(image)
    try:
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        if ask.image and "image" not in ask.hidden:
            from mapper.window.backdrop import paint_backdrop

            paint_backdrop(p, ask.image, ask.crs, ask.view, ask.colours.dark)
        paint(p, ask.view, ask.scene, _style(ask, ask.hidden | MOVING), cancelled)
        pen = QPen(QColor(ask.colours.warn), 2.5)
        pen.setDashPattern([5, 3])
        for block in ask.stale_blocks:
            p.strokePath(area_path(block, ask.view), pen)
        if ask.picked is not None:
            p.setRenderHint(QPainter.RenderHint.Antialiasing)
            p.strokePath(area_path(ask.picked, ask.view), QPen(QColor(ask.colours.act), 3))
    finally:
        p.end()
    return image


class HourPicture:
    """Paints what moves with the hour. Smoke, edges and names hold for a whole hour: their picture is kept, and only
    the rows alight and burnt are painted anew as the hour is dragged within it."""

    def __init__(self) -> None:
        self._kept: tuple[Any, Ask, QImage] | None = None

    def paint(self, ask: Ask, cancelled: Callable[[], bool]) -> QImage:
        """Return the picture on nothing. Runs in a worker; raises Stopped when cancelled."""
        image = _image(ask, QImage.Format.Format_ARGB32_Premultiplied, Qt.GlobalColor.transparent)
        held = self._held(ask, cancelled)
        p = QPainter(image)
        try:
            paint(p, ask.view, ask.scene, _style(ask, ask.hidden | (frozenset(PARTS) - {"fronts"})), cancelled)
            p.drawImage(0, 0, held)
        finally:
            p.end()
        return image

    def _held(self, ask: Ask, cancelled: Callable[[], bool]) -> QImage:
        layers = tuple(id(ask.scene.layer(n)) for n in ("paddocks", "smoke", "edges", "arrival"))
        key = (ask.view, layers, id(ask.signs), ask.hidden, ask.colours)
        if self._kept is not None and self._kept[0] == key:
            return self._kept[2]
        image = _image(ask, QImage.Format.Format_ARGB32_Premultiplied, Qt.GlobalColor.transparent)
        p = QPainter(image)
        try:
            p.setRenderHint(QPainter.RenderHint.Antialiasing)
            others = frozenset(PARTS) - MOVING
            paint(p, ask.view, ask.scene, _style(ask, ask.hidden | others | {"fronts"}), cancelled)
            if "names" not in ask.hidden:
                paint_signs(p, ask.view, ask.signs, ask.colours)
        finally:
            p.end()
        # The ask is kept with its picture: as long as it is, no other layer can be given the number of one of its own.
        self._kept = (key, ask, image)
        return image


def _image(ask: Ask, kind: QImage.Format, ground: Any) -> QImage:
    view = ask.view
    image = QImage(int(view.size[0] * view.ratio), int(view.size[1] * view.ratio), kind)
    image.setDevicePixelRatio(view.ratio)
    image.fill(QColor(ground))
    return image


def _style(ask: Ask, hidden: frozenset[str]) -> Style:
    palette = DARK if ask.colours.dark else LIGHT
    return Style(palette, hidden=hidden, row_mm=0.28, fifth_mm=0.5, hour=ask.hour)
