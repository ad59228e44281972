"""From a log to clean fixes: ordered, wild ones gone, each with its series, smoothed."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.rows.order import order_fixes
from mapper.rows.smooth import position_noise, smooth
from mapper.rows.tracklets import find_tracklets, string_series

_FINEST_S = 0.7


@dataclass(frozen=True)
class Fixes:
    """Clean fixes of one machine, sorted by series, then time. index: place in the log."""

    index: NDArray[np.int64]
    t_s: Array
    x: Array
    y: Array
    series: NDArray[np.int64]
    tracklet: NDArray[np.int64]
    step_s: float
    clocked: bool
    noise_m: float

    def take(self, which: NDArray[np.bool_]) -> "Fixes":
        """Return only some of the fixes."""
        return replace(
            self,
            **{name: getattr(self, name)[which] for name in ("index", "t_s", "x", "y", "series", "tracklet")},
        )


def clean_fixes(track: pd.DataFrame) -> Fixes:
    """Return the clean, smoothed fixes of one machine's track (columns of farm/tracks.py, order of the file)."""
    x, y = track["x"].to_numpy(float), track["y"].to_numpy(float)
    order = order_fixes(track["t_s"].to_numpy(float), x, y, track["speed_m_s"].to_numpy(float))
    index, t, step = order.fix, order.t_s, order.step_s
    tracklet = find_tracklets(t, x[index], y[index], max(step, 1.0) if order.clocked else step, order.clocked)
    if order.clocked and (own := _own_step(t, tracklet)) > 1.5 * step:
        # Several machines under one name: each logs less often than all of them together.
        step = own
        tracklet = find_tracklets(t, x[index], y[index], max(step, 1.0), True)
    at = np.flatnonzero(tracklet >= 0)
    at = at[np.lexsort((t[at], tracklet[at]))]
    if order.clocked and step < _FINEST_S:  # 5 or 10 Hz: a harvester's way is known at 1 Hz
        at = at[np.r_[True, (np.diff(np.floor(t[at])) != 0) | (np.diff(tracklet[at]) != 0)]] if len(at) else at
        step = 1.0
    index, t, tracklet = index[at], t[at], tracklet[at]
    if not order.clocked:
        t = _own_time(t, x[index], y[index], track["speed_m_s"].to_numpy(float)[index], tracklet, step)
    if not len(index):
        none = np.zeros(0, np.int64)
        return Fixes(none, t, x[none], y[none], none, none, step, order.clocked, 0.0)
    series = string_series(t, x[index], y[index], tracklet)
    new = np.lexsort((t, series))
    fixes = Fixes(
        index[new], t[new], x[index[new]], y[index[new]], series[new], tracklet[new], step, order.clocked, 0.0
    )
    noise = position_noise(fixes.x, fixes.y, fixes.tracklet)
    fixes = fixes.take(~_wild(fixes, noise))
    sx, sy = smooth(fixes.t_s, fixes.x, fixes.y, fixes.tracklet, noise)
    return replace(fixes, x=sx, y=sy, noise_m=noise)


def _own_step(t: Array, tracklet: NDArray[np.int64]) -> float:
    """Usual interval within tracklets, seconds."""
    kept = np.flatnonzero(tracklet >= 0)
    kept = kept[np.argsort(tracklet[kept], kind="stable")]
    own = np.diff(t[kept])[np.diff(tracklet[kept]) == 0]
    return float(np.median(own)) if len(own) else 0.0


def _own_time(t: Array, x: Array, y: Array, speed: Array, tracklet: NDArray[np.int64], step: float) -> Array:
    """Time along each tracklet of a log without a clock: whole intervals, as many as distance over speed asks for."""
    moved = np.hypot(np.diff(x), np.diff(y))
    pace = np.where(speed[1:] > 0.3, speed[1:], np.nan)
    steps = np.nan_to_num(np.round(moved / (pace * step)), nan=1.0)
    steps = np.clip(steps, 1, 12)
    new = np.diff(tracklet) != 0
    # Between tracklets the file's own order tells the time.
    total = np.r_[0.0, np.cumsum(np.where(new, 0.0, steps * step))]
    start = np.flatnonzero(np.r_[True, new])
    first = np.repeat(start, np.diff(np.r_[start, len(t)]))
    return t[first] + total - total[first]


def _wild(fixes: Fixes, noise_m: float) -> NDArray[np.bool_]:
    """Fixes off their neighbours: by more than 3 m and a step anywhere, by 6 sigma where the way runs straight."""
    x, y, same = fixes.x, fixes.y, fixes.tracklet
    out = np.zeros(len(x), bool)
    if len(x) < 5:
        return out
    chord = np.hypot(x[2:] - x[:-2], y[2:] - y[:-2])
    off = np.hypot(x[1:-1] - (x[2:] + x[:-2]) / 2, y[1:-1] - (y[2:] + y[:-2]) / 2)
    out[1:-1] = (same[2:] == same[:-2]) & (off > 3 + chord / 2) & (chord < 12 * fixes.step_s)
    ux, uy = x[4:] - x[:-4], y[4:] - y[:-4]
    length = np.hypot(ux, uy)
    with np.errstate(divide="ignore", invalid="ignore"):
        side = [
            ((x[k : len(x) - 4 + k] - x[:-4]) * uy - (y[k : len(y) - 4 + k] - y[:-4]) * ux) / length for k in (1, 2, 3)
        ]
    straight = np.maximum(np.abs(side[0]), np.abs(side[2])) < max(0.15, 3 * noise_m)
    out[2:-2] |= (same[4:] == same[:-4]) & (length > 2) & straight & (side[1] > max(0.5, 6 * noise_m))
    return out
