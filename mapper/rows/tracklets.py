"""Fixes sorted into tracklets before anything is smoothed.

Every fix goes to the track whose predicted position is nearest; what fits none starts a new one. Interleaved machines,
jumps of the receiver and single wild fixes fall apart by themselves. Tracklets are then strung into series, each what
one machine drove.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.rows.order import TOP_SPEED_M_S

_SLOTS = 12
# A track is given up after this long without a fix.
_LOST_S = 60.0
_SHORTEST = 3
# After so long a stop the machine has emptied itself.
_SERIES_ENDS_S = 600.0


@njit(cache=True)
def _assign(t, x, y, step_s, clocked):  # type: ignore[no-untyped-def]
    n = len(t)
    label = np.full(n, -1, np.int64)
    last = np.zeros((_SLOTS, 6))  # t, x, y, vx, vy, fixes
    name = np.full(_SLOTS, -1, np.int64)
    count = 0
    for i in range(n):
        best, best_d, twin = -1, np.inf, False
        for s in range(_SLOTS):
            if name[s] < 0:
                continue
            waited = t[i] - last[s, 0]
            if waited > _LOST_S * max(1.0, step_s):
                name[s] = -1
                continue
            ex, ey = x[i] - last[s, 1], y[i] - last[s, 2]
            if waited < 1e-3:
                twin = twin or (ex * ex + ey * ey < 0.25)
                continue
            dt = waited if clocked else step_s
            v = np.hypot(last[s, 3], last[s, 4])
            if last[s, 5] < 2:
                gate = 3.0 + 8.0 * min(dt, 3 * step_s)
            elif dt <= 2.5 * step_s:
                gate = 3.0 + 0.9 * v * dt + 0.3 * min(dt, 5.0) ** 2
            else:
                gate = 3.0 + 0.25 * v * dt
            d = np.hypot(ex - last[s, 3] * dt, ey - last[s, 4] * dt)
            if d < gate and d < best_d:
                best, best_d = s, d
        if twin:
            continue
        if best < 0:
            oldest = 0
            for s in range(_SLOTS):
                if name[s] < 0:
                    oldest = s
                    break
                if last[s, 0] < last[oldest, 0]:
                    oldest = s
            name[oldest] = count
            count += 1
            last[oldest] = np.array([t[i], x[i], y[i], 0.0, 0.0, 1.0])
            label[i] = name[oldest]
            continue
        dt = t[i] - last[best, 0] if clocked else step_s
        vx, vy = (x[i] - last[best, 1]) / dt, (y[i] - last[best, 2]) / dt
        keep = 0.5 if last[best, 5] >= 2 and dt < 2.5 * step_s else 0.0
        last[best, 3] = keep * last[best, 3] + (1 - keep) * vx
        last[best, 4] = keep * last[best, 4] + (1 - keep) * vy
        last[best, 0], last[best, 1], last[best, 2] = t[i], x[i], y[i]
        last[best, 5] += 1
        label[i] = name[best]
    return label


def find_tracklets(t_s: Array, x: Array, y: Array, step_s: float, clocked: bool) -> NDArray[np.int64]:
    """Return each fix's tracklet, -1 for a fix that belongs nowhere (wild or twice there); fixes in driven order."""
    label: NDArray[np.int64] = _assign(t_s, x, y, step_s, clocked)
    size = np.bincount(label[label >= 0], minlength=1)
    label[(label >= 0) & (size[label] < _SHORTEST)] = -1
    return label


def string_series(t_s: Array, x: Array, y: Array, tracklet: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the series of each fix: tracklets one machine can have driven one after the other.

    Fixes are those kept (tracklet >= 0), sorted by tracklet, then time.
    """
    start = np.flatnonzero(np.r_[True, np.diff(tracklet) != 0])
    end = np.r_[start[1:], len(tracklet)] - 1
    series = np.empty(len(start), np.int64)
    running: dict[int, tuple[float, float, float]] = {}  # where and when each series last was
    count = 0
    for k in np.argsort(t_s[start], kind="stable"):
        t, px, py = t_s[start[k]], x[start[k]], y[start[k]]
        running = {s: seen for s, seen in running.items() if seen[0] > t - _SERIES_ENDS_S}
        # A clock that runs on while the place jumps only counts fixes: what fell after the jump is not known.
        could = [
            (seen[0], s)
            for s, seen in running.items()
            if seen[0] <= t and np.hypot(px - seen[1], py - seen[2]) <= TOP_SPEED_M_S * (t - seen[0]) + 3
        ]
        if could:
            series[k] = max(could)[1]
        else:
            series[k], count = count, count + 1
        running[int(series[k])] = (t_s[end[k]], x[end[k]], y[end[k]])
    return np.repeat(series, end - start + 1)
