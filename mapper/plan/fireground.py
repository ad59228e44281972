"""The farm as fire meets it: a grid of fuel and slope, and how fast fire would run there hour by hour."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.farm.assets import ASSET_KINDS
from mapper.farm.errors import SettingError
from mapper.farm.farm import Farm
from mapper.farm.ranged import Array
from mapper.fire.behaviour import behaviour
from mapper.fire.breach import breach_chance
from mapper.fire.slope import on_slope
from mapper.fire.spread import State
from mapper.fire.stubble import grass_state, stubble_state
from mapper.ground.edges import TREES_NEAR_M, fuel
from mapper.ground.present import BARE_AREAS, LINE_WIDTH_M
from mapper.plan.winds import winds_from

# Cells: the finest, and coarser ones where the farm would take more than so many of them.
FINEST_M, MOST_CELLS = 10.0, 700_000
# The grid goes this far past what is known, at least and at most this far past the paddocks. Our choice.
_MARGIN_M, _LEAST_M, _FARTHEST_M = 300.0, 1000.0, 5000.0
# Beyond the farm where the limits say nothing: standing dead grass, 4.5 t/ha (what South Australian tables take).
BEYOND_T_HA, BEYOND_CURING = 4.5, 100.0
# What nobody needs minutes for.
_NO_HARM = ("track", "gate", "bare", "green", "water")
# A break is judged piece by piece, each this long at most; steps of slope and of where uphill lies.
_PIECE_M, _SLOPE_STEP_DEG, _UP_STEPS = 100.0, 1.0, 16
# More fuels than a farm can have, to count classes by.
_FUELS = 1000


Breaks = Literal["by chance", "hold", "fail"]
Fuel = tuple[State, float, float]


@dataclass(frozen=True, eq=False)
class Thing:
    """An asset or a neighbour's land (what), and the rows and columns of the cells that count as it."""

    what: str
    id: str
    name: str
    kind: str
    cells: tuple[NDArray[np.intp], NDArray[np.intp]]


