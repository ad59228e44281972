"""Where live rows are too near and where their fire and smoke may go, as cells of a paddock's ground."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from numba import njit
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.ground.boundary import unit
from mapper.order.wayground import CELL_M, WayGround

# Our choices: how far downwind of a live row fire and smoke count; how close to a live row a crew may pass.
RUN_M = 500.0
BESIDE_M = 0.71 * CELL_M
# Directions of the night's distribution that a way must hold under: this many sigmas either side of its mean.
SIGMAS = 2.0
_STEP_M = 4.0
# So far a crew may drive through the lee of live rows (never across one) to get clear: some ten seconds, three rows.
CLEAR_M = 40.0
# Lines nearer than this lie beside one another: the crew that lights the one stands upwind of the other.
_APART_M = 25.0
_REACH = int(RUN_M / CELL_M) + 1


@dataclass(frozen=True)
class Spread:
    """Where the wind may blow to: its mean (grid degrees) and sigma, one wind."""

    to_deg: float
    sigma_deg: float


def spots(line: shapely.LineString) -> Array:
    """Return places (n, 2) along a line, a few metres apart."""
    return np.asarray(shapely.get_coordinates(shapely.segmentize(line, _STEP_M)))


def danger_cells(ground: WayGround, live: Sequence[shapely.LineString], winds: Sequence[Spread]) -> NDArray[np.bool_]:
    """Return (cells,): True beside a live row (nearer than half a cell's diagonal), and within 500 m downwind of one
    under every direction within two sigma of a wind. What is found for a row is kept with the ground."""
    mask = np.zeros(len(ground.xy), dtype=bool)
    kinds = (None, *dict.fromkeys(_rounded(w) for w in winds))
    for line in live:
        for kind in kinds:
            key = (line, kind)
            if key not in ground.known:
                ground.known[key] = _cells_of(ground, line, kind)
            mask[ground.known[key]] = True
    return mask


def _cells_of(ground: WayGround, line: shapely.LineString, wind: Spread | None) -> NDArray[np.int64]:
    """Numbers of the cells beside a row (no wind), or in its lee."""
    mask = np.zeros(ground.shape, dtype=bool)
    places = (spots(line) - ground.xy[0]) / CELL_M
    if wind is None:
        _beside(mask, places, BESIDE_M / CELL_M)
    else:
        mark(mask, np.unique(np.rint(places).astype(np.int64), axis=0), _fan(wind))
    return np.flatnonzero(mask)


@njit(cache=True)
def _beside(mask: Any, places: Any, within: float) -> None:  # pragma: no cover - compiled
    """Set the mask (rows, columns) where a cell's middle lies within a distance of a place, all in cells."""
    rows, columns = mask.shape
    for i in range(places.shape[0]):
        x, y = int(np.rint(places[i, 0])), int(np.rint(places[i, 1]))
        for u in range(max(x - 1, 0), min(x + 2, columns)):
            for v in range(max(y - 1, 0), min(y + 2, rows)):
                if np.hypot(u - places[i, 0], v - places[i, 1]) <= within:
                    mask[v, u] = True


@njit(cache=True)
def mark(mask: Any, cells: Any, offsets: Any) -> None:  # pragma: no cover - compiled
    """Set the mask (rows, columns) at every cell (column, row) plus every offset that lies on it."""
    rows, columns = mask.shape
    for i in range(cells.shape[0]):
        for j in range(offsets.shape[0]):
            x, y = cells[i, 0] + offsets[j, 0], cells[i, 1] + offsets[j, 1]
            if 0 <= x < columns and 0 <= y < rows:
                mask[y, x] = True


def _rounded(wind: Spread) -> Spread:
    """The wind to whole degrees, to the safe side, so that few fans are made."""
    return Spread(round(wind.to_deg), 0.5 / SIGMAS + float(np.ceil(wind.sigma_deg)))


@lru_cache(maxsize=64)
def _fan(wind: Spread) -> NDArray[np.int64]:
    """Offsets (n, 2) in cells from a live one to those in its lee, widened by half a cell's diagonal."""
    steps = np.arange(-_REACH, _REACH + 1)
    cells = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    xy = cells * CELL_M
    far = np.hypot(*xy.T)
    off = np.arctan2(np.abs(xy @ unit(wind.to_deg + 90.0)), xy @ unit(wind.to_deg))
    half = np.radians(min(SIGMAS * wind.sigma_deg, 180.0))
    # How far outside the fan a cell's middle lies, across its edge.
    outside = far * np.sin(np.clip(off - half, 0.0, np.pi / 2))
    return np.ascontiguousarray(cells[(far <= RUN_M) & ((outside <= BESIDE_M) | (far <= BESIDE_M))])


def in_lee(
    above: Sequence[Array], below: Sequence[Array], wind: Spread, clear_m: float = CLEAR_M
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return pairs (m,), (m,) of numbers of lines (vertices (n, 2)): a crew on the one below would have live rows above
    it and could not get clear a cell within clear_m; lee as in danger_cells."""
    if not above or not below:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    fan = _fan(_rounded(wind))
    fan = np.ascontiguousarray(fan[np.hypot(*fan.T) * CELL_M > _APART_M])
    cells = [np.unique(np.rint(_dense(xy) / CELL_M).astype(np.int64), axis=0) for xy in (*above, *below)]
    low = np.min([c.min(axis=0) for c in cells], axis=0)
    high = np.max([c.max(axis=0) for c in cells], axis=0)
    ends = np.cumsum([0, *(len(c) for c in cells)])
    columns, rows = (int(n) for n in high - low + 1)
    hit = _lee_of(np.concatenate(cells) - low, ends, len(above), fan, columns, rows, max(int(clear_m / CELL_M) - 1, 0))
    a, b = np.nonzero(hit)
    return a, b


def _dense(xy: Array) -> Array:
    return np.asarray(shapely.get_coordinates(shapely.segmentize(shapely.LineString(xy), _STEP_M)))


@njit(cache=True)
def _lee_of(  # pragma: no cover - compiled
    cells: Any, ends: Any, count: int, fan: Any, columns: int, rows: int, deep: int
) -> Any:
    """(above, below): whether any cell of a line below lies deep in the fan of one above."""
    others = ends.shape[0] - 1 - count
    hit = np.zeros((count, others), np.bool_)
    for a in range(count):
        mask = np.zeros((rows, columns), np.bool_)
        mark(mask, cells[ends[a] : ends[a + 1]], fan)
        for b in range(others):
            for k in range(ends[count + b], ends[count + b + 1]):
                if _deep(mask, cells[k, 0], cells[k, 1], deep):
                    hit[a, b] = True
                    break
    return hit


@njit(cache=True)
def _deep(mask: Any, x: int, y: int, deep: int) -> bool:  # pragma: no cover - compiled
    """Whether a cell and those so far from it on eight sides are all set; outside the mask counts as set."""
    for dx in (-deep, 0, deep):
        for dy in (-deep, 0, deep):
            u, v = x + dx, y + dy
            if 0 <= u < mask.shape[1] and 0 <= v < mask.shape[0] and not mask[v, u]:
                return False
    return True
