"""The march of a fire over a grid: labels corrected cell by cell, in order of arrival. Compiled."""

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from mapper.fire.stencil import (
    ANGLE,
    DC,
    DR,
    EC,
    ER,
    FOOT,
    HEIGHT,
    LONG,
    PASS_C,
    PASS_N,
    PASS_R,
    PASS_W,
    SIDE,
    TURN,
    N,
)  # fmt: skip

# Straight lines from a start are followed this many cells, so that the cone's tip is exact.
_TIP = 14
# Gains smaller than this share of a cell's cost are not passed on.
_WORTH = 1e-4
# The table, (hours, n, 12): cost of a cell's length and the wind's part of it along rows and columns, of the ellipse in
# the wind farthest left (0-2) and farthest right (3-5); cost within the fan between them (6); the fan's middle along
# rows and columns, cosine of its half angle, angle of its middle, half angle (7-11).
_FAN, _MIDDLE_R, _MIDDLE_C, _COSINE, _MIDDLE, _HALF = 6, 7, 8, 9, 10, 11


@njit(cache=True, nogil=True)
def march(  # pragma: no cover - compiled
    classes: Any, table: Any, fanned: bool, ends: Any, rows: Any, cols: Any, at: Any, horizon: float, relabel: bool
) -> NDArray[np.float64]:
    """Return arrival times (rows, cols), s.

    table as above; only its first ellipse counts where not fanned, else a move costs the least of all three. ends
    (hours,): when each wind ends. Others as in fire.arrival.arrival_times.
    """
    n_r, n_c = classes.shape
    times = np.full(n_r * n_c, np.inf)
    settled = np.zeros(n_r * n_c, np.uint8)
    alike = np.zeros(n_r * n_c, np.uint8)
    keys = np.empty(4096)
    cells = np.empty(4096, np.int64)
    size = 0
    for s in range(len(rows)):
        for r in range(max(0, rows[s] - _TIP), min(n_r, rows[s] + _TIP + 1)):
            for c in range(max(0, cols[s] - _TIP), min(n_c, cols[s] + _TIP + 1)):
                t = _straight(classes, table, fanned, ends, rows[s], cols[s], r, c, at[s])
                if t < times[r * n_c + c]:
                    times[r * n_c + c] = t
                    keys, cells, size = _push(keys, cells, size, t, r * n_c + c)
    while size > 0:
        t, i = keys[0], cells[0]
        size = _pop(keys, cells, size)
        if t > times[i] or (settled[i] and not relabel):
            continue
        if t > horizon:
            break
        settled[i] = 1
        r, c = i // n_c, i % n_c
        hour = _hour(ends, t)
        begins = ends[hour - 1] if hour > 0 else -np.inf
        for k in range(N):
            xr, xc = r + DR[k], c + DC[k]
            if xr < 0 or xc < 0 or xr >= n_r or xc >= n_c or classes[xr, xc] == 0:
                continue
            x = xr * n_c + xc
            if not relabel and (settled[x] or times[x] <= t):
                continue
            if alike[x] == 0:
                alike[x] = _alike(classes, xr, xc)
            mixed = alike[x] == 2
            kind = classes[xr, xc]
            row = table[hour, kind]
            a0, b0, d0, a1, b1, d1, af = row[0], row[1], row[2], row[3], row[4], row[5], row[_FAN]
            if mixed:
                a0, b0, d0, a1, b1, d1, af = _mean(classes, table, hour, xr, xc, k)
                if a0 < 0.0:
                    continue
            whole = _least(
                a0, b0, d0, a1, b1, d1, af, fanned, row[_MIDDLE_R], row[_MIDDLE_C], row[_COSINE],
                DR[k], DC[k], LONG[k],
            )  # fmt: skip
            best = t + whole
            if best > ends[hour]:
                best = _travel(classes, table, fanned, ends, t, xr, xc, k, k, 0.0, mixed)
            for side in range(2):
                j = k if side == 0 else (k + N - 1) % N
                m = (j + 1) % N
                other = m if side == 0 else j
                pr, pc = xr - DR[other], xc - DC[other]
                if pr < 0 or pc < 0 or pr >= n_r or pc >= n_c:
                    continue
                there = times[pr * n_c + pc]
                if there == np.inf or min(t, there) >= best:
                    continue
                a2, b2, d2, a3, b3, d3, ag = a0, b0, d0, a1, b1, d1, af
                if mixed:
                    a2, b2, d2, a3, b3, d3, ag = _mean(classes, table, hour, xr, xc, other)
                    if a2 < 0.0:
                        continue
                    a2, b2, d2, ag = (a0 + a2) / 2, (b0 + b2) / 2, (d0 + d2) / 2, (af + ag) / 2
                    a3, b3, d3 = (a1 + a3) / 2, (b1 + b3) / 2, (d1 + d3) / 2
                t1, t2 = (t, there) if side == 0 else (there, t)
                for w in range(3 if fanned else 1):
                    if w == 0:
                        share = _between(t1, t2, j, a2, b2, d2)
                    elif w == 1:
                        share = _between(t1, t2, j, a3, b3, d3)
                    else:
                        share = _in_fan(row[_MIDDLE], row[_HALF], j, _between(t1, t2, j, ag, 0.0, 0.0))
                    if share <= 0.0 or share >= 1.0:
                        continue
                    start = (1 - share) * t1 + share * t2
                    dr, dc = (1 - share) * DR[j] + share * DR[m], (1 - share) * DC[j] + share * DC[m]
                    found = start + _least(
                        a2, b2, d2, a3, b3, d3, ag, fanned, row[_MIDDLE_R], row[_MIDDLE_C], row[_COSINE],
                        dr, dc, math.sqrt(dr * dr + dc * dc),
                    )  # fmt: skip
                    if start < begins or found > ends[hour]:
                        found = _travel(classes, table, fanned, ends, start, xr, xc, j, m, share, mixed)
                    best = min(best, found)
            if best < times[x] - (_WORTH * a0 if times[x] < np.inf else 0.0):
                times[x] = best
                keys, cells, size = _push(keys, cells, size, best, x)
    return times.reshape(n_r, n_c)


