"""Wind: height, gusts, and changes found in the hours."""

from typing import Any, Literal

import numpy as np

from mapper.farm.ranged import Array, possible
from mapper.weather.direction import DirectionSpread, chance_within, direction_spread
from mapper.weather.windchange import WindChange, compass_point, find_changes, joined_changes, turn_deg

__all__ = [
    "DirectionSpread", "WindChange", "chance_within",
    "compass_point", "direction_spread", "find_changes", "gust_estimate",
    "height_bounds", "height_factor",
    "joined_changes", "short_mean_factor", "turn_deg",
]  # fmt: skip

# Mean wind near the ground over mean wind at 10 m: neutral log profile over ground of 0.03 m roughness, and the ratio
# 0.80 between 2 and 10 m that South Australian practice implies (GFDI 28 at 2 m is about 40 at 10 m; read).
_ROUGHNESS_M = {"smooth": 0.01, "log": 0.03, "rough": 0.1}
_TRADE_EXPONENT = float(np.log(0.80) / np.log(2.0 / 10.0))
# Bureau of Meteorology: gusts are typically 40 % above the 10-minute mean (read).
GUST_FACTOR = 1.4
_GUST_MIN = 3.0 / 60.0


def height_factor(from_m: float, to_m: float, practice: Literal["log", "trade"] = "log") -> float:
    """Return the factor that turns a mean wind at from_m into one at to_m (metres above ground, 0.5 to 50).

    log: neutral profile over short stubble, roughness 0.03 m (2 m over 10 m: 0.723). trade: 0.80 for 2 m over 10 m, as
    in South Australian practice. Still night air differs by more than either: height_bounds gives the safe side.
    """
    possible("wind height", [from_m, to_m], 0.5, 50)
    if practice == "trade":
        return float((to_m / from_m) ** _TRADE_EXPONENT)
    return _log_factor(from_m, to_m, _ROUGHNESS_M["log"])


def _log_factor(from_m: float, to_m: float, roughness_m: float) -> float:
    return float(np.log(to_m / roughness_m) / np.log(from_m / roughness_m))


def height_bounds(from_m: float, to_m: float) -> tuple[float, float]:
    """Return the smallest and the largest supported factor between two heights: roughness 0.01-0.1 m, trade practice.

    2 m from 10 m: 0.651 to 0.80. Holding a forecast against a limit at another height takes the largest (the wind
    there may be that strong); bringing a reading up to 10 m takes the largest too, which is one over the smallest.
    """
    possible("wind height", [from_m, to_m], 0.5, 50)
    factors = [_log_factor(from_m, to_m, r) for r in _ROUGHNESS_M.values()]
    factors.append(height_factor(from_m, to_m, "trade"))
    return min(factors), max(factors)


def gust_estimate(wind_km_h: Any) -> Array:
    """Return gusts where the forecast gives none: 1.4 times the 10-minute mean (Bureau of Meteorology, read)."""
    return np.asarray(GUST_FACTOR * possible("wind", wind_km_h, 0, 300))


def short_mean_factor(averaging_min: float) -> float:
    """Return how much the strongest mean over averaging_min exceeds the 10-minute mean: 1.4 at 3 s, 1 from 10 min on.

    Straight in the logarithm of the time between the two (1.17 at 1 minute; Durst's curve gives 1.16, from memory).
    """
    share = np.log(10.0 / np.clip(averaging_min, _GUST_MIN, 10.0)) / np.log(10.0 / _GUST_MIN)
    return float(1.0 + (GUST_FACTOR - 1.0) * share)
