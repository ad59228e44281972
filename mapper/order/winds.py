"""The winds that an order must hold under: one direction for each stretch of the night between turns."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import pandas as pd

from mapper.weather.wind import WindChange

# A drift by more than this within the night starts another wind. Our choice.
DRIFT_DEG = 30.0


@dataclass(frozen=True)
class SteadyWind:
    """A wind that holds from starts_at until ends_at (UTC); to_deg: where it blows to, grid degrees."""

    starts_at: datetime
    ends_at: datetime
    to_deg: float


def steady_winds(night_hours: pd.DataFrame, changes: Sequence[WindChange]) -> tuple[SteadyWind, ...]:
    """Return the night's winds in time order, end to end; the first and last reach beyond the night.

    A new one begins at every change and wherever the hourly direction has drifted more than 30 degrees from the mean so
    far. Hours without a direction are passed over; without any the result is empty.
    """
    known = night_hours.dropna(subset=["wind_from_deg"])
    if known.empty:
        return ()
    times = [t.to_pydatetime() for t in known["time_utc"]]
    borders = sorted(c.at for c in changes)
    groups: list[list[int]] = []
    for k, at in enumerate(times):
        passed = groups and any(times[k - 1] < b <= at for b in borders)
        drift = 0.0
        if groups:
            far = known["wind_from_deg"].iloc[k] - _mean(known.iloc[groups[-1]])
            drift = abs((far + 180) % 360 - 180)
        if not groups or passed or drift > DRIFT_DEG:
            groups.append([])
        groups[-1].append(k)
    starts = [_border(times, g[0], borders) for g in groups]
    begin, end = times[0] - pd.Timedelta(days=2), times[-1] + pd.Timedelta(days=2)
    return tuple(
        SteadyWind(
            begin if n == 0 else starts[n],
            end if n == len(groups) - 1 else starts[n + 1],
            (_mean(known.iloc[g]) + 180) % 360,
        )
        for n, g in enumerate(groups)
    )


def _border(times: Sequence[datetime], k: int, borders: Sequence[datetime]) -> datetime:
    """When the wind of hour k began: at the change between it and the hour before, else half-way between the two."""
    if k == 0:
        return times[0]
    between = [b for b in borders if times[k - 1] < b <= times[k]]
    return between[0] if between else times[k - 1] + (times[k] - times[k - 1]) / 2


def _mean(hours: pd.DataFrame) -> float:
    angle = np.radians(hours["wind_from_deg"].to_numpy(dtype=float))
    weight = np.maximum(hours["wind_km_h"].to_numpy(dtype=float), 0.1)
    return float(np.degrees(np.arctan2((weight * np.sin(angle)).sum(), (weight * np.cos(angle)).sum())) % 360)
