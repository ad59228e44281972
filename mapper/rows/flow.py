"""The yield along the way: the monitor's delay found, then grain over fresh area in a window.

The grain needs some seconds from the cutter bar to the sensor and mixes on the way. The delay is where flow follows cut
area best; over a window long against the mixing the quotient of the two is the yield. Mixing is not undone second by
second.
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.rows.path import Path

_LONGEST_LAG_S = 25
_HALF_WINDOW_S = 25
_LEAST_CORRELATION = 0.4
# Flow below this share of its usual value for this long: nothing is being cut.
_IDLE_SHARE, _IDLE_S = 0.3, 5.0
_FOR_LAG = 300_000


def flow_lag_s(path: Path, area_m2: Array) -> int:
    """Return the delay (whole seconds) from cut area to logged flow; 0 where the logger put it right or none shows."""
    take = slice(0, _FOR_LAG)
    dt = np.maximum(path.step_s[take], 1e-3)
    rate, flow, piece = area_m2[take] / dt, path.flow_kg_s[take], path.piece[take]
    found = np.zeros(_LONGEST_LAG_S + 1)
    for lag in range(_LONGEST_LAG_S + 1):
        a, b = rate[: len(rate) - lag], flow[lag:]
        good = np.isfinite(b) & (piece[: len(rate) - lag] == piece[lag:]) & ~path.first[take][: len(rate) - lag]
        if good.sum() < 100 or np.std(a[good]) < 1e-6 or np.std(b[good]) < 1e-6:
            return 0
        found[lag] = np.corrcoef(a[good], b[good])[0, 1]
    best = int(np.argmax(found))
    return best if found[best] > _LEAST_CORRELATION and found[best] > found[0] + 0.02 else 0


def idle(path: Path, cutting: NDArray[np.bool_], lag_s: int) -> NDArray[np.bool_]:
    """Return where the flow says that nothing was cut, although ground looked fresh; needs a logged flow."""
    flow = shifted(path.flow_kg_s, path.piece, lag_s)
    usual = flow[cutting & (flow > 0)]
    if len(usual) < 30:
        return np.zeros(len(path), bool)
    low = flow < _IDLE_SHARE * np.median(usual)
    run = np.cumsum(np.r_[True, (np.diff(low.astype(int)) != 0) | path.first[1:]]) - 1
    lasted = np.bincount(run, path.step_s)
    return low & (lasted[run] >= _IDLE_S)


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
