"""Grassland fire danger: McArthur's meters as equations, the fire behaviour index, ratings, and the wind to stop at.

Mark 3/4, Mark 4 and Mark 5 give different numbers for the same air: a limit always says which one it means.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mapper.farm.errors import SettingError
from mapper.farm.ranged import Array, Ranged, beyond, possible

# Use range of the grassland meters (from memory; no printed statement of it was read).
_TEMP, _RH, _WIND, _CURING = (10.0, 45.0), (5.0, 70.0), (0.0, 60.0), (50.0, 100.0)

# Fire behaviour index of grass against intensity, kW/m: second-hand transcription of the 2022 national system.
_FBI_INTENSITY = (0.0, 100.0, 3000.0, 9000.0, 17500.0, 25000.0, 90000.0)
_FBI_VALUE = (0.0, 6.0, 12.0, 24.0, 50.0, 100.0, 200.0)


def _air(
    temp_c: Any, rh_pct: Any, curing_pct: Any, fuel_t_ha: Any
) -> tuple[Array, Array, Array, Array, NDArray[np.bool_]]:
    """Check air and grass; cold, humid or green beyond the meters counts as the meters' edge (a higher index)."""
    temp = possible("temperature", temp_c, -30, 60)
    rh = possible("humidity", rh_pct, 0, 100)
    curing = possible("curing", curing_pct, 0, 100)
    fuel = possible("fuel", fuel_t_ha, 0.01, 50)
    outside = beyond(temp, *_TEMP) | beyond(rh, *_RH) | beyond(curing, *_CURING)
    return np.maximum(temp, _TEMP[0]), np.minimum(rh, _RH[1]), np.maximum(curing, _CURING[0]), fuel, outside


def _still_mk4(temp: Array, rh: Array, curing: Array, fuel: Array) -> Array:
    exponent = (
        -0.6615 + 1.027 * np.log10(fuel) - 0.004096 * (100 - curing) ** 1.536 + 0.01201 * temp - 0.09577 * np.sqrt(rh)
    )
    return np.asarray(10**exponent)


def _still_mk3(temp: Array, rh: Array, curing: Array) -> Array:
    return np.asarray(2.0 * np.exp(-23.6 + 5.01 * np.log(curing) + 0.0281 * temp - 0.226 * np.sqrt(rh)))


def _still_mk5(temp: Array, rh: Array, curing: Array, fuel: Array) -> Array:
    moisture = (97.7 + 4.06 * rh) / (temp + 6) - 0.00854 * rh + 3000 / curing - 30
    dry = 3.35 * fuel * np.exp(-0.0897 * moisture)
    # exp(-1.686), without the moisture in it: only so do the branches meet at 18.8 %.
    damp = 0.299 * fuel * np.exp(-1.686) * np.maximum(30 - moisture, 0)
    return np.where(moisture < 18.8, dry, damp)


def gfdi_mk4(temp_c: Any, rh_pct: Any, wind_km_h: Any, curing_pct: Any = 100.0, fuel_t_ha: Any = 4.5) -> Ranged:
    """Return the Mark 4 grassland fire danger index.

    Source: Purton CM (1982) Bureau of Meteorology, Meteorological Note 147; coefficients from memory, and they give
    the two published stop-wind cells within 1 km/h. wind_km_h: 10-minute mean at 10 m. All inputs broadcast.
    Range (from memory): 10-45 degC, 5-70 %, 0-60 km/h, curing 50-100 %. Outside it the value leans high.
    """
    temp, rh, curing, fuel, outside = _air(temp_c, rh_pct, curing_pct, fuel_t_ha)
    wind = possible("wind", wind_km_h, 0, 300)
    value = _still_mk4(temp, rh, curing, fuel) * 10 ** (0.2789 * np.sqrt(wind))
    return Ranged(value, outside | beyond(wind, *_WIND))


