"""Any danger index by the key a limit writes, and the wind at which it reaches the limit."""

from typing import Any

import numpy as np

from mapper.farm.errors import SettingError
from mapper.farm.limits import INDICES
from mapper.farm.ranged import Array, Ranged
from mapper.fire.behaviour import behaviour
from mapper.fire.spread import State
from mapper.weather.danger import METERS, fbi_grass, stop_wind

_WINDS = np.linspace(0.0, 60.0, 601)


def index_value(
    index: str,
    temp_c: Any,
    rh_pct: Any,
    wind_km_h: Any,
    curing_pct: Any = 100.0,
    fuel_t_ha: Any = 4.5,
    state: State = "grazed",
) -> Ranged:
    """Return an index of farm.limits.INDICES; wind at 10 m, 10-minute mean. The state of the grass moves only "fbi"."""
    if index in METERS:
        return METERS[index](temp_c, rh_pct, wind_km_h, curing_pct, fuel_t_ha)
    if index == "fbi":
        fire = behaviour(wind_km_h, temp_c, rh_pct, curing_pct, fuel_t_ha, state)
        return Ranged(fbi_grass(fire.intensity_kw_m), fire.outside)
    raise SettingError(f"no danger index is called {index!r}", todo=f"Write one of {', '.join(INDICES)}")


def index_stop_wind(
    index: str,
    limit_value: float,
    temp_c: Any,
    rh_pct: Any,
    curing_pct: float = 100.0,
    fuel_t_ha: float = 4.5,
    state: State = "grazed",
) -> Array:
    """Return the wind (km/h at 10 m) at which the index reaches the limit, 0 to 60, as weather.danger.stop_wind.

    For "fbi" the first of 0, 0.1 ... 60 km/h that reaches it, less 0.1.
    """
    if index in METERS:
        return stop_wind(index, limit_value, temp_c, rh_pct, curing_pct, fuel_t_ha)
    temp, rh = np.broadcast_arrays(np.asarray(temp_c, dtype=float), np.asarray(rh_pct, dtype=float))
    value = index_value(index, temp[..., None], rh[..., None], _WINDS, curing_pct, fuel_t_ha, state).value
    reached = value >= limit_value
    first = np.where(reached.any(axis=-1), _WINDS[np.maximum(reached.argmax(axis=-1) - 1, 0)], _WINDS[-1])
    return np.where(np.isnan(temp) | np.isnan(rh), np.nan, first)
