"""Would the fire stay in the row: wind, gusts, danger index, heat and dryness of the air against local limits."""

import numpy as np
import pandas as pd

from mapper.farm.limits import INDICES, Limit, LocalLimits
from mapper.farm.ranged import Array, Ranged
from mapper.hours.fuel import Fuels
from mapper.hours.lighting import MARGIN_MIN
from mapper.hours.reasons import Reasons, apart, figure, over
from mapper.weather.wind import WindChange, compass_point, gust_estimate, height_bounds, short_mean_factor

_NEEDED = {"temp_c": "Temperature", "rh_pct": "Humidity", "wind_km_h": "Wind", "wind_from_deg": "Wind direction"}


def how_measured(limit: Limit) -> str:
    """Return the height and averaging time of a wind limit in words."""
    return f"{limit.height_m:g} m, {limit.averaging_min:g}-min mean"


def most_wind(wind_km_h: Array, limit: Limit) -> Array:
    """Return the strongest wind the forecast (10 m, 10-minute mean) can mean at a limit's height and averaging time."""
    return np.asarray(wind_km_h * height_bounds(10.0, limit.height_m)[1] * short_mean_factor(limit.averaging_min))


def least_wind(wind_km_h: Array, limit: Limit) -> Array:
    """Return the lightest wind the forecast can mean at a limit's height."""
    return np.asarray(wind_km_h * height_bounds(10.0, limit.height_m)[0])


def _wind_words(wind: float, there: float, limit: Limit) -> str:
    off = apart(there, limit.value, "km/h")
    return f"{_taken(wind, there, limit)} is {off} over your limit of {limit.value:g} km/h ({how_measured(limit)})"


def _taken(wind: float, there: float, limit: Limit) -> str:
    """The forecast's wind, and what it may be where the limit is measured if that is something else."""
    if abs(there - wind) < 0.05:
        return f"Wind {figure(wind, limit.value)} km/h"
    return f"Wind {wind:.0f} km/h at 10 m, taken as up to {figure(there, limit.value)} km/h as your limit is measured,"


def index_name(limit: Limit) -> str:
    """Return the index a limit means, without its source."""
    return INDICES[limit.index].split(" (")[0]


def index_at_limit(hours: pd.DataFrame, limit: Limit, fuels: Fuels) -> Ranged:
    """Return the index a limit means, with the wind at the limit's height put into it as that limit's practice does."""
    return fuels.index(limit.index, hours, most_wind(hours["wind_km_h"].to_numpy(), limit))


def stay_in_row(hours: pd.DataFrame, limits: LocalLimits, fuels: Fuels, changes: tuple[WindChange, ...]) -> Reasons:
    """Return the reasons against the fire staying in the row, hour by hour; the hours' columns as in judge.py."""
    said = Reasons(*fuels.shape(len(hours)))
    for column, name in _NEEDED.items():
        said.add(hours[column].isna().to_numpy(), "no-go", f"{name} is not known for this hour")
    _wind(said, hours, limits)
    _gusts(said, hours, limits)
    for key, relation in (("index_max", "over your limit to light of"), ("index_stop", "over your limit to stop of")):
        _index(said, hours, limits, fuels, key, relation)
    temp, rh = hours["temp_c"].to_numpy(), hours["rh_pct"].to_numpy()
    hot, dry = limits.get("temperature_max"), limits.get("humidity_min")
    if hot is not None:
        said.add(
            over(temp, hot.value),
            "no-go",
            lambda i: (
                f"{figure(temp[i], hot.value)} degC is {apart(temp[i], hot.value, 'degC')} over your limit of "
                f"{hot.value:g} degC"
            ),
        )
        said.margin(
            (hot.value - temp) / max(hot.value, 1.0),
            lambda i: f"{temp[i]:.0f} degC, {apart(temp[i], hot.value, 'degC')} under your limit of {hot.value:g} degC",
        )
    if dry is not None:
        said.add(
            rh < dry.value,
            "no-go",
            lambda i: (
                f"Humidity {figure(rh[i], dry.value)} % is {apart(rh[i], dry.value, '%')} under your limit of "
                f"{dry.value:g} %"
            ),
        )
        said.margin(
            (rh - dry.value) / max(dry.value, 1.0),
            lambda i: f"humidity {rh[i]:.0f} %, {apart(rh[i], dry.value, '%')} over your least of {dry.value:g} %",
        )
    _changes(said, hours, limits, changes)
    return said


