"""Sunrise, sunset and the sun's height."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from mapper.farm.ranged import Array

# The sun's centre when its upper edge stands on the horizon: 34' of refraction and 16' of disc.
HORIZON_DEG = -0.833
# Where the sun grazes the horizon this slowly, degrees a minute, the library's time stays as it is.
_SLOW_DEG_MIN = 0.02


@dataclass(frozen=True)
class SunTimes:
    """Sunrise and sunset of a local day, UTC; None where the sun does not cross the horizon. day_h: its length."""

    sunrise: datetime | None
    sunset: datetime | None
    day_h: float = float("nan")


def sun_times(lon: float, lat: float, day: date, zone: str) -> SunTimes:
    """Return sunrise and sunset of a local day at a place, within half a minute on level ground.

    lon, lat in degrees; zone a name such as "Australia/Adelaide" (the day is meant in it). None where the sun does not
    cross the horizon that day. Source: the NOAA series in astral, checked against NREL's algorithm.
    """
    from astral import Observer
    from astral.sun import sunrise, sunset

    observer = Observer(latitude=lat, longitude=lon)

    def when(event: Callable[..., datetime]) -> datetime | None:
        try:
            # The local zone: asked in UTC, the library answers with the wrong day over Australia.
            first = event(observer, date=day, tzinfo=ZoneInfo(zone)).astimezone(UTC)
            return _on_the_horizon(lon, lat, first)
        except ValueError:
            return None

    rise, fall = when(sunrise), when(sunset)
    if rise is not None and fall is not None:
        return SunTimes(rise, fall, (fall - rise).total_seconds() / 3600.0 % 24.0)
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=ZoneInfo(zone))
    up = sun_altitude(lon, lat, [noon])[0] > HORIZON_DEG
    return SunTimes(rise, fall, float("nan") if rise or fall else 24.0 if up else 0.0)


def _on_the_horizon(lon: float, lat: float, at: datetime) -> datetime:
    """Move a time to where the sun stands on the horizon.

    The library takes the sun's place of the wrong hour of the day, up to two minutes off where the event falls on
    another day in UTC.
    """
    for _ in range(3):
        height, later = sun_altitude(lon, lat, [at, at + timedelta(minutes=1)])
        rate = later - height
        if abs(rate) < _SLOW_DEG_MIN:
            break
        at += timedelta(minutes=float(np.clip((HORIZON_DEG - height) / rate, -20.0, 20.0)))
    return at


def sun_altitude(lon: float, lat: float, times: Any) -> Array:
    """Return the height of the sun's centre above the horizon, degrees without refraction, at UTC times, shape (n,)."""
    stamps = pd.DatetimeIndex(pd.to_datetime(times, utc=True)).to_pydatetime()
    return np.array([_altitude(lon, lat, t) for t in stamps], dtype=float)


@lru_cache(maxsize=4096)
def _altitude(lon: float, lat: float, at: datetime) -> float:
    # Kept: hours, the hour before and the hour after are asked for in turn.
    from astral import Observer
    from astral.sun import elevation

    return elevation(Observer(latitude=lat, longitude=lon), at, with_refraction=False)
