"""The march of a fire over a grid: labels corrected cell by cell, in order of arrival. Compiled."""

import itertools
import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

# Moves to 32 neighbours, by angle.
_MOVES = sorted(
    {
        (sr * a, sc * b)
        for p, q in ((1, 0), (1, 1), (2, 1), (3, 1), (3, 2))
        for a, b in ((p, q), (q, p))
        for sr in (1, -1)
        for sc in (1, -1)
    },
    key=lambda m: math.atan2(*m),
)
_N = len(_MOVES)
_DR = np.array([m[0] for m in _MOVES])
_DC = np.array([m[1] for m in _MOVES])
_LONG = np.hypot(_DR, _DC)


def _passed(dr: int, dc: int) -> list[tuple[int, int, float]]:
    """Cells that a move from (0, 0) passes, both ends among them, and the share of it in each."""
    cuts = {0.0, 1.0}
    for d in (abs(dr), abs(dc)):
        cuts |= {(k + 0.5) / d for k in range(d)}
    at = sorted(cuts)
    found = []
    for a, b in itertools.pairwise(at):
        if b - a > 1e-9:
            mid = (a + b) / 2
            found.append((round(mid * dr), round(mid * dc), b - a))
    return found


_PASSED = [_passed(r, c) for r, c in _MOVES]
_PASS_N = np.array([len(p) for p in _PASSED])
_PASS_R, _PASS_C, _PASS_W = (
    np.array([[cell[i] for cell in p] + [0] * (_PASS_N.max() - len(p)) for p in _PASSED]) for i in range(3)
)
# Between move k and the next: side of the triangle, its height over that side, and where the foot lies from move k.
_NEXT = np.roll(np.arange(_N), -1)
_ER, _EC = _DR[_NEXT] - _DR, _DC[_NEXT] - _DC
_SIDE = np.hypot(_ER, _EC)
_HEIGHT = np.abs(_DR * _EC - _DC * _ER) / _SIDE
_FOOT = (_DR * _ER + _DC * _EC) / _SIDE

# Straight lines from a start are followed this many cells, so that the cone's tip is exact.
_TIP = 14
# Gains smaller than this share of a cell's cost are not passed on.
_WORTH = 1e-4


@njit(cache=True, nogil=True)
def march(  # pragma: no cover - compiled
    classes: Any,
    slow: Any,
    slow_r: Any,
    slow_c: Any,
    ends: Any,
    rows: Any,
    cols: Any,
    at: Any,
    horizon: float,
    relabel: bool,
) -> NDArray[np.float64]:
    """Return arrival times (rows, cols), s; tables and meaning as in fire.arrival.arrival_times."""
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
                t = _straight(classes, slow, slow_r, slow_c, ends, rows[s], cols[s], r, c, at[s])
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
        for k in range(_N):
            xr, xc = r + _DR[k], c + _DC[k]
            if xr < 0 or xc < 0 or xr >= n_r or xc >= n_c or classes[xr, xc] == 0:
                continue
            x = xr * n_c + xc
            if not relabel and (settled[x] or times[x] <= t):
                continue
            if alike[x] == 0:
                alike[x] = _alike(classes, xr, xc)
            a, b, d, ok = _cost(classes, slow, slow_r, slow_c, hour, xr, xc, k, alike[x])
            if not ok:
                continue
            best = _travel(classes, slow, slow_r, slow_c, ends, hour, t, xr, xc, k, k, 0.0, alike[x], a, b, d)
            for side in range(2):
                j = k if side == 0 else (k + _N - 1) % _N
                m = (j + 1) % _N
                other = m if side == 0 else j
                pr, pc = xr - _DR[other], xc - _DC[other]
                if pr < 0 or pc < 0 or pr >= n_r or pc >= n_c:
                    continue
                there = times[pr * n_c + pc]
                if there == np.inf:
                    continue
                a2, b2, d2 = a, b, d
                if alike[x] == 2:
                    a2, b2, d2, ok = _cost(classes, slow, slow_r, slow_c, hour, xr, xc, other, alike[x])
                    if not ok:
                        continue
                    a2, b2, d2 = (a + a2) / 2, (b + b2) / 2, (d + d2) / 2
                t1, t2 = (t, there) if side == 0 else (there, t)
                share = _between(t1, t2, j, a2, b2, d2)
                if share <= 0.0 or share >= 1.0:
                    continue
                start = (1 - share) * t1 + share * t2
                found = _travel(
                    classes, slow, slow_r, slow_c, ends, hour, start, xr, xc, j, m, share, alike[x], a2, b2, d2
                )
                best = min(best, found)
            if best < times[x] - _WORTH * a * (1.0 if times[x] < np.inf else 0.0):
                times[x] = best
                keys, cells, size = _push(keys, cells, size, best, x)
    return times.reshape(n_r, n_c)


