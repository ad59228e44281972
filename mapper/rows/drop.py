"""Where the straw fell: what was cut at one place leaves the chute a threshing delay later, at another.

Inside the machine straw waits a dead time and mixes in a first-order drum (the usual model of a combine's transport,
e.g. Searcy et al. 1989, Trans. ASAE 32:376, for grain; from memory): delay = dead time + mixing. A row is the way of
the chute while over a tenth of a full header's straw leaves it. What leaves it while the machine stands is a heap.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numba import njit
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

    guessed: share of the length not logged (bridged gaps, tails past the log's end); tail: part is such a tail. fallen:
    for each row the distances (m) of its points along it and the straw (kg) dropped up to each.
    """

    line: NDArray[np.object_]
    kg: Array
    t_s: Array
    guessed: Array
    tail: NDArray[np.bool_]
    fallen: list[tuple[Array, Array]]
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
    """Straw that leaves the chute in one go: start and end on the way's clock, and that clock's offset."""

    start: Array
    end: Array
    offset: Array


def drop_straw(
    path: Path,
    chute: tuple[Array, Array],
    kg: Array,
    cutting: NDArray[np.bool_],
    delay_s: float,
    usual_kg_m: float,
    mixing_s: float = 0.0,
) -> Dropped:
    """Return rows and heaps.

    kg: straw cut each second; cutting: seconds of a cut; usual_kg_m: a full header's load; delay_s: mean time from
    cut to chute, of which the straw mixes for mixing_s.
    """
    at = np.flatnonzero(cutting)
    if not len(at):
        none, no_shape = np.zeros(0), np.zeros(0, object)
        return Dropped(no_shape, none, none, none, np.zeros(0, bool), [], no_shape, none, 0.0)
    mixing_s = min(mixing_s, delay_s)
    way, offset = _chute_way(path, chute, delay_s + 2 * mixing_s)
    first, start, end = _runs(path, kg, at)
    key = offset[path.series[at]]
    out_kg = _leaving(way, kg[at], start + key, end + key, delay_s - mixing_s, mixing_s)
    row_kg, heap, heap_kg = _heaps(way, out_kg)
    last = np.r_[first[1:], len(at)] - 1
    usual = np.maximum(usual_kg_m * path.speed_m_s[at], 1e-9)
    late = [_crossing(kg[at], end - start, usual, k, step, mixing_s) for k, step in ((first, 1), (last, -1))]
    dead = key[first] + delay_s - mixing_s
    runs = _merge(way, _Runs(start[first] + dead + late[0], end[last] + dead + late[1], key[first]))
    # What is still inside at the log's end falls as well.
    row_kg[-1] += kg[at].sum() - out_kg[-1]
    return _draw(way, runs, row_kg, heap, heap_kg, usual_kg_m)


@njit(cache=True)
def _mixed(key_s, fed, mixing_s):  # type: ignore[no-untyped-def]
    """First-order lag of a total that grows in straight lines between samples."""
    out = np.empty(len(fed))
    out[0] = fed[0]
    for i in range(1, len(fed)):
        h = max(key_s[i] - key_s[i - 1], 1e-9)
        slope = (fed[i] - fed[i - 1]) / h
        fade = np.exp(-h / mixing_s)
        out[i] = fed[i] - slope * mixing_s * (1 - fade) - (fed[i - 1] - out[i - 1]) * fade
    return out


def _leaving(way: _Way, kg: Array, start: Array, end: Array, dead_s: float, mixing_s: float) -> Array:
    """Straw (kg) that leaves the chute up to each sample of the way."""
    total = np.r_[0.0, np.cumsum(kg)]
    times = np.column_stack((start, end)).ravel()
    fed = np.interp(way.key_s - dead_s, np.maximum.accumulate(times), np.column_stack((total[:-1], total[1:])).ravel())
    out: Array = _mixed(way.key_s, fed, mixing_s) if mixing_s > 0 else fed
    return out


def _crossing(kg: Array, lasts_s: Array, usual_kg_s: Array, k: NDArray[np.int64], step: int, mixing_s: float) -> Array:
    """Seconds after the dead time until a run's straw passes a tenth of the usual: rising (step 1), falling (-1)."""
    inner = np.clip(k + step, 0, len(kg) - 1)
    rate = np.maximum(kg[k] / np.maximum(lasts_s[k], 0.2), kg[inner] / np.maximum(lasts_s[inner], 0.2))
    share = np.clip(_LEAST_SHARE * usual_kg_s[k] / np.maximum(rate, 1e-9), 1e-3, 0.9)
    result: Array = mixing_s * (-np.log(1 - share) if step > 0 else -np.log(share))
    return result


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
    # Straight on: cubic turns to the next piece were tried and put 0.5 % fewer metres right.
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
    """Return where in `at` the runs of cutting seconds begin, and when each second began and ended to cut.

    The first and last second are cut in part: their share is their cut width against their neighbour's.
    """
    new = np.r_[True, (np.diff(at) > 1) | (path.piece[at[1:]] != path.piece[at[:-1]])]
    first = np.flatnonzero(new)
    last = np.r_[first[1:], len(at)] - 1
    rate = kg[at] / np.maximum(path.step_m[at], 1e-3)
    with np.errstate(divide="ignore", invalid="ignore"):
        share_first = np.where(last > first, rate[first] / rate[np.minimum(first + 1, len(at) - 1)], 1.0)
        share_last = np.where(last > first, rate[last] / rate[np.maximum(last - 1, 0)], 1.0)
    dt = path.step_s[at]
    start, end = path.t_s[at] - dt, path.t_s[at].copy()
    start[first] = end[first] - np.clip(np.nan_to_num(share_first, nan=1.0), 1e-3, 1) * dt[first]
    end[last] -= (1 - np.clip(np.nan_to_num(share_last, nan=1.0), 1e-3, 1)) * dt[last]
    return first, start, np.maximum(end, start + 1e-3)


