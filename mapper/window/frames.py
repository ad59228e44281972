"""Frames of the map: which layers stand at the hour shown, and the painting of one frame off the GUI thread."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

import numpy as np
from PySide6.QtGui import QColor, QImage, QPainter, QPen

from mapper.draw.palette import DARK, LIGHT
from mapper.draw.scene import EXPOSED, Scene, Style, paint
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
# What the map shows at each step besides what it shows always.
SHOWN_AT: dict[str, frozenset[str]] = {
    "paddock": frozenset({"breaks_there"}),
    "rows": frozenset({"windrows", "heaps"}),
    "breaks": frozenset({"windrows", "edges", "breaks", "buffers"}),
    "evening": frozenset({"pieces", "windrows", "edges", "breaks", "smoke", "blocks"}),
    "order": frozenset({"pieces", "windrows", "edges", "breaks", "lighting_points", "blocks", "ways_out"}),
    "sheets": frozenset({"pieces", "windrows", "edges", "breaks", "lighting_points", "blocks", "ways_out"}),
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

    def with_hidden(self, hidden: frozenset[str]) -> "Ask":
        """Return the same with other parts hidden."""
        return replace(self, hidden=hidden)


def map_layers(session: "Session", evening: "Evening | None") -> dict[str, Any]:
    """Return the layers that the map shows at the step and the hour in hand."""
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
        if name in shown:
            layers[name] = session.layer(name)
    if "smoke" in layers and layers["smoke"] is not None and session.hour is not None:
        layers["smoke"] = _alive(layers["smoke"], session.hour)
    if layers.get("edges") is not None and evening is not None and session.hour is not None:
        layers["edges"] = edges_at(layers["edges"], evening, session.hour)
    return {name: layer for name, layer in layers.items() if layer is not None}


def stale_blocks(session: "Session") -> tuple[Any, ...]:
    """Return the outlines of the blocks shown while their order is out of date; they are dashed."""
    blocks = session.layer("blocks") if "blocks" in SHOWN_AT[session.step] else None
    return tuple(blocks.geometry) if blocks is not None and "order" in session.stale else ()


def _alive(layer: Any, hour: datetime) -> Any:
    now = (layer["starts_at"].isna() | (layer["starts_at"] <= hour)) & (
        layer["ends_at"].isna() | (layer["ends_at"] > hour)
    )
    return layer[(layer["when"] != "now") | now]


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
    """Paint one frame. Runs in a worker; raises Stopped when cancelled."""
    view, ratio = ask.view, ask.view.ratio
    image = QImage(int(view.size[0] * ratio), int(view.size[1] * ratio), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(ratio)
    image.fill(QColor(ask.colours.ground))
    p = QPainter(image)
    try:
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        if ask.image and "image" not in ask.hidden:
            from mapper.window.backdrop import paint_backdrop

            paint_backdrop(p, ask.image, ask.crs, view, ask.colours.dark)
        style = Style(DARK if ask.colours.dark else LIGHT, hidden=ask.hidden, row_mm=0.28, fifth_mm=0.5)
        paint(p, view, ask.scene, style, cancelled)
        pen = QPen(QColor(ask.colours.warn), 2.5)
        pen.setDashPattern([5, 3])
        for block in ask.stale_blocks:
            p.strokePath(area_path(block, view), pen)
        if ask.picked is not None:
            p.setRenderHint(QPainter.RenderHint.Antialiasing)
            p.strokePath(area_path(ask.picked, view), QPen(QColor(ask.colours.act), 3))
        if "names" not in ask.hidden:
            paint_signs(p, view, ask.signs, ask.colours)
    finally:
        p.end()
    return image
