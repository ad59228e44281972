"""The wind of the days after a burn, for those who look after the embers."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
import pandas as pd

from mapper.farm.limits import LocalLimits
from mapper.hours.stay import most_wind
from mapper.weather.wind import compass_point, gust_estimate

# Burns of the last 24 to 48 h are looked at before wind (Victorian brigade advice, read).
PATROL_H = 48


@dataclass(frozen=True)
class Patrol:
    """The wind over the patrol after a night.

    hours: the judged hours of the 48 h from midnight at the end of the burn's day, maybe none.
    strongest_km_h, gust_km_h, from_deg, strongest_at (UTC): the strongest 10-minute mean at 10 m and its hour; NaN and
    None where nothing is known. over_from: UTC, first hour over the farm's wind limit, None for none. known_to: UTC,
    where the forecast ends; complete: it reaches to the end. words: one or two sentences for paper.
    """

    hours: pd.DataFrame
    strongest_km_h: float
    gust_km_h: float
    from_deg: float
    strongest_at: datetime | None
    over_from: datetime | None
    known_to: datetime | None
    complete: bool
    words: str


def patrol(judged: pd.DataFrame, night: date, zone: str, limits: LocalLimits) -> Patrol:
    """Return the wind of the 48 h after a night, from midnight at its end. judged: all hours, of judge_hours."""
    midnight = pd.Timestamp(night.isoformat()) + timedelta(days=1)
    first = midnight.tz_localize(zone, ambiguous=True, nonexistent="shift_forward").tz_convert("UTC")
    last = first + pd.Timedelta(hours=PATROL_H)
    hours = judged[(judged["time_utc"] >= first) & (judged["time_utc"] < last)].reset_index(drop=True)
    known = hours.dropna(subset=["wind_km_h"])
    nan = float("nan")
    if known.empty:
        return Patrol(hours, nan, nan, nan, None, None, None, False, "Patrol: the wind of the next day is not known.")
    k = int(known["wind_km_h"].argmax())
    top = known.iloc[k]
    speeds = known["wind_km_h"].to_numpy()
    told = known["gust_km_h"].to_numpy()
    gusts = np.where(np.isnan(told), gust_estimate(speeds), told)
    wind, gust = float(top["wind_km_h"]), float(gusts.max())
    limit = limits.get("wind_max")
    over = known[most_wind(speeds, limit) > limit.value] if limit is not None else known.iloc[:0]
    over_from = over["time_utc"].iloc[0].to_pydatetime() if len(over) else None
    known_to = (known["time_utc"].iloc[-1] + pd.Timedelta(hours=1)).to_pydatetime()
    complete = len(known) == len(hours) and pd.Timestamp(known_to) >= last
    point = compass_point(float(top["wind_from_deg"])) if np.isfinite(top["wind_from_deg"]) else "a direction not known"
    words = (
        f"Patrol: wind up to {wind:.0f} km/h from {point} about {_when(top['time_local'])}, gusts to {gust:.0f} km/h."
    )
    if over_from is not None:
        words += f" Over your limit from {_when(over['time_local'].iloc[0])}: every row dead out before then."
    if not complete:
        words += f" The forecast knows nothing after {_when(pd.Timestamp(known_to).tz_convert(zone))}."
    from_deg = float(top["wind_from_deg"])
    at = top["time_utc"].to_pydatetime()
    return Patrol(hours, wind, gust, from_deg, at, over_from, known_to, complete, words)


def _when(local: pd.Timestamp) -> str:
    return f"{local:%a} {local:%H:%M}"
