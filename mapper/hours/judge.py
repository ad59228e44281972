"""Each forecast hour judged for burning rows: stay in row, heat, smoke, local rules, lighting, and the worst."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.limits import INDICES, LocalLimits
from mapper.farm.ranged import Array
from mapper.fire.index import index_value
from mapper.hours.fuel import Fuel, Fuels
from mapper.hours.heat import heat
from mapper.hours.lighting import lighting
from mapper.hours.reasons import ORDER, Reasons
from mapper.hours.rowstate import RowStates, row_states
from mapper.hours.rules import local_rules
from mapper.hours.smoke import smoke
from mapper.hours.stay import stay_in_row
from mapper.hours.verdict import BanCheck
from mapper.weather.forecast import FORECAST_COLUMNS, check_forecast, seconds
from mapper.weather.moisture import dead_grass_moisture, surface_moisture_range
from mapper.weather.stability import stability_class, still_hours
from mapper.weather.sun import HORIZON_DEG, sun_altitude
from mapper.weather.wind import WindChange, find_changes

PARTS = ("stay_in_row", "heat", "smoke", "local_rules", "lighting")
BURNOUT_MIN = 20.0


def judge_hours(
    forecast: pd.DataFrame,
    lon: float,
    lat: float,
    zone: str,
    limits: LocalLimits,
    ban: BanCheck | None = None,
    fuel: Fuel | None = None,
    changes: tuple[WindChange, ...] | None = None,
    burnout_min: float = BURNOUT_MIN,
    issued_at: datetime | None = None,
) -> pd.DataFrame:
    """Return the forecast's hours with their danger indices, air, and verdicts with all reasons.

    Columns: time_utc, time_local, the weather, moisture_pct (row surface) with moisture_low_pct and moisture_high_pct,
    row_state ("dry", "surface damp", "soaked", "not known"), gfdi_mk3, gfdi_mk4, gfdi_mk5, fbi (wind at 10 m),
    stability, is_night (sun down), still (from 1 h before sunset to 1 h after sunrise), lead_h (hours since the
    forecast was issued, from its first hour where issued_at is not given), outside (figures used past their range, ""
    for none). For each of stay_in_row, heat, smoke, local_rules, lighting a verdict "go", "caution" or "no-go" and
    `<name>_why`; verdict is the worst, why says all, reason is one sentence: the worst reason with its margin, or for a
    go the nearest limit.

    The first four speak of the hour itself. lighting looks on: fire must stay in the row until what is lit in the hour
    has burnt out (burnout_min) with spare time, and a wind change less two sigma must lie beyond that.

    A line stands for the hour that begins at its time. Unknown weather is no-go, unknown limits and bans are caution.
    changes: wind changes; found in the forecast where not given. Raises LayerError for a table that breaks its
    contract.
    """
    check_forecast(forecast)
    fuel = fuel or Fuel()
    hours = _with_air(forecast, lon, lat, zone, fuel)
    start = forecast["time_utc"].iloc[0] if issued_at is None else pd.Timestamp(issued_at)
    hours["lead_h"] = np.maximum(seconds(hours["time_utc"]) - start.timestamp(), 0.0) / 3600.0
    parts, rows = _parts(hours, limits, ban, Fuels(fuel), changes, burnout_min)
    hours["row_state"] = rows.state
    for name, said in parts.items():
        hours[name], hours[f"{name}_why"] = said.verdicts(), said.why()
    whole = Reasons.worst_of(list(parts.values()))
    hours["verdict"], hours["why"], hours["reason"] = whole.verdicts(), whole.why(), whole.sentences()
    return hours


def _parts(
    hours: pd.DataFrame,
    limits: LocalLimits,
    ban: BanCheck | None,
    fuels: Fuels,
    changes: tuple[WindChange, ...] | None,
    burnout_min: float,
) -> tuple[dict[str, Reasons], RowStates]:
    changes = find_changes(hours) if changes is None else changes
    rows = row_states(hours, limits, fuels)
    stay = stay_in_row(hours, limits, fuels, changes)
    return {
        "stay_in_row": stay,
        "heat": heat(hours, limits, fuels, rows),
        "smoke": smoke(hours),
        "local_rules": local_rules(hours, limits, ban or BanCheck()),
        "lighting": lighting(hours, stay.ranks() < ORDER.index("no-go"), limits, changes, burnout_min),
    }, rows


@dataclass(frozen=True)
class ManyJudged:
    """Verdicts of many paddocks: hours as by judge_hours without verdicts; ranks: part -> int8 (paddocks, n), places in
    reasons.ORDER, "verdict" the worst. The reasons of one paddock: judge_hours with its fuel."""

    hours: pd.DataFrame
    ranks: dict[str, NDArray[np.int8]]


def judge_paddocks(
    forecast: pd.DataFrame,
    lon: float,
    lat: float,
    zone: str,
    limits: LocalLimits,
    fuels: Sequence[Fuel],
    ban: BanCheck | None = None,
    changes: tuple[WindChange, ...] | None = None,
    burnout_min: float = BURNOUT_MIN,
) -> ManyJudged:
    """Return the verdicts of many paddocks under one forecast at once; parameters and errors as judge_hours."""
    check_forecast(forecast)
    hours = _with_air(forecast, lon, lat, zone, None)
    parts, _ = _parts(hours, limits, ban, Fuels(fuels), changes, burnout_min)
    shape = len(fuels), len(hours)
    ranks = {name: np.broadcast_to(said.ranks(), shape) for name, said in parts.items()}
    ranks["verdict"] = np.maximum.reduce(list(ranks.values()))
    return ManyJudged(hours, ranks)


def no_hours(zone: str) -> pd.DataFrame:
    """Return the table of judge_hours without a line in it, for a farm that has no forecast."""
    unknown = {c: pd.Series([np.nan], dtype=t) for c, t in FORECAST_COLUMNS.items() if c != "time_utc"}
    line = pd.DataFrame({"time_utc": pd.to_datetime([0], unit="s", utc=True).astype("datetime64[ns, UTC]"), **unknown})
    return judge_hours(line, 0.0, 0.0, zone, LocalLimits()).iloc[:0]


def _with_air(forecast: pd.DataFrame, lon: float, lat: float, zone: str, fuel: Fuel | None) -> pd.DataFrame:
    """The forecast with local time, moisture, stability and night, and the indices of a fuel where one is given."""
    hours = forecast.reset_index(drop=True).copy()
    hours.insert(1, "time_local", hours["time_utc"].dt.tz_convert(zone))
    wind = hours["wind_km_h"].to_numpy()
    for name, values in surface_moisture_range(forecast)._asdict().items():
        hours[name] = values
    if fuel is not None:
        _indices(hours, fuel)
    altitude = sun_altitude(lon, lat, hours["time_utc"])
    still = still_hours(lon, lat, hours["time_utc"])
    hours["stability"] = stability_class(wind / 3.6, hours["cloud_pct"].to_numpy(), altitude, still)
    hours["is_night"] = np.asarray(altitude < HORIZON_DEG)
    hours["still"] = still
    return hours


def _indices(hours: pd.DataFrame, fuel: Fuel) -> None:
    """Add the danger indices, and name what was used past its range."""
    temp, rh, wind = (hours[c].to_numpy() for c in ("temp_c", "rh_pct", "wind_km_h"))
    known: Array = np.isfinite(temp) & np.isfinite(rh) & np.isfinite(wind)
    past = [("dead grass moisture", dead_grass_moisture(temp, rh).outside)]
    for key in ("gfdi_mk3", "gfdi_mk4", "gfdi_mk5", "fbi"):
        found = index_value(key, temp, rh, wind, fuel.curing_pct, fuel.fuel_t_ha, fuel.state)
        hours[key] = found.value
        past.append((INDICES[key].split(" (")[0], found.outside))
    hours["outside"] = ["; ".join(name for name, outside in past if known[i] and outside[i]) for i in range(len(hours))]
