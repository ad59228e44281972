"""Would the rows burn hot enough to kill seed: dampness, rain, and the least wind, index and dryness asked for."""

import numpy as np
import pandas as pd

from mapper.farm.limits import LocalLimits
from mapper.farm.ranged import Array
from mapper.fire.index import index_value
from mapper.hours.fuel import Fuel
from mapper.hours.reasons import Reasons, figure, over
from mapper.hours.stay import how_measured, index_name, least_wind
from mapper.weather.moisture import days_known, days_since_soak, row_dampness

# Less rain than this in an hour is drizzle that does not stop a burn: our choice.
_RAIN_MM = 0.2


def heat(hours: pd.DataFrame, limits: LocalLimits, fuel: Fuel) -> Reasons:
    """Return the reasons against hot rows, hour by hour. hours: the forecast with moisture_pct (of the row's surface).

    The load in the row is judged elsewhere (fire/heat.py); drying inside a packed row is only known as days after
    soaking rain.
    """
    said = Reasons(len(hours))
    wind, rh = hours["wind_km_h"].to_numpy(), hours["rh_pct"].to_numpy()
    least, damp = limits.get("wind_min"), limits.get("humidity_max")
    if least is not None:
        there = least_wind(wind, least)

        def light(i: int) -> str:
            told = figure(wind[i], least.value)
            return f"Wind {told} km/h is under your least of {least.value:g} km/h ({how_measured(least)}): a cool row"

        said.add(there < least.value - 1e-9, "no-go", light)
    if damp is not None:
        said.add(
            over(rh, damp.value),
            "no-go",
            lambda i: f"Humidity {figure(rh[i], damp.value)} % is over your limit of {damp.value:g} %",
        )
    _index(said, hours, limits, fuel)
    _rain(said, hours)
    _dampness(said, hours, limits, fuel)
    return said


def _rain(said: Reasons, hours: pd.DataFrame) -> None:
    """A line's rain fell in the hour before it; the next line's falls in the hour it stands for."""
    fell = hours["rain_mm"].to_numpy()
    # After the last line, and where lines stand more than an hour apart, nobody says what falls in this hour.
    apart = hours["time_utc"].diff().shift(-1)
    falls = np.where(apart <= pd.Timedelta(hours=1), np.append(fell[1:], np.nan), np.nan)
    said.add(fell >= _RAIN_MM, "no-go", lambda i: f"Rain in the hour before, {fell[i]:.1f} mm")
    said.add(falls >= _RAIN_MM, "no-go", lambda i: f"Rain in this hour, {falls[i]:.1f} mm")
    said.add(np.isnan(fell) | np.isnan(falls), "caution", "Rain is not known for this hour")


def _index(said: Reasons, hours: pd.DataFrame, limits: LocalLimits, fuel: Fuel) -> None:
    limit = limits.get("index_min")
    if limit is None:
        return
    air = hours["temp_c"].to_numpy(), hours["rh_pct"].to_numpy(), least_wind(hours["wind_km_h"].to_numpy(), limit)
    index = index_value(limit.index, *air, fuel.curing_pct, fuel.fuel_t_ha, fuel.state).value
    name = index_name(limit)
    said.add(
        index < limit.value,
        "no-go",
        lambda i: (
            f"{name}: {figure(index[i], limit.value, 1)} is under your least of {limit.value:g}, too cool or damp"
        ),
    )


def _dampness(said: Reasons, hours: pd.DataFrame, limits: LocalLimits, fuel: Fuel) -> None:
    soak, dry_days = limits.get("soaking_rain"), limits.get("dry_days")
    surface = hours["moisture_pct"].to_numpy()
    if soak is None or dry_days is None:
        said.add(True, "caution", "How much rain soaks a row here, and how long it takes to dry, is not known")
        days = np.full(len(hours), np.inf)
        need = 0.0
    else:
        days = _days_dry(hours, soak.value, fuel)
        need = dry_days.value
        _not_known_before(said, hours, days, need, fuel)
    state = np.array([row_dampness(s, d, need) for s, d in zip(surface, days, strict=True)])
    said.add(state == "soaked", "no-go", lambda i: f"Soaking rain {days[i]:.1f} days before; rows need {need:g} to dry")
    said.add(state == "surface damp", "caution", lambda i: f"Row surface damp, about {surface[i]:.0f} %: test a row")


def _days_dry(hours: pd.DataFrame, soak_mm: float, fuel: Fuel) -> Array:
    in_table = days_since_soak(hours, hours["time_utc"], soak_mm)
    if fuel.last_soak is None:
        return in_table
    before = ((hours["time_utc"] - pd.Timestamp(fuel.last_soak)).dt.total_seconds() / 86400.0).to_numpy()
    return np.where(before >= 0, np.minimum(in_table, before), in_table)


def _not_known_before(said: Reasons, hours: pd.DataFrame, days: Array, need: float, fuel: Fuel) -> None:
    if fuel.last_soak is not None:
        return
    first = hours["time_local"].iloc[0]
    known = days_known(hours, hours["time_utc"])
    said.add((days > known) & (known < need), "go", f"Rain before {first:%d %b %H:%M} is not known: test a row first")