@dataclass(frozen=True, eq=False)
class FireGround:
    """What fire.arrival needs of a farm from one moment on. Made by fire_ground, used for any number of starts.

    classes (rows, cols); west, north: outer corner of the first cell. head_m_s, lb, to_deg: (3, hours, classes),
    in a wind one sigma left of the forecast's, in the forecast's and one sigma right. outside: an equation was used
    past its range. failing: breaks that were taken not to hold, as lines. things: what minutes are wanted for.
    """

    classes: NDArray[np.uint16]
    west: float
    north: float
    cell_m: float
    crs: Any
    at: datetime
    hour_starts_s: Array
    head_m_s: Array
    lb: Array
    to_deg: Array
    outside: bool
    failing: tuple[Any, ...]
    things: tuple["Thing", ...]

    def cell(self, x: Any, y: Any) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return row and column of points; may lie off the grid."""
        col = np.floor((np.asarray(x, dtype=float) - self.west) / self.cell_m).astype(np.intp)
        return np.floor((self.north - np.asarray(y, dtype=float)) / self.cell_m).astype(np.intp), col

    def centres(self, rows: Any, cols: Any) -> tuple[Array, Array]:
        """Return the middles of cells, metres."""
        return self.west + (np.asarray(cols) + 0.5) * self.cell_m, self.north - (np.asarray(rows) + 0.5) * self.cell_m


def fire_ground(
    farm: Farm, at: datetime, horizon_s: float, changes: Sequence[Any] = (), breaks: Breaks = "by chance"
) -> FireGround:
    """Return the farm as fire would meet it from `at` (UTC) on.

    Fuel: paddocks' stubble by cut height, load and curing; trees, crop and reserves as standing grass; anything else as
    the local limits say of the land beyond (standing grass where they say nothing). Bare, green and water do not burn.
    breaks: roads, tracks and breaks hold where the chance that a head fire of the worst hour crosses is at most the
    local limit (never where it is not known), or all "hold", or all "fail". Slope from the farm's heights, else flat.
    changes: wind changes, used as plan/winds.py says. Raises SettingError without a forecast for these hours.
    """
    winds = winds_from(farm.forecast, at, horizon_s, changes)
    grid = _grid(farm)
    fuels, painted = _fuels(farm, *grid)
    fires = [behaviour(winds.wind_km_h, winds.temp_c, winds.rh_pct, c, q, s) for s, c, q in fuels]
    hot = np.array([0.0, *(float(f.intensity_kw_m.max()) for f in fires)])
    failing = _lines(farm, painted, grid, hot, breaks)
    classes, slope, up, of_fuel = _with_slope(farm, painted, grid)
    head = np.stack([f.head_m_s for f in fires], axis=1)[:, of_fuel]
    ratio = np.stack([f.lb for f in fires], axis=1)[:, of_fuel]
    turned = []
    for side in (-1.0, 0.0, 1.0):
        to = (winds.from_deg + 180 + side * winds.sigma_deg) % 360
        turned.append(on_slope(head, ratio, to[:, None], slope, up))
    heads, ratios, tos = (np.stack(part) for part in zip(*turned, strict=True))
    west, north, cell_m, _ = grid
    outside = bool(np.any([f.outside for f in fires]) or np.any(slope > 20))
    return FireGround(
        classes, west, north, cell_m, farm.grid.crs, at, winds.starts_s, heads, ratios, tos, outside, tuple(failing),
        tuple(_things(farm, grid)),
    )  # fmt: skip


Grid = tuple[float, float, float, tuple[int, int]]


def _grid(farm: Farm) -> Grid:
    """West, north, cell and shape of the grid: round all that is known, but not far from the paddocks."""
    layers = [farm.paddocks, farm.assets, farm.neighbours, farm.breaks_there]
    if farm.paddocks.empty:
        raise SettingError("the farm has no paddock", "arrival times", "Open or draw a boundary")
    known = np.array([layer.total_bounds for layer in layers if len(layer)])
    own = farm.paddocks.total_bounds
    west, south = np.clip(known.min(axis=0)[:2] - _MARGIN_M, own[:2] - _FARTHEST_M, own[:2] - _LEAST_M)
    east, north = np.clip(known.max(axis=0)[2:] + _MARGIN_M, own[2:] + _LEAST_M, own[2:] + _FARTHEST_M)
    cell = max(FINEST_M, 5.0 * np.ceil(np.sqrt((east - west) * (north - south) / MOST_CELLS) / 5.0))
    shape = int(np.ceil((north - south) / cell)), int(np.ceil((east - west) / cell))
    return float(west), float(north), float(cell), shape


def _fuels(farm: Farm, west: float, north: float, cell: float, shape: tuple[int, int]) -> Any:
    """Return the fuels met, and the grid of 1 + place in them; 0 burns not."""
    beyond_t_ha = farm.limits.value("beyond_fuel", BEYOND_T_HA)
    curing = farm.limits.value("beyond_curing", BEYOND_CURING)
    fuels: dict[Fuel, int] = {(grass_state(beyond_t_ha), curing, beyond_t_ha): 1}
    standing: Fuel = ("natural", 100.0, max(beyond_t_ha, BEYOND_T_HA))
    painted = np.ones(shape, np.uint16)
    for _, paddock in farm.paddocks.iterrows():
        load, cured = fuel(paddock)
        own: Fuel = (stubble_state(float(paddock["cut_height_m"])), cured, load)
        _paint(painted, paddock.geometry, fuels.setdefault(own, len(fuels) + 1), west, north, cell)
    areas = farm.assets[farm.assets.geom_type.isin(["Polygon", "MultiPolygon"])]
    for kinds, burns in ((("trees", "crop", "reserve"), True), (BARE_AREAS, False)):
        for area in areas.geometry[areas["kind"].isin(kinds)]:
            code = fuels.setdefault(standing, len(fuels) + 1) if burns else 0
            _paint(painted, area, code, west, north, cell)
    return list(fuels), painted


def _paint(painted: NDArray[np.uint16], area: Any, code: int, west: float, north: float, cell: float) -> None:
    """Set the cells whose middle lies in an area."""
    rows, cols = cells_in(area, west, north, cell, painted.shape)
    painted[rows, cols] = code


def cells_in(
    area: Any, west: float, north: float, cell: float, shape: tuple[int, ...]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return rows and columns of the cells whose middle lies in an area."""
    x0, y0, x1, y1 = area.bounds
    c0, c1 = max(int((x0 - west) / cell), 0), min(int((x1 - west) / cell) + 1, shape[1])
    r0, r1 = max(int((north - y1) / cell), 0), min(int((north - y0) / cell) + 1, shape[0])
    if c1 <= c0 or r1 <= r0:
        return np.zeros(0, np.intp), np.zeros(0, np.intp)
    x, y = np.meshgrid(west + (np.arange(c0, c1) + 0.5) * cell, north - (np.arange(r0, r1) + 0.5) * cell)
    shapely.prepare(area)
    rows, cols = np.nonzero(shapely.contains_xy(area, x, y))
    return rows + r0, cols + c0


