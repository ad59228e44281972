"""Where the straw fell: what was cut at one place leaves the chute a threshing delay later, at another.

A row is the way of the chute from the delay after the first cut to the delay after the last. What leaves the chute
while the machine stands is a heap. Mixing inside the machine is left out: it blurs a row's load, not its total.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.rows.path import Path

_STANDING_M_S = 0.25
_LEAST_HEAP_KG = 5.0
# Rows closer than this along the way are one row.
_SAME_ROW_M = 2.0
# Shorter or thinner than this is no row to burn.
_SHORTEST_ROW_M = 2.0
_LEAST_SHARE = 0.1


@dataclass(frozen=True)
class Dropped:
    """Rows and heaps of one machine. line: shapely LineStrings in driving direction. kg: straw in each, t_s: its start.

    guessed: share of the length not logged (bridged gaps, tails past the log's end); tail: part is such a tail.
    """

    line: NDArray[np.object_]
    kg: Array
    t_s: Array
    guessed: Array
    tail: NDArray[np.bool_]
    heap: NDArray[np.object_]
    heap_kg: Array
    thin_kg: float


@dataclass(frozen=True)
class _Way:
    """The chute's way with a tail past each end of the log; key_s: time, pushed apart for each series."""

    key_s: Array
    x: Array
    y: Array
    piece: NDArray[np.int64]
    guessed: NDArray[np.bool_]
    tail: NDArray[np.bool_]
    along_m: Array
    speed_m_s: Array


@dataclass(frozen=True)
class _Runs:
    """Straw that leaves the chute in one go: start and end on the way's clock, kg, and that clock's offset."""

    start: Array
    end: Array
    kg: Array
    offset: Array


def drop_straw(
    path: Path, chute: tuple[Array, Array], kg: Array, cutting: NDArray[np.bool_], delay_s: float, usual_kg_m: float
) -> Dropped:
    """Return rows and heaps. kg: straw cut each second; cutting: seconds of a cut; usual_kg_m: a full header's load."""
    at = np.flatnonzero(cutting)
    if not len(at):
        none, no_shape = np.zeros(0), np.zeros(0, object)
        return Dropped(no_shape, none, none, none, np.zeros(0, bool), no_shape, none, 0.0)
    way, offset = _chute_way(path, chute, delay_s)
    run, start, end = _runs(path, kg, at)
    key = offset[path.series[at[np.searchsorted(run, np.arange(len(start)))]]]
    stood, heap, heap_kg = _heaps(way, path, at, kg, offset, delay_s)
    row_kg = np.bincount(run, np.where(stood, 0.0, kg[at]), minlength=len(start)).astype(float)
    runs = _merge(way, _Runs(start + key + delay_s, end + key + delay_s, row_kg, key))
    return _draw(way, runs, heap, heap_kg, usual_kg_m)


def _chute_way(path: Path, chute: tuple[Array, Array], delay_s: float) -> tuple[_Way, Array]:
    n_series = int(path.series.max()) + 1
    begin = np.searchsorted(path.series, np.arange(n_series))
    finish = np.r_[begin[1:], len(path)] - 1
    # Series stand one after the other on one clock of their own.
    lasts = path.t_s[finish] - path.t_s[begin] + 2 * delay_s + 1000
    offset = np.r_[0.0, np.cumsum(lasts)[:-1]] - path.t_s[begin]
    ends = np.flatnonzero(np.r_[path.first[1:], True])
    after = np.minimum(ends + 1, len(path) - 1)
    goes_on = (path.series[after] == path.series[ends]) & (after > ends)
    room = np.where(goes_on, path.t_s[after] - path.t_s[ends] - 0.01, np.inf)
    tail_s = np.minimum(delay_s + 1, room)
    ends, tail_s = ends[tail_s > 0.05], tail_s[tail_s > 0.05]
    x = np.insert(chute[0], ends + 1, chute[0][ends] + path.vx[ends] * tail_s)
    y = np.insert(chute[1], ends + 1, chute[1][ends] + path.vy[ends] * tail_s)
    t = path.t_s + offset[path.series]
    piece = np.insert(path.piece, ends + 1, path.piece[ends])
    tail = np.insert(np.zeros(len(path), bool), ends + 1, True)
    key = np.insert(t, ends + 1, t[ends] + tail_s)
    moved = np.where(np.diff(piece) == 0, np.hypot(np.diff(x), np.diff(y)), 1e6)
    speed = np.insert(path.speed_m_s, ends + 1, path.speed_m_s[ends])
    guessed = np.insert(path.guessed, ends + 1, True)
    return _Way(key, x, y, piece, guessed, tail, np.r_[0.0, np.cumsum(moved)], speed), offset


def _runs(path: Path, kg: Array, at: NDArray[np.int64]) -> tuple[NDArray[np.int64], Array, Array]:
    """Number the runs of cutting seconds `at`; return run of each, and the times each run began and ended to cut.

    The first and last second are cut in part: their share is their cut width against their neighbour's.
    """
    new = np.r_[True, (np.diff(at) > 1) | (path.piece[at[1:]] != path.piece[at[:-1]])]
    run = np.cumsum(new) - 1
    first = np.flatnonzero(new)
    last = np.r_[first[1:], len(at)] - 1
    step = np.maximum(path.step_m[at], 1e-3)
    rate = kg[at] / step
    with np.errstate(divide="ignore", invalid="ignore"):
        share_first = np.where(last > first, rate[first] / rate[np.minimum(first + 1, len(at) - 1)], 1.0)
        share_last = np.where(last > first, rate[last] / rate[np.maximum(last - 1, 0)], 1.0)
    share_first = np.clip(np.nan_to_num(share_first, nan=1.0), 0, 1)
    share_last = np.clip(np.nan_to_num(share_last, nan=1.0), 0, 1)
    dt = path.step_s[at]
    start = path.t_s[at[first]] - share_first * dt[first]
    end = path.t_s[at[last]] - (1 - share_last) * dt[last]
    return run, start, np.maximum(end, start + 1e-3)


def _heaps(
    way: _Way, path: Path, at: NDArray[np.int64], kg: Array, offset: Array, delay_s: float
) -> tuple[NDArray[np.bool_], NDArray[np.object_], Array]:
    fell = path.t_s[at] - path.step_s[at] / 2 + offset[path.series[at]] + delay_s
    where = np.minimum(np.searchsorted(way.key_s, fell), len(way.key_s) - 1)
    slow = way.speed_m_s < _STANDING_M_S
    stop = np.cumsum(np.r_[True, np.diff(slow.astype(int)) != 0]) - 1
    stood = slow[where]
    total = np.bincount(stop[where[stood]], kg[at[stood]], minlength=int(stop.max()) + 1)
    heaps = np.flatnonzero(total > _LEAST_HEAP_KG)
    stood &= total[stop[where]] > _LEAST_HEAP_KG
    count = np.bincount(stop, minlength=len(total))
    hx, hy = np.bincount(stop, way.x)[heaps] / count[heaps], np.bincount(stop, way.y)[heaps] / count[heaps]
    return stood, np.asarray(shapely.points(hx, hy), object), total[heaps].astype(float)


def _merge(way: _Way, runs: _Runs) -> _Runs:
    """Join runs whose straw lies on: a stop with the header up leaves no gap in the row."""
    from_m, to_m = np.interp(runs.start, way.key_s, way.along_m), np.interp(runs.end, way.key_s, way.along_m)
    first = np.flatnonzero(np.r_[True, from_m[1:] - to_m[:-1] > _SAME_ROW_M])
    last = np.r_[first[1:], len(from_m)] - 1
    return _Runs(runs.start[first], runs.end[last], np.add.reduceat(runs.kg, first).astype(float), runs.offset[first])


def _draw(way: _Way, runs: _Runs, heap: NDArray[np.object_], heap_kg: Array, usual_kg_m: float) -> Dropped:
    a, b = np.searchsorted(way.key_s, runs.start, "right"), np.searchsorted(way.key_s, runs.end, "left")
    ends = [np.interp(when, way.key_s, axis) for when in (runs.start, runs.end) for axis in (way.x, way.y)]
    moving = way.speed_m_s >= _STANDING_M_S / 2
    lines: list[object] = []
    rows: list[tuple[float, float, float, bool]] = []
    thin_kg = 0.0
    for k in range(len(runs.start)):
        inner = np.arange(a[k], b[k])
        inner = inner[moving[inner]]
        # The point of the way before the start and the one after the end say which piece and how sure.
        of = np.r_[max(a[k] - 1, 0), inner, min(b[k], len(way.piece) - 1)]
        x, y = np.r_[ends[0][k], way.x[inner], ends[2][k]], np.r_[ends[1][k], way.y[inner], ends[3][k]]
        step = np.hypot(np.diff(x), np.diff(y))
        known = way.piece[of[1:]] == way.piece[of[:-1]]
        whole = float(step[known].sum())
        if whole <= 0:
            thin_kg += runs.kg[k]
            continue
        for p in np.split(np.arange(len(x)), np.flatnonzero(~known) + 1):
            length = float(step[p[:-1]].sum())
            kg = float(runs.kg[k]) * length / whole
            if length < _SHORTEST_ROW_M or kg < _LEAST_SHARE * usual_kg_m * length:
                thin_kg += kg
                continue
            doubt = float((step[p[:-1]] * way.guessed[of[p[1:]]]).sum()) / length
            lines.append(shapely.linestrings(np.column_stack((x[p], y[p]))))
            rows.append((kg, float(runs.start[k] - runs.offset[k]), doubt, bool(way.tail[of[p[1:]]].any())))
    kg_, t_s, doubt_, tail = (np.array(column) for column in zip(*rows, strict=True)) if rows else (np.zeros(0),) * 4
    return Dropped(np.array(lines, object), kg_, t_s, doubt_, tail.astype(bool), heap, heap_kg, thin_kg)
