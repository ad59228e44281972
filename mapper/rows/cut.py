"""Freshly cut ground: the area each second of harvest took, from a raster walked in time order over all machines."""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.ranged import Array

CELL_M = 0.5
_MOST_CELLS = 60_000_000
# The raster lies askew to the passes, so that its steps average out along a pass.
_SKEW_DEG = 27.0
UP, DOWN, PERHAPS, OPENING = 0, 1, 2, 3
LEAST_CUT_M = 1.0


@njit(cache=True)
def _fill(ring_x, ring_y, ring_of, cells):  # type: ignore[no-untyped-def]
    """Mark cells whose centres lie inside the rings (even-odd); rings in cells, ring_of names the ring of a vertex."""
    rows, cols = cells.shape
    crossings = np.empty(len(ring_x) + 1)
    for r in range(rows):
        yc, k = r + 0.5, 0
        for i in range(len(ring_x) - 1):
            if ring_of[i] != ring_of[i + 1]:
                continue
            y0, y1 = ring_y[i], ring_y[i + 1]
            if (y0 <= yc) != (y1 <= yc):
                crossings[k] = ring_x[i] + (yc - y0) / (y1 - y0) * (ring_x[i + 1] - ring_x[i])
                k += 1
        order = np.sort(crossings[:k])
        for j in range(0, k - 1, 2):
            a, b = int(np.ceil(order[j] - 0.5)), int(np.ceil(order[j + 1] - 0.5))
            cells[r, max(a, 0) : max(min(b, cols), 0)] = 1


@njit(cache=True)
def _strip(cells, qx, qy, clear):  # type: ignore[no-untyped-def]
    """Standing cells with centres in the strip of four corners; cleared where asked."""
    rows, cols = cells.shape
    r0, r1 = max(int(np.ceil(qy.min() - 0.5)), 0), min(int(np.ceil(qy.max() - 0.5)), rows)
    found = 0
    for r in range(r0, r1):
        yc, low, high = r + 0.5, np.inf, -np.inf
        for i in range(4):
            j = (i + 1) % 4
            if (qy[i] <= yc) != (qy[j] <= yc):
                cross = qx[i] + (yc - qy[i]) / (qy[j] - qy[i]) * (qx[j] - qx[i])
                low, high = min(low, cross), max(high, cross)
        if low > high:
            continue
        for c in range(max(int(np.ceil(low - 0.5)), 0), min(int(np.ceil(high - 0.5)), cols)):
            if cells[r, c]:
                found += 1
                if clear:
                    cells[r, c] = 0
    return found


@njit(cache=True)
def _scan(cells, lx, ly, rx, ry, before, order, state, enough):  # type: ignore[no-untyped-def]
    n = len(order)
    found = np.zeros(len(lx), np.int64)
    qx, qy = np.empty(4), np.empty(4)
    opened = np.zeros(len(lx), np.int8)  # opening seconds: 1 crop's edge lies inside, 2 it does not
    for k in range(n):
        i = order[k]
        p = before[i]
        if state[i] == UP or p < 0:
            continue
        qx[0], qx[1], qx[2], qx[3] = lx[p], rx[p], rx[i], lx[i]
        qy[0], qy[1], qy[2], qy[3] = ly[p], ry[p], ry[i], ly[i]
        if state[i] == DOWN:
            found[i] = _strip(cells, qx, qy, True)
            continue
        fresh = _strip(cells, qx, qy, False)
        if state[i] == OPENING:
            if opened[p] == 0:
                opened[i] = 1 if fresh < enough[i] else 2
            else:
                opened[i] = opened[p]
            if opened[i] == 2:
                continue
        if fresh >= enough[i]:
            found[i] = _strip(cells, qx, qy, True)
    return found


@dataclass(frozen=True)
class Swath:
    """Header ends before and after each second, in time order over all machines; `before` is -1 at a piece's first."""

    left_x: Array
    left_y: Array
    right_x: Array
    right_y: Array
    before: NDArray[np.int64]
    order: NDArray[np.int64]
    step_m: Array


def fresh_area(swath: Swath, state: NDArray[np.int8], mask: BaseGeometry | None, row_heading_deg: float) -> Array:
    """Return the fresh area (m2) each second cut.

    state: UP never cuts, DOWN cuts what stands, PERHAPS cuts where at least 1 m of width stands, OPENING (just before
    the flag goes down) also only where the crop's edge lies among the opening seconds. mask: paddock, or None where
    everything may stand. row_heading_deg: usual heading of the passes, from grid north.
    """
    turn = np.radians(row_heading_deg + _SKEW_DEG)
    cos, sin = np.cos(turn), np.sin(turn)
    lu, lv = cos * swath.left_x - sin * swath.left_y, sin * swath.left_x + cos * swath.left_y
    ru, rv = cos * swath.right_x - sin * swath.right_y, sin * swath.right_x + cos * swath.right_y
    u0, v0 = min(lu.min(), ru.min()) - 1, min(lv.min(), rv.min()) - 1
    u1, v1 = max(lu.max(), ru.max()) + 1, max(lv.max(), rv.max()) + 1
    rings: list[tuple[Array, Array]] = []
    if mask is not None:
        rings = [(cos * c[:, 0] - sin * c[:, 1], sin * c[:, 0] + cos * c[:, 1]) for c in _rings(mask)]
        u0, u1 = max(u0, min(r[0].min() for r in rings)), min(u1, max(r[0].max() for r in rings))
        v0, v1 = max(v0, min(r[1].min() for r in rings)), min(v1, max(r[1].max() for r in rings))
    if u1 <= u0 or v1 <= v0:
        return np.zeros(len(state))
    cell = max(CELL_M, float(np.sqrt((u1 - u0) * (v1 - v0) / _MOST_CELLS)))
    shape = int((v1 - v0) / cell) + 1, int((u1 - u0) / cell) + 1
    cells = np.zeros(shape, np.uint8) if rings else np.ones(shape, np.uint8)
    if rings:
        name = np.repeat(np.arange(len(rings)), [len(r[0]) for r in rings])
        _fill(
            np.concatenate([(r[0] - u0) / cell for r in rings]),
            np.concatenate([(r[1] - v0) / cell for r in rings]),
            name,
            cells,
        )
    enough = LEAST_CUT_M * swath.step_m / cell**2
    found = _scan(
        cells,
        (lu - u0) / cell,
        (lv - v0) / cell,
        (ru - u0) / cell,
        (rv - v0) / cell,
        swath.before,
        swath.order,
        state,
        enough,
    )
    area: Array = found * cell**2
    return area


def _rings(shape: BaseGeometry) -> list[Array]:
    parts = getattr(shape, "geoms", [shape])
    return [np.asarray(ring.coords) for part in parts for ring in (part.exterior, *part.interiors)]