@njit(cache=True)
def _between(t1: float, t2: float, j: int, a: float, b: float, d: float) -> float:  # pragma: no cover - compiled
    """Share of the way from move j to the next at which the cheapest move starts; outside 0 to 1 it is an end."""
    g = (t1 - t2 + b * ER[j] + d * EC[j]) / (SIDE[j] * a)
    if g >= 1.0:
        return 2.0
    if g <= -1.0:
        return -1.0
    return (HEIGHT[j] * g / math.sqrt(1 - g * g) - FOOT[j]) / SIDE[j]


@njit(cache=True)
def _in_fan(middle: float, half: float, j: int, share: float) -> float:  # pragma: no cover - compiled
    """The share moved into the part of the triangle that the fan covers; -1 where it covers none."""
    first = (ANGLE[j] - middle + math.pi) % (2 * math.pi) - math.pi
    low, high = max(first, -half), min(first + TURN[j], half)
    if low > high:
        return -1.0
    return min(max(share, _share_at(j, low - first)), _share_at(j, high - first))


@njit(cache=True)
def _share_at(j: int, turn: float) -> float:  # pragma: no cover - compiled
    """Share of the way from move j to the next at which a move lies turned so far from j."""
    if turn <= 0.0:
        return 0.0
    if turn >= TURN[j]:
        return 1.0
    r, c = math.sin(ANGLE[j] + turn), math.cos(ANGLE[j] + turn)
    return -(DR[j] * c - DC[j] * r) / (ER[j] * c - EC[j] * r)


@njit(cache=True)
def _least(  # pragma: no cover - compiled
    a0: float, b0: float, d0: float, a1: float, b1: float, d1: float, af: float, fanned: bool,
    middle_r: float, middle_c: float, cosine: float, dr: float, dc: float, far: float,
) -> float:  # fmt: skip
    """Cost of a move (dr, dc): of the one ellipse, or the least of two and of the fan where the move lies in it."""
    best = a0 * far - b0 * dr - d0 * dc
    if fanned:
        best = min(best, a1 * far - b1 * dr - d1 * dc)
        if dr * middle_r + dc * middle_c >= cosine * far - 1e-9:
            best = min(best, af * far)
    return best


@njit(cache=True)
def _mean(  # pragma: no cover - compiled
    classes: Any, table: Any, hour: int, xr: int, xc: int, k: int
) -> tuple[float, float, float, float, float, float, float]:
    """The first seven columns of the table, mean of the cells that move k to x passes; -1 where it is barred."""
    a0, b0, d0, a1, b1, d1, af = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for q in range(PASS_N[k]):
        kind = classes[xr - DR[k] + PASS_R[k, q], xc - DC[k] + PASS_C[k, q]]
        if kind == 0:
            return -1.0, b0, d0, a1, b1, d1, af
        w = PASS_W[k, q]
        a0 += w * table[hour, kind, 0]
        b0 += w * table[hour, kind, 1]
        d0 += w * table[hour, kind, 2]
        a1 += w * table[hour, kind, 3]
        b1 += w * table[hour, kind, 4]
        d1 += w * table[hour, kind, 5]
        af += w * table[hour, kind, _FAN]
    return a0, b0, d0, a1, b1, d1, af


