"""A log without a clock brought into the order it was driven: by file, point number, set, and the course logged."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array

_FAR_STEP_M = 25.0
# A sparse log's steps are a few times the distance to the next pass, a shuffled one's tens of times.
_SHUFFLED_TIMES = 10.0
# More steps back in time than this are no jumps of a clock.
_BACK_SHARE = 0.02


class Driven(NamedTuple):
    """order: rows in driven order; how: words for the report; jumps: share of steps farther than 25 m."""

    order: NDArray[np.int64]
    how: str
    jumps: float


def _jumps(x: Array, y: Array, order: NDArray[np.int64]) -> float:
    if len(order) < 2:
        return 0.0
    return float(np.mean(np.hypot(np.diff(x[order]), np.diff(y[order])) > _FAR_STEP_M))


def driven_order(
    x: Array, y: Array, point: Array | None, sets: NDArray[np.int64] | None, counter: Array | None = None
) -> Driven:
    """Return the order with the fewest jumps among the file's and those of its number columns.

    x, y in metres; point, counter: numbers a fix; sets: code of the set a fix belongs to.
    """
    index = np.arange(len(x))
    choices = [(index, "the file's order")]
    if counter is not None:
        choices.append((np.argsort(counter, kind="stable"), "in order of its counter"))
    if sets is not None:
        choices.append((np.argsort(sets, kind="stable"), "by set, within it the file's order"))
    if point is not None:
        choices.append((np.argsort(point, kind="stable"), "in order of its point numbers"))
        if sets is not None:
            choices.append((np.lexsort((point, sets)), "by set and point number"))
    scored = [Driven(order, how, _jumps(x, y, order)) for order, how in choices]
    best = min(scored, key=lambda d: d.jumps)
    # The file's order stands unless another is plainly better.
    return scored[0] if scored[0].jumps <= best.jumps + 0.002 else best


def out_of_time(x: Array, y: Array, t_s: Array) -> bool:
    """Return whether rows have to be put in order of their times: many go back, and in order the way is shorter.

    A clock that jumps a few times, or machines one after the other, keep the file's order: the row stage knows better.
    """
    if len(t_s) < 20 or np.mean(np.diff(t_s) < 0) <= _BACK_SHARE:
        return False
    order = np.argsort(t_s, kind="stable")
    ways = [float(np.nansum(np.hypot(np.diff(x[o]), np.diff(y[o])))) for o in (slice(None), order)]
    return ways[1] < ways[0]


def in_no_order(x: Array, y: Array) -> bool:
    """Return whether fixes follow each other at many times the distance to their nearest: rows shuffled or sorted."""
    from scipy.spatial import cKDTree

    if len(x) < 50:
        return False
    some = np.linspace(0, len(x) - 1, min(len(x), 5000)).astype(int)
    apart, _ = cKDTree(np.column_stack([x, y])).query(np.column_stack([x[some], y[some]]), k=2)
    step = float(np.median(np.hypot(np.diff(x), np.diff(y))))
    return step > _SHUFFLED_TIMES * max(float(np.median(np.asarray(apart)[:, 1])), 0.5)


def runs_backwards(x: Array, y: Array, heading_deg: Array | None) -> bool:
    """Return whether the logged heading is opposite to the moves on more than nine in ten (written backwards)."""
    if heading_deg is None or len(x) < 20:
        return False
    dx, dy = np.diff(x), np.diff(y)
    moved = np.hypot(dx, dy)
    good = (moved > 0.5) & (moved < _FAR_STEP_M) & np.isfinite(heading_deg[1:])
    if good.sum() < 20:
        return False
    course = np.degrees(np.arctan2(dx[good], dy[good]))
    off = np.abs((course - heading_deg[1:][good] + 180) % 360 - 180)
    return bool(np.mean(off > 120) > 0.9)


def assumed_clock(x: Array, y: Array, duration_s: Array, distance_m: Array | None, speed_m_s: Array | None) -> Array:
    """Return a steady clock from logged durations, driven order; where fixes are missing it waits for the way driven.

    distance_m: logged for each step; a step over three times that long (or 25 m) took longer than its duration.
    """
    step = np.r_[0.0, np.hypot(np.diff(x), np.diff(y))]
    usual = np.median(duration_s[duration_s > 0]) if (duration_s > 0).any() else 1.0
    lasts = np.where(np.isfinite(duration_s) & (duration_s > 0), duration_s, usual)
    expected = distance_m if distance_m is not None else np.full(len(x), np.nan)
    limit = np.where(np.isfinite(expected) & (expected > 0), np.maximum(3 * expected, 3.0), _FAR_STEP_M)
    pace = np.nanmedian(speed_m_s) if speed_m_s is not None and np.isfinite(speed_m_s).any() else 2.0
    missing = np.where(step > limit, step / max(float(pace), 0.5), 0.0)
    clock: Array = np.cumsum(np.maximum(lasts, missing)) - lasts[0]
    return clock
