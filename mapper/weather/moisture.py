"""How damp the straw is: dead grass by the hour, a surface moisture code that remembers rain, and soaked rows."""

from typing import Any, Literal, NamedTuple

import numpy as np
import pandas as pd

from mapper.farm.ranged import Array, Ranged, beyond, possible
from mapper.weather.forecast import seconds

# Van Wagner's later conversion constant; 147.2 is the 1985 print. The published 48 days fit this one within 0.05.
_SCALE = 147.27723
# Surface moisture, %, from which a row counts as damp: common practice for straw, no source.
DAMP_PCT = 15.0
# What the surface may be before the first hour, and how far the equation may be off, %.
_DRY_START, _WET_START, _OFF_PCT = 6.0, 40.0, 2.0

Dampness = Literal["dry", "surface damp", "soaked", "not known"]


def dead_grass_moisture(temp_c: Any, rh_pct: Any) -> Ranged:
    """Return the moisture of standing dead grass, % of dry weight, in afternoon air and without rain.

    M = 9.58 - 0.205 T + 0.138 RH (McArthur 1966; Cheney et al. 1989; second-hand). Range of the spread model that
    uses it: 2-24 %; damper is cut to 24, drier is kept down to 0, so that fire is never made smaller.
    """
    temp = possible("temperature", temp_c, -30, 60)
    rh = possible("humidity", rh_pct, 0, 100)
    moisture = 9.58 - 0.205 * temp + 0.138 * rh
    return Ranged(np.clip(moisture, 0, 24), beyond(moisture, 2, 24))


def moisture_from_code(code: Any) -> Array:
    """Return surface moisture, %, for a fine fuel moisture code of 0-101 (Van Wagner & Pickett 1985)."""
    f = possible("moisture code", code, 0, 101)
    return np.asarray(_SCALE * (101 - f) / (59.5 + f))


def code_from_moisture(moisture_pct: Any) -> Array:
    """Return the fine fuel moisture code for a surface moisture of 0-250 %."""
    m = possible("moisture", moisture_pct, 0, 250)
    return np.clip(59.5 * (250 - m) / (_SCALE + m), 0, 101)


def _wetted(moisture: float, rain_mm: float) -> float:
    """Moisture after rain that reached the fuel."""
    gain = 42.5 * rain_mm * np.exp(-100 / (251 - moisture)) * (1 - np.exp(-6.93 / rain_mm))
    if moisture > 150:
        gain += 0.0015 * (moisture - 150) ** 2 * np.sqrt(rain_mm)
    return float(min(moisture + gain, 250.0))


def _toward_air(moisture: float, temp: float, rh: float, wind: float, per_step: float) -> float:
    """Drying or wetting toward what the air allows, one step."""
    lift = 0.18 * (21.1 - temp) * (1 - np.exp(-0.115 * rh))
    dry_end = 0.942 * rh**0.679 + 11 * np.exp((rh - 100) / 10) + lift
    wet_end = 0.618 * rh**0.753 + 10 * np.exp((rh - 100) / 10) + lift
    if wet_end <= moisture <= dry_end:
        return moisture
    share = rh / 100 if moisture > dry_end else (100 - rh) / 100
    rate = (0.424 * (1 - share**1.7) + 0.0694 * np.sqrt(wind) * (1 - share**8)) * per_step * np.exp(0.0365 * temp)
    end = dry_end if moisture > dry_end else wet_end
    return float(np.clip(end + (moisture - end) * 10**-rate, 0, 250))


def ffmc_daily(code: float, temp_c: float, rh_pct: float, wind_km_h: float, rain_mm: float) -> float:
    """Return today's fine fuel moisture code from yesterday's and noon weather; rain is of the 24 h before.

    Source: Van Wagner & Pickett (1985) Forestry Technical Report 33 (equations from memory and second-hand), checked
    against its 48-day series.
    """
    moisture = float(moisture_from_code(code))
    if rain_mm > 0.5:
        moisture = _wetted(moisture, rain_mm - 0.5)
    return float(code_from_moisture(_toward_air(moisture, temp_c, min(rh_pct, 100.0), wind_km_h, 0.581)))