@njit(cache=True)
def _travel(  # pragma: no cover - compiled
    classes: Any, table: Any, fanned: bool, ends: Any, start: float, xr: int, xc: int, j: int, m: int, share: float,
    mixed: bool,
) -> float:  # fmt: skip
    """Arrival at x of a move begun at `start` between moves j and m, split where the wind changes."""
    dr = (1 - share) * DR[j] + share * DR[m]
    dc = (1 - share) * DC[j] + share * DC[m]
    far = math.sqrt(dr * dr + dc * dc)
    left, now, h = 1.0, start, _hour(ends, start)
    while True:
        row = table[h, classes[xr, xc]]
        a0, b0, d0, a1, b1, d1, af = row[0], row[1], row[2], row[3], row[4], row[5], row[_FAN]
        if mixed:
            a0, b0, d0, a1, b1, d1, af = _mean(classes, table, h, xr, xc, j)
            a2, b2, d2, a3, b3, d3, ag = _mean(classes, table, h, xr, xc, m)
            a0, b0, d0, af = (a0 + a2) / 2, (b0 + b2) / 2, (d0 + d2) / 2, (af + ag) / 2
            a1, b1, d1 = (a1 + a3) / 2, (b1 + b3) / 2, (d1 + d3) / 2
        whole = _least(
            a0, b0, d0, a1, b1, d1, af, fanned, row[_MIDDLE_R], row[_MIDDLE_C], row[_COSINE], dr, dc, far
        )  # fmt: skip
        if h == len(ends) - 1 or now + left * whole <= ends[h]:
            return now + left * whole
        left -= (ends[h] - now) / whole
        now = ends[h]
        h += 1


@njit(cache=True)
def _straight(  # pragma: no cover - compiled
    classes: Any, table: Any, fanned: bool, ends: Any, r0: int, c0: int, r: int, c: int, start: float
) -> float:
    """Arrival along a straight line from a start; inf where it meets a cell without fuel (but for the start's own)."""
    steps = 2 * max(abs(r - r0), abs(c - c0))
    if steps == 0:
        return start
    if classes[r, c] == 0:
        return np.inf
    dr, dc = (r - r0) / steps, (c - c0) / steps
    far = math.sqrt(dr * dr + dc * dc)
    now, h = start, _hour(ends, start)
    for q in range(steps):
        kind = classes[math.floor(r0 + (q + 0.5) * dr + 0.5), math.floor(c0 + (q + 0.5) * dc + 0.5)]
        if kind == 0:
            if classes[r0, c0] != 0 or q >= 1:
                return np.inf
            kind = classes[r, c]
        left = 1.0
        while True:
            row = table[h, kind]
            whole = _least(
                row[0], row[1], row[2], row[3], row[4], row[5], row[_FAN], fanned,
                row[_MIDDLE_R], row[_MIDDLE_C], row[_COSINE], dr, dc, far,
            )  # fmt: skip
            if h == len(ends) - 1 or now + left * whole <= ends[h]:
                now += left * whole
                break
            left -= (ends[h] - now) / whole
            now = ends[h]
            h += 1
    return now


@njit(cache=True)
def _hour(ends: Any, t: float) -> int:  # pragma: no cover - compiled
    h = 0
    while ends[h] <= t:
        h += 1
    return h


@njit(cache=True)
def _alike(classes: Any, r: int, c: int) -> int:  # pragma: no cover - compiled
    """1 where all cells that a move to here can pass are of one class, else 2."""
    kind = classes[r, c]
    for i in range(max(0, r - 3), min(classes.shape[0], r + 4)):
        for j in range(max(0, c - 3), min(classes.shape[1], c + 4)):
            if classes[i, j] != kind:
                return 2
    return 1


@njit(cache=True)
def _push(keys: Any, cells: Any, size: int, key: float, cell: int) -> Any:  # pragma: no cover - compiled
    if size == len(keys):
        keys, cells = np.concatenate((keys, keys)), np.concatenate((cells, cells))
    i = size
    while i > 0:
        up = (i - 1) // 2
        if keys[up] <= key:
            break
        keys[i], cells[i] = keys[up], cells[up]
        i = up
    keys[i], cells[i] = key, cell
    return keys, cells, size + 1


@njit(cache=True)
def _pop(keys: Any, cells: Any, size: int) -> int:  # pragma: no cover - compiled
    size -= 1
    key, cell = keys[size], cells[size]
    i = 0
    while True:
        child = 2 * i + 1
        if child >= size:
            break
        if child + 1 < size and keys[child + 1] < keys[child]:
            child += 1
        if keys[child] >= key:
            break
        keys[i], cells[i] = keys[child], cells[child]
        i = child
    keys[i], cells[i] = key, cell
    return size
