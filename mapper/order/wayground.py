"""The ground a crew can leave over, as a grid of cells: where it may go, what each metre costs, where it is safe."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.ranged import Array
from mapper.ground.buffers import NO_BURN
from mapper.ground.present import LINE_WIDTH_M

# All of these are our choices.
CELL_M = 10.0
# Ground this far outside the paddock is looked at; a road or green ground further off is no way out of it.
AROUND_M = 60.0
# A metre over stubble or a neighbour's land weighs as this many on a break or road.
STUBBLE = 3.0
# A break this wide is a road for a vehicle and ground to stand on, where no wider local limit is set.
SAFE_BREAK_M = 4.0
# A cell counts as on a line whose bare ground begins this near its middle: no line slips between cells.
_NEAR_M = 0.71 * CELL_M
_WALLS = ("water", "trees", "house", "shed", "haystack", "crop", "vineyard", "railway")
_BARE = ("bare", "green")
_ROADS = ("road", "track")


@dataclass(frozen=True)
class Safe:
    """Safe ground: its name on paper and where it is."""

    name: str
    place: BaseGeometry


@dataclass(frozen=True)
class WayGround:
    """Cells xy (n, 2), east and north of their middles, row by row from the south; shape: rows, columns; open_ (n,) may
    be gone over; cost (n,) of a metre; safe (n,): the number of the safe ground it lies on, -1 for none; links (m, 2):
    neighbours; names of the safe grounds; known: cells by live row and wind (order/danger.py)."""

    xy: Array
    shape: tuple[int, int]
    open_: NDArray[np.bool_]
    cost: Array
    safe: NDArray[np.int64]
    links: NDArray[np.int64]
    names: tuple[str, ...]
    known: dict[Any, NDArray[np.int64]] = field(default_factory=dict, compare=False, repr=False)


def safe_ground(
    paddock: BaseGeometry, assets: gpd.GeoDataFrame, breaks: gpd.GeoDataFrame, edges: gpd.GeoDataFrame, wide_m: float
) -> tuple[Safe, ...]:
    """Return bare and green ground, roads, tracks and breaks as wide as wide_m that touch a paddock.

    Stretches of break along edges that may lie downwind, now or after a change, are left out: the fire runs at them. A
    gate is no safe ground of itself.
    """
    edge = paddock.boundary
    found = []
    for asset in assets.itertuples():
        if asset.kind in (*_BARE, *_ROADS) and asset.geometry.distance(edge) <= AROUND_M:
            width = LINE_WIDTH_M.get(str(asset.kind), 0.0)
            place = asset.geometry.buffer(width / 2) if asset.kind in _ROADS else asset.geometry
            found.append(Safe(str(asset.name or asset.kind), place))
    facing = edges[(edges["label"] == "downwind") | (edges["label_after"] == "downwind")]
    exposed = shapely.union_all(facing.geometry.to_numpy()).buffer(1.0)
    for b in breaks.itertuples():
        if b.present_m >= max(wide_m, SAFE_BREAK_M) and not str(b.side).startswith(("Ring", "Inside")):
            place = b.geometry.difference(exposed)
            if not place.is_empty:
                name = f"{b.present_m:g} m break, {str(b.side).lower()}"
                found.append(Safe(name, place.buffer(b.present_m / 2)))
    return tuple(found)


def way_ground(
    paddock: BaseGeometry, safe: Sequence[Safe], assets: gpd.GeoDataFrame, buffers: gpd.GeoDataFrame
) -> WayGround:
    """Return the cells of a paddock and 60 m round it. Water, trees, buildings, crops, railways and strips under power
    lines may not be gone over; fences and gates are not known to the program."""
    around = paddock.buffer(AROUND_M)
    x0, y0, x1, y1 = around.bounds
    xs, ys = np.arange(x0, x1 + CELL_M, CELL_M), np.arange(y0, y1 + CELL_M, CELL_M)
    xy = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    number = np.arange(len(xy)).reshape(len(ys), len(xs))
    links = np.concatenate(
        [
            np.stack([a.ravel(), b.ravel()], axis=1)
            for a, b in (
                (number[:, :-1], number[:, 1:]),
                (number[:-1], number[1:]),
                (number[:-1, :-1], number[1:, 1:]),
                (number[:-1, 1:], number[1:, :-1]),
            )
        ]
    )
    points = shapely.points(xy)
    strips = buffers[(buffers["purpose"] == NO_BURN) & (buffers["kind"] == "power_line")]
    walls = [g for g in (*assets[assets["kind"].isin(_WALLS)].geometry, *strips.geometry) if g.intersects(around)]
    open_ = near(points, around, 0.0) & ~near(points, shapely.union_all(walls), CELL_M / 2)
    on = np.full(len(xy), -1)
    for k, s in enumerate(safe):
        on[near(points, s.place, _NEAR_M) & (on < 0)] = k
    return WayGround(xy, number.shape, open_, np.where(on >= 0, 1.0, STUBBLE), on, links, tuple(s.name for s in safe))


def near(points: Any, shape: BaseGeometry, within_m: float) -> NDArray[np.bool_]:
    """Return which points lie within a distance of a shape (none of an empty one)."""
    shapely.prepare(shape)
    return np.asarray(shapely.dwithin(points, shape, within_m))