def _heaps(way: _Way, out_kg: Array) -> tuple[Array, NDArray[np.object_], Array]:
    """Part what left the chute into rows (kg up to each sample) and heaps: what fell while the machine stood."""
    slow = way.speed_m_s < _STANDING_M_S
    stop = np.cumsum(np.r_[True, (np.diff(slow.astype(int)) != 0) | (np.diff(way.piece) != 0)]) - 1
    fell = np.diff(out_kg, prepend=0.0)
    total = np.bincount(stop, np.where(slow, fell, 0.0))
    heaps = np.flatnonzero(total > _LEAST_HEAP_KG)
    count = np.bincount(stop)
    hx, hy = np.bincount(stop, way.x)[heaps] / count[heaps], np.bincount(stop, way.y)[heaps] / count[heaps]
    on_row = np.cumsum(np.where(slow & (total[stop] > _LEAST_HEAP_KG), 0.0, fell))
    return on_row, np.asarray(shapely.points(hx, hy), object), total[heaps].astype(float)


def _merge(way: _Way, runs: _Runs) -> _Runs:
    """Join runs whose straw lies on: a stop with the header up leaves no gap in the row."""
    from_m, to_m = np.interp(runs.start, way.key_s, way.along_m), np.interp(runs.end, way.key_s, way.along_m)
    first = np.flatnonzero(np.r_[True, from_m[1:] - to_m[:-1] > _SAME_ROW_M])
    last = np.r_[first[1:], len(from_m)] - 1
    return _Runs(runs.start[first], runs.end[last], runs.offset[first])


def _draw(
    way: _Way, runs: _Runs, row_kg: Array, heap: NDArray[np.object_], heap_kg: Array, usual_kg_m: float
) -> Dropped:
    a, b = np.searchsorted(way.key_s, runs.start, "right"), np.searchsorted(way.key_s, runs.end, "left")
    columns = (way.x, way.y, row_kg)
    ends = [[np.interp(when, way.key_s, axis) for axis in columns] for when in (runs.start, runs.end)]
    # A row's straw is all that falls until the next row begins.
    total = np.diff(np.r_[0.0, ends[0][2][1:], row_kg[-1]])
    moving = way.speed_m_s >= _STANDING_M_S / 2
    lines: list[object] = []
    rows: list[tuple[float, float, float, bool]] = []
    fallen: list[tuple[Array, Array]] = []
    thin_kg = 0.0
    for k in range(len(runs.start)):
        inner = np.arange(a[k], b[k])
        inner = inner[moving[inner]]
        # The point of the way before the start and the one after the end say which piece and how sure.
        of = np.concatenate(([max(a[k] - 1, 0)], inner, [min(b[k], len(way.piece) - 1)]))
        x, y, cum = (
            np.concatenate(([s[k]], axis[inner], [e[k]])) for s, axis, e in zip(ends[0], columns, ends[1], strict=True)
        )
        step = np.hypot(np.diff(x), np.diff(y))
        known = way.piece[of[1:]] == way.piece[of[:-1]]
        pieces = np.split(np.arange(len(x)), np.flatnonzero(~known) + 1)
        fell = np.array([cum[p[-1]] - cum[p[0]] for p in pieces])
        long = np.array([step[p[:-1]].sum() for p in pieces])
        share = fell if fell.sum() > 0 else long
        if share.sum() <= 0:
            thin_kg += float(total[k])
            continue
        for p, length, kg in zip(pieces, long, share / share.sum() * total[k], strict=True):
            if length < _SHORTEST_ROW_M or kg < _LEAST_SHARE * usual_kg_m * length:
                thin_kg += float(kg)
                continue
            doubt = float((step[p[:-1]] * way.guessed[of[p[1:]]]).sum() / length)
            lines.append(shapely.linestrings(np.column_stack((x[p], y[p]))))
            rows.append((float(kg), float(runs.start[k] - runs.offset[k]), doubt, bool(way.tail[of[p[1:]]].any())))
            up_to = cum[p] - cum[p[0]]
            scale = kg / up_to[-1] if up_to[-1] > 0 else 0.0
            fallen.append((np.concatenate(([0.0], np.cumsum(step[p[:-1]]))), up_to * scale))
    kg_, t_s, doubt_, tail = (np.array(column) for column in zip(*rows, strict=True)) if rows else (np.zeros(0),) * 4
    return Dropped(np.array(lines, object), kg_, t_s, doubt_, tail.astype(bool), fallen, heap, heap_kg, thin_kg)