def _wind(said: Reasons, hours: pd.DataFrame, limits: LocalLimits) -> None:
    wind, limit = hours["wind_km_h"].to_numpy(), limits.get("wind_max")
    if limit is None:
        said.add(True, "caution", "Your wind limit is not known")
        return
    there = most_wind(wind, limit)
    said.add(over(there, limit.value), "no-go", lambda i: _wind_words(wind[i], there[i], limit))
    said.margin(
        (limit.value - there) / limit.value,
        lambda i: (
            f"{_taken(wind[i], there[i], limit).lower()} {apart(there[i], limit.value, 'km/h')} under your limit of "
            f"{limit.value:g} km/h ({how_measured(limit)})"
        ),
    )


def _gusts(said: Reasons, hours: pd.DataFrame, limits: LocalLimits) -> None:
    limit = limits.get("gust_max")
    if limit is None:
        return
    wind, told = hours["wind_km_h"].to_numpy(), hours["gust_km_h"].to_numpy()
    # Gusts lose little toward the ground: at a lower height they count in full.
    gust = np.fmax(np.where(np.isnan(told), gust_estimate(wind), told), wind) * max(
        1.0, height_bounds(10.0, limit.height_m)[1]
    )

    def words(i: int) -> str:
        how = "estimated 1.4 times the wind, the forecast gives none" if np.isnan(told[i]) else "forecast"
        off = apart(gust[i], limit.value, "km/h")
        return f"Gust {figure(gust[i], limit.value)} km/h ({how}) is {off} over your limit of {limit.value:g} km/h"

    said.add(over(gust, limit.value), "no-go", words)
    said.margin(
        (limit.value - gust) / limit.value,
        lambda i: (
            f"gust {gust[i]:.0f} km/h, {apart(gust[i], limit.value, 'km/h')} under your limit of {limit.value:g} km/h"
        ),
    )


def _index(said: Reasons, hours: pd.DataFrame, limits: LocalLimits, fuels: Fuels, key: str, relation: str) -> None:
    limit = limits.get(key)
    if limit is None:
        if key == "index_max":
            said.add(True, "caution", "Your fire danger index limit is not known")
        return
    index, outside = index_at_limit(hours, limit, fuels)
    at = "" if limit.height_m == 10 else f", wind at {limit.height_m:g} m"
    name = index_name(limit) + at
    said.add(outside & np.isfinite(index), "go", f"{index_name(limit)} is past its range here: taken on the safe side")
    said.add(
        over(index, limit.value),
        "no-go",
        lambda i: (
            f"{name}: {figure(index[i], limit.value, 1)} is {apart(index[i], limit.value)} {relation} {limit.value:g}"
        ),
    )
    said.margin(
        (limit.value - index) / limit.value,
        lambda i: f"{name}: {index[i]:.1f}, {apart(index[i], limit.value)} under {limit.value:g}",
    )


def _changes(said: Reasons, hours: pd.DataFrame, limits: LocalLimits, changes: tuple[WindChange, ...]) -> None:
    for change in changes:
        at = pd.Timestamp(change.at)
        margin = pd.Timedelta(minutes=max(limits.value("change_margin", MARGIN_MIN), 2.0 * change.sigma_min))
        # A line stands for the hour that begins at its time.
        near = hours["time_utc"].between(at - margin - pd.Timedelta(hours=1), at + margin, inclusive="neither")
        local = at.tz_convert(hours["time_local"].dt.tz)
        turn = f"{compass_point(change.from_deg)} to {compass_point(change.to_deg)}"
        said.add(near.to_numpy(), "caution", f"Wind change about {local:%H:%M}, {turn}")
