"""Each forecast hour judged for burning rows: stay in row, heat, smoke, local rules, and the worst of them."""

import numpy as np
import pandas as pd

from mapper.farm.limits import LocalLimits
from mapper.fire.index import index_value
from mapper.hours.fuel import Fuel
from mapper.hours.heat import heat
from mapper.hours.reasons import Reasons
from mapper.hours.rules import local_rules
from mapper.hours.smoke import smoke
from mapper.hours.stay import stay_in_row
from mapper.hours.verdict import BanCheck
from mapper.weather.forecast import FORECAST_COLUMNS, check_forecast
from mapper.weather.moisture import surface_moisture
from mapper.weather.stability import stability_class, still_hours
from mapper.weather.sun import HORIZON_DEG, sun_altitude
from mapper.weather.wind import WindChange, find_changes


def judge_hours(
    forecast: pd.DataFrame,
    lon: float,
    lat: float,
    zone: str,
    limits: LocalLimits,
    ban: BanCheck | None = None,
    fuel: Fuel | None = None,
    changes: tuple[WindChange, ...] | None = None,
) -> pd.DataFrame:
    """Return the forecast's hours with their danger indices, air, and verdicts with all reasons.

    Columns: time_utc, time_local, the weather, moisture_pct (row surface), gfdi_mk3, gfdi_mk4, gfdi_mk5, fbi (wind at
    10 m), stability, is_night (sun down), still (from 1 h before sunset to 1 h after sunrise), and for each of
    stay_in_row, heat, smoke, local_rules a verdict "go", "caution" or "no-go" and `<name>_why`; verdict is the worst,
    why says all. A line stands for the hour that begins at its time. Unknown weather is no-go, unknown limits and bans
    are caution. changes: wind changes; found in the forecast where not given. Raises LayerError for a table that
    breaks its contract.
    """
    check_forecast(forecast)
    ban, fuel = ban or BanCheck(), fuel or Fuel()
    hours = _with_air(forecast, lon, lat, zone, fuel)
    changes = find_changes(forecast) if changes is None else changes
    parts = {
        "stay_in_row": stay_in_row(hours, limits, fuel, changes),
        "heat": heat(hours, limits, fuel),
        "smoke": smoke(hours),
        "local_rules": local_rules(hours, limits, ban),
    }
    for name, said in parts.items():
        hours[name], hours[f"{name}_why"] = said.verdicts(), said.why()
    whole = Reasons.worst_of(list(parts.values()))
    hours["verdict"], hours["why"] = whole.verdicts(), whole.why()
    return hours


def no_hours(zone: str) -> pd.DataFrame:
    """Return the table of judge_hours without a line in it, for a farm that has no forecast."""
    unknown = {c: pd.Series([np.nan], dtype=t) for c, t in FORECAST_COLUMNS.items() if c != "time_utc"}
    line = pd.DataFrame({"time_utc": pd.to_datetime([0], unit="s", utc=True).astype("datetime64[ns, UTC]"), **unknown})
    return judge_hours(line, 0.0, 0.0, zone, LocalLimits()).iloc[:0]


def _with_air(forecast: pd.DataFrame, lon: float, lat: float, zone: str, fuel: Fuel) -> pd.DataFrame:
    """The forecast with local time, indices, moisture, stability and night."""
    hours = forecast.reset_index(drop=True).copy()
    hours.insert(1, "time_local", hours["time_utc"].dt.tz_convert(zone))
    temp, rh, wind = (hours[c].to_numpy() for c in ("temp_c", "rh_pct", "wind_km_h"))
    hours["moisture_pct"] = surface_moisture(forecast)
    for key in ("gfdi_mk3", "gfdi_mk4", "gfdi_mk5", "fbi"):
        hours[key] = index_value(key, temp, rh, wind, fuel.curing_pct, fuel.fuel_t_ha, fuel.state).value
    altitude = sun_altitude(lon, lat, hours["time_utc"])
    still = still_hours(lon, lat, hours["time_utc"])
    hours["stability"] = stability_class(wind / 3.6, hours["cloud_pct"].to_numpy(), altitude, still)
    hours["is_night"] = np.asarray(altitude < HORIZON_DEG)
    hours["still"] = still
    return hours
