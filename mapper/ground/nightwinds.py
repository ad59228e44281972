"""The winds of a night, worked out once for all paddocks: the hours that are known, and the spread of each."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.fire.behaviour import behaviour
from mapper.fire.spread import State
from mapper.ground.exposure import Hour, heading_chances
from mapper.hours.verdict import Window
from mapper.weather.wind import DirectionSpread, WindChange, direction_spread

_HOUR = pd.Timedelta(hours=1)
# A change is looked at over these hours once it is sure to have come.
AFTER = pd.Timedelta(hours=3)


@dataclass(frozen=True)
class NightWinds:
    """hours: the night's hours whose wind and air are known; spreads: where the wind may blow from in each, and
    chances: of each heading (exposure.HEADINGS_DEG); changes."""

    hours: pd.DataFrame
    spreads: tuple[DirectionSpread, ...]
    chances: tuple[Array, ...]
    changes: tuple[WindChange, ...]

    def fires(self, load_t_ha: float, curing_pct: float, state: State = "grazed") -> list[Hour]:
        """Return each hour's wind and the fire it would drive in stubble that burns as such grass, on flat ground."""
        known = self.hours
        fire = behaviour(known["wind_km_h"], known["temp_c"], known["rh_pct"], curing_pct, load_t_ha, state)
        speeds = known["wind_km_h"].to_numpy()
        return [
            Hour(spread, float(speed), float(rate), float(lb), chance)
            for spread, chance, speed, rate, lb in zip(
                self.spreads, self.chances, speeds, fire.head_m_s, fire.lb, strict=True
            )
        ]

    def now(self, window: Window | None) -> NDArray[np.bool_]:
        """Return which hours touch the window; all of them where there is none, or where none does."""
        times = self.hours["time_utc"]
        if window is None:
            return np.ones(len(times), dtype=bool)
        inside = ((times > window.starts_at - _HOUR) & (times < window.ends_at + _HOUR)).to_numpy()
        return inside if inside.any() else np.ones(len(times), dtype=bool)

    def after(self, window: Window | None) -> NDArray[np.bool_]:
        """Return which hours follow the first change after the window has begun, once it is sure to have come."""
        change = first_change(self.changes, window)
        times = self.hours["time_utc"]
        if change is None:
            return np.zeros(len(times), dtype=bool)
        comes = pd.Timestamp(change.at) + pd.Timedelta(minutes=change.sigma_min)
        return np.asarray((times >= comes) & (times <= comes + AFTER))


def night_winds(
    night_hours: pd.DataFrame, changes: Sequence[WindChange], issued_at: datetime | None = None
) -> NightWinds:
    """Return the winds of a night. night_hours: table of hours/judge.py. issued_at: when the forecast was made, UTC;
    where it is not known its error counts from the night's first hour.
    """
    known = night_hours.dropna(subset=["wind_km_h", "wind_from_deg", "temp_c", "rh_pct"]).reset_index(drop=True)
    wind = night_hours
    air: Any = known["stability"] if "stability" in known else [None] * len(known)
    spreads = tuple(
        direction_spread(wind, at.to_pydatetime(), changes, issued_at, s if isinstance(s, str) and s else None)
        for at, s in zip(known["time_utc"], air, strict=True)
    )
    return NightWinds(known, spreads, tuple(heading_chances(s) for s in spreads), tuple(changes))


def first_change(changes: Sequence[WindChange], window: Window | None) -> WindChange | None:
    """Return the first change that comes after the window has begun."""
    later = [c for c in changes if window is None or c.at > window.starts_at]
    return min(later, key=lambda c: c.at) if later else None
