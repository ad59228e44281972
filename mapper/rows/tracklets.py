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
# Half round at 2 m/s on a 5 m radius takes 8 s.
_QUICKEST_TURN_S = 8.0


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
    # Courses in and out, over three fixes.
    into = np.minimum(start + 2, end)
    out_of = np.maximum(end - 2, start)
    in_x, in_y = x[into] - x[start], y[into] - y[start]
    out_x, out_y = x[end] - x[out_of], y[end] - y[out_of]
    running: dict[int, tuple[float, int]] = {}  # when each series last was seen, and its tracklet
    count = 0
    for k in np.argsort(t_s[start], kind="stable"):
        t, px, py = t_s[start[k]], x[start[k]], y[start[k]]
        running = {s: seen for s, seen in running.items() if seen[0] > t - _SERIES_ENDS_S}
        could = []
        for s, (seen, j) in running.items():
            wait, away = t - seen, np.hypot(px - x[end[j]], py - y[end[j]])
            back = in_x[k] * out_x[j] + in_y[k] * out_y[j] < -0.5 * np.hypot(in_x[k], in_y[k]) * np.hypot(
                out_x[j], out_y[j]
            )
            # A clock that runs on while the place jumps, or the machine is round in no time, only counts fixes: where
            # the straw of a pass's last seconds fell is not in the log.
            if wait >= 0 and away <= TOP_SPEED_M_S * wait + 3 and not (back and away > 3 and wait < _QUICKEST_TURN_S):
                could.append((seen, s))
        if could:
            series[k] = max(could)[1]
        else:
            series[k], count = count, count + 1
        running[int(series[k])] = (t_s[end[k]], int(k))
    return np.repeat(series, end - start + 1)