def _lines(farm: Farm, painted: NDArray[np.uint16], grid: Grid, hot: Array, breaks: Breaks) -> list[Any]:
    """Take the fuel out of cells along breaks that hold; return the pieces that fail."""
    if breaks == "fail":
        return []
    roads = farm.assets[farm.assets["kind"].isin(list(LINE_WIDTH_M)) & (farm.assets.geom_type == "LineString")]
    lines = [*farm.breaks_there.geometry, *roads.geometry]
    widths = [*farm.breaks_there["width_m"], *roads["kind"].map(LINE_WIDTH_M)]
    pieces, wide = _pieces(lines, np.asarray(widths, dtype=float))
    cells = [_along(piece, grid) for piece in pieces]
    holds = np.full(len(pieces), breaks == "hold")
    if breaks == "by chance" and len(pieces):
        trees = farm.assets.geometry[farm.assets["kind"].isin(["tree", "trees"])]
        near = shapely.dwithin(pieces, trees.union_all(), TREES_NEAR_M) if len(trees) else np.zeros(len(pieces), bool)
        from scipy.ndimage import maximum_filter

        # A line meets the hottest of the fuels in its cells and next to them.
        beside = maximum_filter(hot[painted], 3)
        fire = np.array([beside[at].max(initial=0.0) for at in cells])
        # Where no accepted chance is known, nothing is accepted.
        holds = breach_chance(fire, wide, near).value <= farm.limits.value("breach_chance", 0.0)
    for at in (c for c, held in zip(cells, holds, strict=True) if held):
        painted[at] = 0
    return [piece for piece, held in zip(pieces, holds, strict=True) if not held]


def _things(farm: Farm, grid: Grid) -> Iterator[Thing]:
    """What minutes are wanted for; things stand in their cells and the ones beside: a house burns no grass."""
    west, north, cell, shape = grid
    harmed = farm.assets[~farm.assets["kind"].isin(_NO_HARM)]
    for asset, kind, name, place in zip(harmed["asset"], harmed["kind"], harmed["name"], harmed.geometry, strict=True):
        cells = cells_in(place.buffer(1.5 * cell), west, north, cell, shape)
        yield Thing("asset", asset, name or ASSET_KINDS[kind].label, kind, cells)
    land = farm.neighbours
    for neighbour, name, place in zip(land["neighbour"], land["name"], land.geometry, strict=True):
        yield Thing("neighbour", neighbour, name, "land", cells_in(place, west, north, cell, shape))


def _pieces(lines: list[Any], widths: Array) -> tuple[NDArray[np.object_], Array]:
    """Lines cut into pieces of at most _PIECE_M, and the width of each; lines without a width are no break."""
    cut, wide = [], []
    for line, width in zip(lines, widths, strict=True):
        if width > 0:
            points = shapely.get_coordinates(shapely.segmentize(line, _PIECE_M))
            cut.extend(shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1)))
            wide.extend([width] * (len(points) - 1))
    return np.array(cut, dtype=object), np.array(wide, dtype=float)


def _along(line: Any, grid: Grid) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Cells along a straight piece, side by side (4-connected), within the grid."""
    west, north, cell, shape = grid
    (xa, ya), (xb, yb) = (shapely.get_coordinates(line) - (west, north)) / (cell, -cell)
    steps = max(int(4 * max(abs(xb - xa), abs(yb - ya))), 1)
    share = np.linspace(0, 1, steps + 1)
    col, row = (np.floor(a + share * (b - a)).astype(np.intp) for a, b in ((xa, xb), (ya, yb)))
    corner = np.flatnonzero((np.diff(col) != 0) & (np.diff(row) != 0))
    row, col = np.concatenate([row, row[corner]]), np.concatenate([col, col[corner + 1]])
    on = (row >= 0) & (row < shape[0]) & (col >= 0) & (col < shape[1])
    return row[on], col[on]


def _with_slope(farm: Farm, painted: NDArray[np.uint16], grid: Grid) -> Any:
    """Return classes of fuel and slope, and per class slope (degrees), uphill (degrees) and place of its fuel."""
    west, north, cell, shape = grid
    code = painted.astype(np.int32)
    if farm.heights is not None:
        x, y = np.meshgrid(west + (np.arange(shape[1]) + 0.5) * cell, north - (np.arange(shape[0]) + 0.5) * cell)
        steep, up = farm.heights.slope_at(x, y)
        step = np.rint(steep / _SLOPE_STEP_DEG).astype(np.int32)
        toward = np.where(step > 0, np.rint(up / (360 / _UP_STEPS)).astype(np.int32) % _UP_STEPS, 0)
        code = np.where(code > 0, code + _FUELS * (toward + _UP_STEPS * step), 0)
    there = np.zeros(int(code.max()) + 1, dtype=bool)
    there[code], there[0] = True, True
    met, place = np.flatnonzero(there), np.cumsum(there) - 1
    slope, up_deg = met // _FUELS // _UP_STEPS * _SLOPE_STEP_DEG, met // _FUELS % _UP_STEPS * (360 / _UP_STEPS)
    return place[code].astype(np.uint16), slope, up_deg, np.maximum(met % _FUELS - 1, 0)
