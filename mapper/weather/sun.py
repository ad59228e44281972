"""Sunrise, sunset and the sun's height."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from mapper.farm.ranged import Array

# The sun's centre when its upper edge stands on the horizon: 34' of refraction and 16' of disc.
HORIZON_DEG = -0.833


@dataclass(frozen=True)
class SunTimes:
    """Sunrise and sunset of a local day, UTC; None where the sun does not cross the horizon."""

    sunrise: datetime | None
    sunset: datetime | None


def sun_times(lon: float, lat: float, day: date, zone: str) -> SunTimes:
    """Return sunrise and sunset of a local day at a place, within two minutes on level ground.

    lon, lat in degrees; zone a name such as "Australia/Adelaide" (the day is meant in it).
    """
    from astral import Observer
    from astral.sun import sunrise, sunset

    observer = Observer(latitude=lat, longitude=lon)

    def when(event: Callable[..., datetime]) -> datetime | None:
        try:
            # The local zone: asked in UTC, the library answers with the wrong day over Australia.
            return event(observer, date=day, tzinfo=ZoneInfo(zone)).astimezone(UTC)
        except ValueError:
            return None

    return SunTimes(when(sunrise), when(sunset))


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