def ffmc_hourly(code: float, temp_c: float, rh_pct: float, wind_km_h: float, rain_mm: float) -> float:
    """Return the fine fuel moisture code an hour on: as ffmc_daily, without the 0.5 mm held by the canopy.

    Source: Van Wagner (1977) hourly form; its rate 0.0579 was read in public programs, not in the paper.
    """
    moisture = float(moisture_from_code(code))
    # Less than a drop is none.
    if rain_mm > 1e-3:
        moisture = _wetted(moisture, rain_mm)
    return float(code_from_moisture(_toward_air(moisture, temp_c, min(rh_pct, 100.0), wind_km_h, 0.0579)))


def surface_moisture(forecast: pd.DataFrame, start_pct: float = 12.0) -> Array:
    """Return the moisture (%) of a row's surface at each forecast hour, by the hourly code with its memory of rain.

    start_pct: before the first hour. An hour with a gap in its weather leaves the code as it was and is NaN itself.
    A row's inside dries far slower: see days_since_soak.
    """
    code = float(code_from_moisture(start_pct))
    columns = forecast[["temp_c", "rh_pct", "wind_km_h", "rain_mm"]].to_numpy(dtype=float)
    hours = forecast["time_utc"].diff().dt.total_seconds().fillna(3600.0).to_numpy() / 3600.0
    out = np.full(len(columns), np.nan)
    for i, (temp, rh, wind, rain) in enumerate(columns):
        if not np.isfinite([temp, rh, wind]).all():
            continue
        steps = max(1, round(float(hours[i])))
        for _ in range(steps):
            code = ffmc_hourly(code, temp, rh, wind, (rain if np.isfinite(rain) else 0.0) / steps)
        out[i] = moisture_from_code(code)
    return out


class SurfaceMoisture(NamedTuple):
    """Moisture of a row's surface by hour, %, with the least and most it may be; arrays (n,)."""

    moisture_pct: Array
    moisture_low_pct: Array
    moisture_high_pct: Array


def surface_moisture_range(forecast: pd.DataFrame) -> SurfaceMoisture:
    """Return surface_moisture with its doubt: begun from a dry and from a wet surface, and 2 % for the equation.

    The best published equations for dead grass are 1.2 % off on average (Miller 2019, Fire 2(1):2, read); the 2 % and
    the two beginnings are our choice. What was before the first hour is forgotten within about a day.
    """
    dry, likely, wet = (surface_moisture(forecast, start) for start in (_DRY_START, 12.0, _WET_START))
    return SurfaceMoisture(likely, np.maximum(dry - _OFF_PCT, 0.0), wet + _OFF_PCT)


def days_since_soak(forecast: pd.DataFrame, at: Any, soak_mm: float) -> Array:
    """Return days from the last soaking (soak_mm within 24 h) to `at` by the table's rain; inf where it shows none.

    at: a UTC time, or times of shape (n,).

    The table knows nothing before its first hour: see days_known.
    """
    rain = forecast.set_index("time_utc")["rain_mm"].fillna(0.0).sort_index()
    day = rain.rolling("24h").sum()
    # A hair of tolerance: sums of tenths of a millimetre.
    wet = seconds(day.index[(day.to_numpy() >= soak_mm - 1e-6) & (rain.to_numpy() > 0)])
    now = seconds(at)
    last = np.searchsorted(wet, now, side="right") - 1
    since = now - wet[np.maximum(last, 0)] if len(wet) else np.full(now.shape, np.inf)
    return np.where(last >= 0, since / 86400.0, np.inf)


def days_known(forecast: pd.DataFrame, at: Any) -> Array:
    """Return how many days before `at` (a UTC time, or times of shape (n,)) the table reaches back."""
    return np.maximum(seconds(at) - seconds(forecast["time_utc"].iloc[0]), 0.0) / 86400.0
