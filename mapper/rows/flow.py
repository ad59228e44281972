"""The yield along the way: the monitor's delay found, then grain over fresh area in a window.

The grain needs some seconds from the cutter bar to the sensor and mixes on the way. The delay is where flow follows cut
area best; over a window long against the mixing the quotient of the two is the yield. Mixing is not undone second by
second.
"""

from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.rows.path import Path

_LONGEST_LAG_S = 25
_HALF_WINDOW_S = 25
_LEAST_CORRELATION = 0.4
# Flow below this share of its usual value for this long: nothing is being cut.
_IDLE_SHARE, _IDLE_S, _MIXING_S = 0.3, 5.0, 3.0
_FOR_LAG = 100_000


class Lag(NamedTuple):
    """Delay from cut area to logged flow, whole seconds, and how well flow follows area at that delay."""

    lag_s: int
    correlation: float


def flow_lag(path: Path, area_m2: Array) -> Lag:
    """Return the delay of the logged flow; 0 s where the logger has put it right or none shows."""
    take = slice(0, _FOR_LAG)
    dt = np.maximum(path.step_s[take], 1e-3)
    rate, flow, piece = area_m2[take] / dt, path.flow_kg_s[take], path.piece[take]
    found = np.zeros(_LONGEST_LAG_S + 1)
    for lag in range(_LONGEST_LAG_S + 1):
        a, b = rate[: len(rate) - lag], flow[lag:]
        good = np.isfinite(b) & (piece[: len(rate) - lag] == piece[lag:]) & ~path.first[take][: len(rate) - lag]
        if good.sum() < 100 or np.std(a[good]) < 1e-6 or np.std(b[good]) < 1e-6:
            return Lag(0, 0.0)
        found[lag] = np.corrcoef(a[good], b[good])[0, 1]
    best = int(np.argmax(found))
    shows = found[best] > _LEAST_CORRELATION and found[best] > found[0] + 0.02
    return Lag(best, float(found[best])) if shows else Lag(0, float(found[0]))


def idle(path: Path, area_m2: Array, lag: Lag) -> NDArray[np.bool_]:
    """Return where flow says that nothing was cut although ground looked fresh: a turn, a waterway, a drive across.

    False everywhere without a logged flow. A lull that begins or ends together with the cut keeps the seconds next to
    the cut proper: grain comes up late and dies down late.
    """
    flow = shifted(path.flow_kg_s, path.piece, lag.lag_s)
    cutting = area_m2 > 0
    rate = area_m2 / np.maximum(path.step_s, 1e-3)
    usual = (flow / np.maximum(rate, 1e-6))[cutting & (flow > 0)]
    if len(usual) < 30:
        return np.zeros(len(path), bool)
    # A narrow cut gives little grain too: what counts is grain against ground.
    taps = np.ones(5) / 5
    due = np.convolve(rate, taps, "same") / np.maximum(np.convolve(cutting, taps, "same"), 0.2)
    low = cutting & (flow < _IDLE_SHARE * np.median(usual) * np.minimum(due, rate.max()))
    run = np.cumsum(np.r_[True, (np.diff(low.astype(int)) != 0) | path.first[1:]]) - 1
    first = np.flatnonzero(np.r_[True, np.diff(run) > 0])
    last = np.r_[first[1:], len(run)] - 1
    open_start = ~np.r_[False, cutting[:-1] & ~path.first[1:]][first]
    open_end = ~np.r_[cutting[1:] & ~path.first[1:], False][last]
    keep_start = np.where(open_end & ~open_start, _MIXING_S, 0.0)
    keep_end = np.where(open_start & ~open_end, _MIXING_S, 0.0)
    lasted = path.t_s[last] - path.t_s[first] + 1 - keep_start - keep_end
    into, left = path.t_s - path.t_s[first[run]], path.t_s[last[run]] - path.t_s
    return low & (lasted[run] >= _IDLE_S) & (into >= keep_start[run]) & (left >= keep_end[run])


def shifted(values: Array, piece: NDArray[np.int64], lag: int) -> Array:
    """Return values `lag` samples later, NaN past a piece's end."""
    if lag == 0:
        return values
    later = np.r_[values[lag:], np.full(lag, np.nan)]
    same = np.r_[piece[lag:], np.full(lag, -1)] == piece
    return np.where(same, later, np.nan)


def yield_along(path: Path, area_m2: Array, lag_s: int) -> Array:
    """Return grain yield (t/ha) at each second, NaN where the log says nothing.

    From flow over area within 25 s; where flow is missing, or does not agree with the logged yield within a quarter,
    from the logged yield's running median.
    """
    cutting = area_m2 > 0
    from_flow = _flow_over_area(path, area_m2, lag_s)
    logged = np.where(cutting & (path.yield_t_ha > 0), path.yield_t_ha, np.nan)
    if np.isfinite(logged).sum() < 30:
        return from_flow
    running = pd.Series(logged).rolling(2 * _HALF_WINDOW_S + 1, center=True, min_periods=5).median().to_numpy()
    typical, other = np.nanmedian(logged), np.nanmedian(from_flow) if np.isfinite(from_flow).any() else np.nan
    if np.isfinite(other) and abs(other - typical) <= 0.25 * typical:
        return np.where(np.isfinite(from_flow), from_flow, running)
    return np.where(np.isfinite(running), running, typical)


def _flow_over_area(path: Path, area_m2: Array, lag_s: int) -> Array:
    flow = shifted(path.flow_kg_s, path.piece, lag_s)
    known = np.isfinite(flow)
    if known.sum() < 30 or not np.nanmax(flow) > 0:
        return np.full(len(path), np.nan)
    grain = np.r_[0.0, np.cumsum(np.where(known, flow, 0.0) * path.step_s)]
    area = np.r_[0.0, np.cumsum(np.where(known, area_m2, 0.0))]
    begin = np.flatnonzero(path.first)
    end = np.r_[begin[1:], len(path)]
    i = np.arange(len(path))
    low = np.maximum(i - _HALF_WINDOW_S, begin[path.piece])
    high = np.minimum(i + _HALF_WINDOW_S + 1, end[path.piece])
    kg, m2 = grain[high] - grain[low], area[high] - area[low]
    with np.errstate(divide="ignore", invalid="ignore"):
        t_ha = np.where(m2 > 50, 10 * kg / m2, np.nan)
    cut = (area_m2 > 0) & np.isfinite(t_ha)
    if not cut.any():
        return np.full(len(path), np.nan)
    typical = float(np.median(t_ha[cut]))
    result: Array = np.clip(np.where(np.isfinite(t_ha), t_ha, typical), 0.0, 3 * typical)
    return result