def gfdi_mk3(temp_c: Any, rh_pct: Any, wind_km_h: Any, curing_pct: Any = 100.0, fuel_t_ha: Any = 4.5) -> Ranged:
    """Return the Mark 3/4 grassland fire danger index. fuel_t_ha is checked but has no part in this meter.

    Source: Noble, Bary & Gill (1980) Aust. J. Ecology 5:201-203; abstract read, coefficients from memory.
    Units and range as gfdi_mk4.
    """
    temp, rh, curing, _, outside = _air(temp_c, rh_pct, curing_pct, fuel_t_ha)
    wind = possible("wind", wind_km_h, 0, 300)
    return Ranged(_still_mk3(temp, rh, curing) * np.exp(0.633 * np.sqrt(wind)), outside | beyond(wind, *_WIND))


def gfdi_mk5(temp_c: Any, rh_pct: Any, wind_km_h: Any, curing_pct: Any = 100.0, fuel_t_ha: Any = 4.5) -> Ranged:
    """Return the Mark 5 grassland fire danger index.

    Source: Noble, Bary & Gill (1980), from a second-hand transcription corrected where its branches did not meet.
    Units and range as gfdi_mk4. Zero is possible: grass of more than 30 % moisture.
    """
    temp, rh, curing, fuel, outside = _air(temp_c, rh_pct, curing_pct, fuel_t_ha)
    wind = possible("wind", wind_km_h, 0, 300)
    return Ranged(_still_mk5(temp, rh, curing, fuel) * np.exp(0.0403 * wind), outside | beyond(wind, *_WIND))


# The meters by the key that a limit writes; "fbi" needs a fire and stands in fire/index.py.
METERS: dict[str, Callable[..., Ranged]] = {"gfdi_mk4": gfdi_mk4, "gfdi_mk3": gfdi_mk3, "gfdi_mk5": gfdi_mk5}


def fbi_grass(intensity_kw_m: Any) -> Array:
    """Return the fire behaviour index of grass for a head fire's intensity in kW/m; 200 is its ceiling.

    Source: the 2022 national fire danger rating system, second-hand transcription; its check 1550 kW/m gives 9.0.
    """
    return np.interp(possible("intensity", intensity_kw_m, 0, np.inf), _FBI_INTENSITY, _FBI_VALUE)


def stop_wind(
    index: str, limit_value: Any, temp_c: Any, rh_pct: Any, curing_pct: Any = 100.0, fuel_t_ha: Any = 4.5
) -> Array:
    """Return the wind (km/h, 10-minute mean at 10 m) at which a McArthur index reaches the limit, 0 to 60.

    0: it is reached without wind. 60, the end of the meters' range, also where more wind than that would be needed.
    Raises SettingError for an index that is no McArthur meter.
    """
    limit = possible("index limit", limit_value, 1e-6, 1e6)
    temp, rh, curing, fuel, _ = _air(temp_c, rh_pct, curing_pct, fuel_t_ha)
    if index == "gfdi_mk4":
        wind = (np.maximum(np.log10(limit / _still_mk4(temp, rh, curing, fuel)), 0) / 0.2789) ** 2
    elif index == "gfdi_mk3":
        wind = (np.maximum(np.log(limit / _still_mk3(temp, rh, curing)), 0) / 0.633) ** 2
    elif index == "gfdi_mk5":
        with np.errstate(divide="ignore"):
            wind = np.log(limit / _still_mk5(temp, rh, curing, fuel)) / 0.0403
    else:
        raise SettingError(f"no meter is called {index!r}", todo=f"Write one of {', '.join(METERS)}")
    return np.clip(wind, *_WIND)


def table_air(temp_c: Any, rh_pct: Any) -> tuple[Array, Array]:
    """Return temperature rounded up to 5 degC and humidity rounded down to 10 %, as the trade reads its tables.

    Source: SA grain harvesting code and Tatiara District Council's stubble burning table (worked examples read).
    """
    return 5 * np.ceil(np.asarray(temp_c, dtype=float) / 5), 10 * np.floor(np.asarray(rh_pct, dtype=float) / 10)


def table_stop_wind(index: str, limit_value: Any, temp_c: Any, rh_pct: Any) -> Array:
    """Return the stop wind as a printed table gives it: air rounded by table_air, wind cut down to whole km/h.

    The two published cells differ in rounding (26 for 25.8, 29 for 29.6); cutting down is the safe reading.
    """
    return np.floor(stop_wind(index, limit_value, *table_air(temp_c, rh_pct)))
