"""Names for places on a paddock's edge: which side, and how far from a gate or a corner."""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.assets import ASSET_KINDS
from mapper.farm.ranged import Array
from mapper.ground.boundary import BoundaryPieces
from mapper.ground.things import Things

SIDES = ("North", "North-east", "East", "South-east", "South", "South-west", "West", "North-west")
INSIDE = "Inside edge"
# Bends smaller than this share of a paddock's size do not make a side of their own: a creek side is one side. Our
# choice.
_BEND, _LEAST_BEND_M = 0.08, 5.0
# Farther from a gate than this its corner says more; nearer than the other it is at the gate. Our choices.
_GATE_M, _AT_M = 1500.0, 15.0
_CORNERS = {"north-east": (1, 1), "south-east": (1, -1), "south-west": (-1, -1), "north-west": (-1, 1)}


def side_names(pieces: BoundaryPieces, area: BaseGeometry, assets: Things) -> NDArray[np.object_]:
    """Return the name of the side each piece lies on, (n,): "South edge", or "Inside edge round Dam" at a hole.

    Sides are those of the outline without its bends, so that a winding side keeps one name.
    """
    names = np.full(len(pieces.mids), "", dtype=object)
    number = 0
    for part in shapely.get_parts(shapely.orient_polygons(area)):
        on = np.flatnonzero(pieces.ring == number)
        names[on] = _outline_names(pieces.mids[on], pieces.facing_deg[on], shapely.Polygon(part.exterior))
        number += 1
        for hole in part.interiors:
            names[pieces.ring == number] = _hole_name(shapely.Polygon(hole), assets)
            number += 1
    return names


def _outline_names(mids: Array, facing_deg: Array, outline: shapely.Polygon) -> list[str]:
    plain = outline.simplify(max(_BEND * np.sqrt(outline.area), _LEAST_BEND_M))
    corners = shapely.get_coordinates(shapely.orient_polygons(plain).exterior if not plain.is_empty else [])
    if len(corners) < 4:
        return [f"{SIDES[k]} edge" for k in np.round(facing_deg / 45).astype(int) % 8]
    along = np.diff(corners, axis=0)
    facing = (np.degrees(np.arctan2(along[:, 0], along[:, 1])) + 90) % 360
    lines = shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1))
    away = shapely.distance(shapely.points(mids)[:, None], lines[None, :])
    # Of two sides that meet at a corner the piece belongs to the one that faces its way.
    turned = np.abs((facing_deg[:, None] - facing[None, :] + 180) % 360 - 180)
    near = away <= away.min(axis=1, keepdims=True) + 12.5
    nearest = np.where(near, turned, 999.0).argmin(axis=1)
    return [f"{SIDES[k]} edge" for k in np.round(facing[nearest] / 45).astype(int) % 8]


def _hole_name(hole: shapely.Polygon, assets: Things) -> str:
    inside = shapely.intersects(assets.shape, hole.buffer(-0.5)) if len(assets) else np.zeros(0, dtype=bool)
    for k in np.flatnonzero(inside):
        if assets.kind[k] in ASSET_KINDS:
            return f"{INSIDE} round {assets.name[k] or ASSET_KINDS[assets.kind[k]].label.lower()}"
    return INSIDE


def place_words(at: Array, area: BaseGeometry, gates: Things) -> str:
    """Return where a point (2,) is: "340 m north of gate G1", "at gate G1", else by the nearest corner."""
    if len(gates):
        away = shapely.distance(gates.shape, shapely.Point(at))
        k = int(away.argmin())
        if away[k] <= _GATE_M:
            name = str(gates.name[k])
            called = name if "gate" in name.lower() else f"gate {name}".strip()
            return _from(at, shapely.get_coordinates(gates.shape[k].centroid)[0], called)
    x0, y0, x1, y1 = area.bounds
    corners = shapely.get_coordinates(area)
    square = (corners - [(x0 + x1) / 2, (y0 + y1) / 2]) / max(x1 - x0, y1 - y0, 1e-9)
    named = {
        name: corners[(square @ np.array(way)).argmax()]
        for name, way in _CORNERS.items()
    }  # fmt: skip
    name, corner = min(named.items(), key=lambda item: float(np.hypot(*(item[1] - at))))
    return _from(at, corner, f"the {name} corner")


def _from(at: Array, mark: Array, called: str) -> str:
    east, north = at - mark
    away = float(np.hypot(east, north))
    if away < _AT_M:
        return f"at {called}"
    way = SIDES[round(float(np.degrees(np.arctan2(east, north))) / 45) % 8].lower()
    return f"{max(round(away, -1), 10):,.0f} m {way} of {called}"
