"""The trade's stop-wind table: the wind at which a danger index limit is reached, by temperature and humidity."""

from dataclasses import dataclass

import numpy as np

from mapper.farm.errors import SettingError
from mapper.farm.limits import INDICES, Limit
from mapper.farm.ranged import Array
from mapper.fire.index import index_stop_wind
from mapper.hours.fuel import Fuel
from mapper.weather.wind import height_bounds

# As the printed tables go: temperature by 5 degC, humidity by 10 % (South Australian harvest code, Tatiara; read).
TEMPS_C = (10, 15, 20, 25, 30, 35, 40, 45)
RH_PCT = (10, 20, 30, 40, 50, 60, 70)


@dataclass(frozen=True)
class StopWindTable:
    """A printable table. wind_km_h[i, j]: whole km/h at temp_c[i], rh_pct[j]; stop above it.

    60, the end of the indices' range, stands for 60 or more; 0 where the limit is reached without wind. meter_height_m:
    height at which the meter is held. title: index, limit, height; rule: how to read it; source: whose limit it is and
    which equation. starting: the limit is the program's starting value and nobody has set it.
    """

    title: str
    rule: str
    source: str
    temp_c: tuple[int, ...]
    rh_pct: tuple[int, ...]
    wind_km_h: Array
    meter_height_m: float
    starting: bool


def stop_wind_table(
    limit: Limit,
    fuel: Fuel | None = None,
    meter_height_m: float | None = None,
    temp_c: tuple[int, ...] = TEMPS_C,
    rh_pct: tuple[int, ...] = RH_PCT,
) -> StopWindTable:
    """Return the stop winds of an index limit (index_max, index_stop).

    The index is taken with the wind at the limit's own height, as the limit's practice does. meter_height_m: where the
    meter is held, the limit's height if not given; winds there are cut by the smallest supported ratio, since a meter
    held lower reads less than the limit means. Air is to be rounded as the rule says: each cell holds for the warmest
    and driest air that falls in it. Winds are cut down to whole km/h. Raises SettingError for a limit of no index.
    """
    if limit.index not in INDICES:
        raise SettingError(f"{limit.kind.label} is no limit of a danger index", todo="Give index_max or index_stop")
    fuel = fuel or Fuel()
    height = limit.height_m if meter_height_m is None else meter_height_m
    temp, rh = np.meshgrid(np.asarray(temp_c, dtype=float), np.asarray(rh_pct, dtype=float), indexing="ij")
    wind = index_stop_wind(limit.index, limit.value, temp, rh, fuel.curing_pct, fuel.fuel_t_ha, fuel.state)
    there = wind * height_bounds(limit.height_m, height)[0] if height != limit.height_m else wind
    name = INDICES[limit.index].split(" (")[0]
    title = f"Stop above this wind, km/h at {height:g} m ({limit.averaging_min:g}-min mean): {name} {limit.value:g}"
    if height != limit.height_m:
        title += f" at {limit.height_m:g} m"
    rule = (
        "Round temperature up to the next 5 degC and humidity down to the next 10 %. Measure in the open, meter into "
        f"the wind, mean of {limit.averaging_min:g} minutes; temperature and humidity in shade."
    )
    fuel_words = f"curing {fuel.curing_pct:g} %, {fuel.fuel_t_ha:g} t/ha"
    source = f"{INDICES[limit.index]}, {fuel_words}. Limit: {limit.source}, {limit.date}"
    cut = np.floor(there + 1e-9)
    return StopWindTable(title, rule, source, tuple(temp_c), tuple(rh_pct), cut, height, limit.starting)


def read_table(table: StopWindTable, temp_c: float, rh_pct: float) -> float:
    """Return the wind a crew reads off a table, by its rounding rule; NaN where the air is hotter or drier than it."""
    rows = [k for k, t in enumerate(table.temp_c) if t >= temp_c - 1e-9]
    columns = [k for k, h in enumerate(table.rh_pct) if h <= rh_pct + 1e-9]
    return float(table.wind_km_h[rows[0], columns[-1]]) if rows and columns else float("nan")
