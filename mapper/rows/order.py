"""A log's fixes put in the order they were driven, on a clock that only runs forward."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array

# Faster than a harvester moves with its header near the ground.
TOP_SPEED_M_S = 6.0
# Taken where a log knows neither clock nor speed: common practice, no source.
USUAL_SPEED_M_S = 2.0


class Order(NamedTuple):
    """fix: the log's fixes in driven order; t_s: their times; step_s: usual interval; clocked: ordered by a clock."""

    fix: NDArray[np.int64]
    t_s: Array
    step_s: float
    clocked: bool


def order_fixes(t_s: Array, x: Array, y: Array, speed_m_s: Array) -> Order:
    """Return the driven order of one machine's fixes; arrays of one length, metres and seconds, NaN unknown.

    With a clock the file's order is kept where the clock only jumped, and the clock decides where rows are shuffled.
    Without one the file's order stands and the interval comes from distance and speed (2 m/s where speed is missing).
    """
    index = np.arange(len(x))
    timed = np.isfinite(t_s)
    if timed.mean() < 0.5 or np.ptp(t_s[timed]) <= 0:
        step = _usual_step(x, y, speed_m_s)
        return Order(index, (index * step).astype(np.float64), step, False)
    index = index[timed]
    t: Array = t_s[timed].astype(np.float64)
    dt = np.diff(t)
    ahead = dt[dt > 1e-3]
    if np.mean(dt < 0) > 0.02:
        new = np.argsort(t, kind="stable")
        gaps = np.diff(t[new])
        return Order(index[new], t[new], _median(gaps[gaps > 1e-3]), True)
    step = _median(ahead)
    t = _undo_jumps(t, np.hypot(np.diff(x[timed]), np.diff(y[timed])), step)
    new = np.argsort(t, kind="stable")
    return Order(index[new], t[new], step, True)


def _median(values: Any) -> float:
    return float(np.median(values)) if len(values) else 1.0


def _usual_step(x: Array, y: Array, speed: Array) -> float:
    moved = np.hypot(np.diff(x), np.diff(y))
    pace = (speed[1:] + speed[:-1]) / 2
    good = (pace > 0.5) & (moved > 0.2) & (moved < 60)
    if good.sum() > 10:
        return float(np.clip(np.median(moved[good] / pace[good]), 0.1, 30))
    far = moved[(moved > 0.2) & (moved < 60)]
    return float(np.clip(np.median(far) / USUAL_SPEED_M_S, 0.1, 30)) if len(far) > 10 else 1.0


def _undo_jumps(t: Array, moved: Array, step: float) -> Array:
    """Take out the clock's jumps: the machine moved one step while the clock moved back, or far ahead."""
    dt = np.diff(t)
    near = moved <= TOP_SPEED_M_S * 2 * step + 3
    before = np.r_[np.inf, moved[:-1]]
    after = np.r_[moved[1:], np.inf]
    usual = (before > 0.5 * step) & (np.abs(moved - before) < 0.3 * before) & (np.abs(after - before) < 0.3 * before)
    ahead = (dt > max(4 * step, 5.0)) & usual
    back = dt < 0
    shift, total = np.zeros(len(t)), 0.0
    for i in np.flatnonzero(back | ahead):
        # A step back to somewhere else is another file, with a clock of its own.
        total = total + step - dt[i] if near[i] else 0.0
        shift[i + 1 :] = total
    return t + shift
