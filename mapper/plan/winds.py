"""The wind that would drive an escape from a moment on: the forecast's hours, cut where a change comes."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import pandas as pd

from mapper.farm.errors import SettingError
from mapper.farm.ranged import Array
from mapper.weather.forecast import seconds
from mapper.weather.wind import WindChange, direction_spread

# A change typed by hand holds at least this long against an hour's own speed.
_HOLDS_S = 3 * 3600.0


@dataclass(frozen=True)
class Winds:
    """Arrays (n,): when each wind begins (s after the start), its speed, direction, direction's sigma, and the air."""

    starts_s: Array
    wind_km_h: Array
    from_deg: Array
    sigma_deg: Array
    temp_c: Array
    rh_pct: Array


def winds_from(
    forecast: pd.DataFrame | None, at: datetime, horizon_s: float, changes: Sequence[WindChange] = ()
) -> Winds:
    """Return the winds from `at` (UTC) to the horizon: a line of the forecast holds until the next.

    A change cuts an hour in two: its far side takes the next line. The direction is the likelier side's of
    weather/direction.py, and speed after a change is at least the change's own for three hours. Raises SettingError
    where the forecast does not cover `at` or a line says no wind or air.
    """
    known = pd.DataFrame() if forecast is None else forecast
    times = seconds(known["time_utc"]) - float(seconds(at)) if len(known) else np.zeros(0)
    if not len(times) or times[0] > 0 or times[-1] <= -3600.0:
        raise SettingError(
            "the forecast does not cover this time", f"{at:%d %b %H:%M} UTC", "Open one that does, or type the hours in"
        )
    come = np.array([float(seconds(c.at) - seconds(at)) for c in changes])
    cuts = np.unique(
        np.concatenate([[0.0], times[(times > 0) & (times < horizon_s)], come[(come > 0) & (come < horizon_s)]])
    )
    line = np.searchsorted(times, cuts, side="right") - 1
    # The line that stands for an hour was made before a change in it.
    line = np.where(np.isin(cuts, come) & ~np.isin(cuts, times), np.minimum(line + 1, len(times) - 1), line)
    wind, temp, rh = (known[c].to_numpy()[line] for c in ("wind_km_h", "temp_c", "rh_pct"))
    for when, change in zip(come, changes, strict=True):
        wind = np.where((cuts >= when) & (cuts < when + _HOLDS_S), np.fmax(wind, change.to_km_h), wind)
    minute = pd.Timedelta(minutes=1)
    spreads = [direction_spread(known, (at + pd.Timedelta(seconds=s) + minute), changes) for s in cuts]
    likely = [int(np.argmax(s.weights)) for s in spreads]
    direction = np.array([s.means_deg[k] for s, k in zip(spreads, likely, strict=True)])
    sigma = np.array([s.sigmas_deg[k] for s, k in zip(spreads, likely, strict=True)])
    if np.isnan(wind + temp + rh + direction).any() or np.isnan(known["wind_from_deg"].to_numpy()[line]).any():
        raise SettingError("an hour of the forecast says no wind or air", "arrival times", "Fill the hour in")
    return Winds(cuts, wind, direction % 360, np.minimum(sigma, 90.0), temp, rh)
