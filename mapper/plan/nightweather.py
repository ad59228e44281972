"""All that is said of a night's weather beside its hours: rows, readings, stop winds, patrol, the nights to come."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
import pandas as pd

from mapper.farm.farm import Farm
from mapper.farm.notes import Remark
from mapper.fire.stubble import stubble_state
from mapper.hours.coming import NightToCome, nights_to_come
from mapper.hours.fourways import FourWays, four_ways
from mapper.hours.fuel import Fuel
from mapper.hours.patrol import Patrol, patrol
from mapper.hours.rowstate import RowState, row_state
from mapper.hours.rules import OUTSIDE_HOURS
from mapper.hours.stopwind import StopWindTable, stop_wind_table
from mapper.hours.verdict import Window
from mapper.plan.request import NightRequest
from mapper.weather.readings import against_forecast
from mapper.weather.wind import find_changes, joined_changes

# The evening where there is no window: whether rows are dry is told for this local hour.
_EVENING_H = 18


@dataclass(frozen=True)
class NightWeather:
    """What paper and screen say of the weather of a night.

    issue: the forecast used, in words ("north.json, issued 17 Apr 18:00"); others: the issues kept beside it.
    rows: are they dry at the first lighting (18:00 where there is no window), and until when to wait.
    four: what each judgement allows, and where they quarrel. coming: every night the forecast reaches.
    patrol: the wind of the 48 h after. stop_winds: a printable table for each index limit, at the limit's own height;
    for a meter at 2 m: stop_wind_table(limit, meter_height_m=2.0).
    readings: of the meter beside the forecast (weather/readings.against_forecast); empty where there are none.
    """

    issue: str
    others: tuple[str, ...]
    rows: RowState
    four: FourWays
    coming: tuple[NightToCome, ...]
    patrol: Patrol
    stop_winds: tuple[StopWindTable, ...]
    readings: pd.DataFrame


def fuel_of(farm: Farm) -> Fuel:
    """Return the fuel the hours are judged for: fully cured stubble as the trade's tables, and the last soaking.

    The fire behaviour index minds how the stubble stands: the farm's highest cut counts, and one not known as standing.
    """
    heights = farm.paddocks["cut_height_m"].to_numpy(dtype=float)
    state = stubble_state(float(heights.max())) if len(heights) else "grazed"
    return Fuel(state=state, last_soak=farm.last_soak)


def night_weather(
    farm: Farm,
    request: NightRequest,
    judged: pd.DataFrame,
    night: pd.DataFrame,
    open_: Sequence[Window],
) -> NightWeather | None:
    """Return what is said of the night's weather, None without a forecast. judged: all hours; night: this night's."""
    issue = farm.issue
    if issue is None or judged.empty:
        return None
    changes = joined_changes(find_changes(issue.table), request.typed_changes)
    indices = [found for k in ("index_max", "index_stop") if (found := farm.limits.get(k)) is not None]
    fuel = fuel_of(farm)
    return NightWeather(
        issue=issue.words(farm.zone),
        others=tuple(i.words(farm.zone) for i in farm.forecasts if i.table is not issue.table),
        rows=row_state(judged, _moment(farm, request, open_), farm.limits, fuel),
        four=four_ways(night),
        coming=nights_to_come(judged, farm.zone, farm.limits, changes, farm.row_burn.burnout_min),
        patrol=patrol(judged, request.night, farm.zone, farm.limits),
        stop_winds=tuple(stop_wind_table(limit, fuel) for limit in indices),
        readings=_beside(farm, issue.table),
    )


def weather_words(weather: NightWeather | None, night: pd.DataFrame, open_: Sequence[Window]) -> tuple[Remark, ...]:
    """Return what of it wants eyes: readings off the forecast, wet rows, wind after the burn, a quarrel, figures past
    their equations' range."""
    if weather is None:
        return ()
    said = []
    past = _past_range(night, open_)
    if past:
        said.append(f"Past the range its equation was made for, taken on the safe side: {past}.")
    nearest = "" if open_ else _nearest(night)
    if nearest:
        said.append(nearest)
    if weather.rows.state != "dry":
        said.append(weather.rows.words)
    if len(weather.readings):
        last = weather.readings.iloc[-1]
        if bool(last["differs"]):
            said.append(f"The last reading differs from the forecast. {last['words']}")
    if open_ and (weather.patrol.over_from is not None or not weather.patrol.complete):
        said.append(weather.patrol.words)
    said.extend(weather.four.quarrel)
    return tuple(Remark("evening", "look", text) for text in said)


def _nearest(night: pd.DataFrame) -> str:
    """Say what the hour that misses fewest limits still misses, so that nobody has to look for why none is open."""
    allowed = night[~night["why"].str.contains(OUTSIDE_HOURS, regex=False) & (night["why"] != "")]
    if allowed.empty:
        return ""
    hour = allowed.iloc[int(allowed["why"].str.count("; ").to_numpy().argmin())]
    return f"The hour that misses least is {hour['time_local']:%H:%M}: {hour['why']}."


def _past_range(night: pd.DataFrame, open_: Sequence[Window]) -> str:
    """Names of what was used past its range in an hour that lies in a window."""
    begins, ends = night["time_utc"], night["time_utc"] + pd.Timedelta(hours=1)
    inside = [(ends > w.starts_at) & (begins <= w.ends_at) for w in open_]
    if not inside:
        return ""
    named = night.loc[np.logical_or.reduce(inside), "outside"].str.split("; ").explode()
    return ", ".join(n for n in dict.fromkeys(named) if n)


def _moment(farm: Farm, request: NightRequest, open_: Sequence[Window]) -> datetime:
    if open_:
        return open_[0].starts_at
    evening = pd.Timestamp(request.night.isoformat()) + timedelta(hours=_EVENING_H)
    return evening.tz_localize(farm.zone).tz_convert("UTC").to_pydatetime()


def _beside(farm: Farm, forecast: pd.DataFrame) -> pd.DataFrame:
    if farm.readings is None or farm.readings.empty:
        return pd.DataFrame({"time_utc": pd.to_datetime(np.array([]), utc=True)})
    return against_forecast(forecast, farm.readings)