@njit(cache=True)
def _between(t1: float, t2: float, j: int, a: float, b: float, d: float) -> float:  # pragma: no cover - compiled
    """Share of the way from move j to the next at which the cheapest move starts; outside 0 to 1 it is an end."""
    m = (j + 1) % _N
    lean = t1 - t2 - (b * (_DR[j] - _DR[m]) + d * (_DC[j] - _DC[m]))
    g = lean / (_SIDE[j] * a)
    if abs(g) >= 1.0:
        return -1.0
    return (_HEIGHT[j] * g / math.sqrt(1 - g * g) - _FOOT[j]) / _SIDE[j]


@njit(cache=True)
def _cost(  # pragma: no cover - compiled
    classes: Any, slow: Any, slow_r: Any, slow_c: Any, hour: int, xr: int, xc: int, k: int, alike: int
) -> tuple[float, float, float, bool]:
    """Cost per cell length and the wind's part along rows and columns: mean of what move k passes. False: barred."""
    if alike == 1:
        kind = classes[xr, xc]
        return slow[hour, kind], slow_r[hour, kind], slow_c[hour, kind], True
    a, b, d = 0.0, 0.0, 0.0
    for q in range(_PASS_N[k]):
        kind = classes[xr - _DR[k] + _PASS_R[k, q], xc - _DC[k] + _PASS_C[k, q]]
        if kind == 0:
            return 0.0, 0.0, 0.0, False
        w = _PASS_W[k, q]
        a += w * slow[hour, kind]
        b += w * slow_r[hour, kind]
        d += w * slow_c[hour, kind]
    return a, b, d, True


@njit(cache=True)
def _travel(  # pragma: no cover - compiled
    classes: Any, slow: Any, slow_r: Any, slow_c: Any, ends: Any, hour: int, start: float, xr: int, xc: int,
    j: int, m: int, share: float, alike: int, a: float, b: float, d: float,
) -> float:  # fmt: skip
    """Arrival at x of a move begun at `start` between moves j and m; a, b, d: its cost in `hour`, others looked up."""
    dr = (1 - share) * _DR[j] + share * _DR[m]
    dc = (1 - share) * _DC[j] + share * _DC[m]
    far = math.sqrt(dr * dr + dc * dc)
    left, now, h = 1.0, start, _hour(ends, start)
    last = len(ends) - 1
    while True:
        if h != hour:
            a, b, d, _ = _cost(classes, slow, slow_r, slow_c, h, xr, xc, j, alike)
            if m != j and alike == 2:
                a2, b2, d2, _ = _cost(classes, slow, slow_r, slow_c, h, xr, xc, m, alike)
                a, b, d = (a + a2) / 2, (b + b2) / 2, (d + d2) / 2
        whole = a * far - b * dr - d * dc
        if h == last or now + left * whole <= ends[h]:
            return now + left * whole
        left -= (ends[h] - now) / whole
        now = ends[h]
        h += 1
        hour = -1


@njit(cache=True)
def _straight(  # pragma: no cover - compiled
    classes: Any, slow: Any, slow_r: Any, slow_c: Any, ends: Any, r0: int, c0: int, r: int, c: int, start: float
) -> float:
    """Arrival along a straight line from a start; inf where it meets a cell without fuel (but for the start's own)."""
    steps = 2 * max(abs(r - r0), abs(c - c0))
    now = start
    if steps == 0:
        return now
    dr, dc = (r - r0) / steps, (c - c0) / steps
    far = math.sqrt(dr * dr + dc * dc)
    last = len(ends) - 1
    h = _hour(ends, now)
    for q in range(steps):
        qr = math.floor(r0 + (q + 0.5) * dr + 0.5)
        qc = math.floor(c0 + (q + 0.5) * dc + 0.5)
        kind = classes[qr, qc]
        if kind == 0:
            if qr == r0 and qc == c0:
                kind = classes[r, c]
            if kind == 0:
                return np.inf
        left = 1.0
        while True:
            whole = slow[h, kind] * far - slow_r[h, kind] * dr - slow_c[h, kind] * dc
            if h == last or now + left * whole <= ends[h]:
                now += left * whole
                break
            left -= (ends[h] - now) / whole
            now = ends[h]
            h += 1
    return now if classes[r, c] != 0 else np.inf


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
