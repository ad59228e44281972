"""How the air mixes: stability classes A (mixes well) to F (still and layered), and the hours when smoke lies."""

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.ranged import Array, possible
from mapper.weather.sun import HORIZON_DEG, sun_altitude

CLASSES = "ABCDEF"

# Turner's table (EPA-454/R-99-005, 6.4.1, read): rows by wind in knots, columns net radiation index 4, 3, 2, 1, 0, -1,
# -2; 1 is A, 6 and 7 are F.
_TABLE = np.array(
    [[int(c) for c in row] for row in (
        "1123467", "1223467", "1234456", "2234456", "2234445", "2334445", "3344445", "3344444", "3444444")]
)  # fmt: skip
_KNOTS_FROM = np.array([0, 2, 4, 6, 7, 8, 10, 11, 12])
_KM_H_A_KNOT = 1.852


def stability_class(wind_m_s: Any, cloud_pct: Any, sun_altitude_deg: Any, is_night: Any) -> NDArray[np.str_]:
    """Return the stability class "A".."F" of each hour by Turner's method; inputs broadcast to shape (n,).

    wind at 10 m. is_night: from 1 h before sunset to 1 h after sunrise. Source: EPA-454/R-99-005 section 6.4.1
    (table read; sun of 15 degrees or less counting 1 from memory). Forecasts do not give the cloud's base: by day more
    than 5/10 of cloud takes one step off the sun. Not known cloud counts as clear by night and as cloud by day, and not
    known wind as calm: the stiller air, which holds more smoke down.
    """
    wind, cloud, sun, night = np.broadcast_arrays(
        possible("wind", wind_m_s, 0, 90), possible("cloud", cloud_pct, 0, 100), sun_altitude_deg, is_night
    )
    dark = np.asarray(night, dtype=bool)
    cover = np.where(np.isnan(cloud), np.where(dark, 0.0, 100.0 * 0.6), cloud)
    by_day = 1 + np.digitize(np.asarray(sun, dtype=float), [15.0, 35.0, 60.0], right=True)
    by_day = np.where(cover > 50, np.maximum(by_day - 1, 1), by_day)
    radiation = np.where(dark, np.where(cover > 40, -1, -2), by_day)
    radiation = np.where(cover >= 95, 0, radiation)
    knots = np.round(np.nan_to_num(wind) * 3.6 / _KM_H_A_KNOT)
    row = np.searchsorted(_KNOTS_FROM, knots, side="right") - 1
    classes = _TABLE[row, 4 - radiation]
    return np.array(list(CLASSES))[np.minimum(classes, 6) - 1]


def still_hours(lon: float, lat: float, times: Any) -> NDArray[np.bool_]:
    """Return True from 1 h before sunset to 1 h after sunrise, when air can layer; UTC times, shape (n,)."""
    hour = pd.Timedelta(hours=1)
    stamps = pd.DatetimeIndex(pd.to_datetime(times, utc=True))
    before, after = sun_altitude(lon, lat, stamps - hour), sun_altitude(lon, lat, stamps + hour)
    return np.asarray((before < HORIZON_DEG) | (after < HORIZON_DEG))


def inversion_likely(wind_m_s: Any, cloud_pct: Any, is_night: Any) -> NDArray[np.bool_]:
    """Return True where cold air is likely to lie under warm: night, cloud up to 4/10, wind under 3 m/s.

    Source: GRDC (2022) hazardous inversions fact sheet with the Pasquill table (read), joined into one working rule.
    What is not known counts as clear and calm.
    """
    wind: Array = np.nan_to_num(np.asarray(wind_m_s, dtype=float))
    cloud: Array = np.nan_to_num(np.asarray(cloud_pct, dtype=float))
    return np.asarray(np.asarray(is_night, dtype=bool) & (cloud <= 40) & (wind < 3.0))
