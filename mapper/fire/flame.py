"""Fireline intensity, flame length and flame height."""

from typing import Any

import numpy as np

from mapper.farm.ranged import Array, possible
from mapper.fire.spread import State

# Heat yield of grass, kJ/kg; wheat straw is 18000 +/- 700, so this is the safe value.
HEAT_KJ_KG = 18600.0
# Flame height over rate^0.295; see flame_height.
_HEIGHT = {"natural": 2.66, "grazed": 1.12, "eaten_out": 1.12}


def intensity(head_m_s: Any, fuel_t_ha: Any, heat_kj_kg: float = HEAT_KJ_KG) -> Array:
    """Return fireline intensity in kW/m: heat times fuel times rate of spread (Byram 1959, read)."""
    rate = possible("rate of spread", head_m_s, 0, 100)
    fuel = possible("fuel", fuel_t_ha, 0, 200)
    return np.asarray(heat_kj_kg * fuel * 0.1 * rate)


def flame_length(intensity_kw_m: Any) -> Array:
    """Return flame length in m: 0.0775 I^0.46 (Byram 1959, second-hand). Published relations vary widely by fuel."""
    return np.asarray(0.0775 * possible("intensity", intensity_kw_m, 0, np.inf) ** 0.46)


def flame_height(head_m_s: Any, state: State = "grazed") -> Array:
    """Return flame height in m: a R^0.295, a = 2.66 natural, 1.12 grazed and eaten-out, R in km/h.

    Source: the 2022 national system, credited to Plucinski (second-hand). Whether R is in km/h or m/s is not settled in
    the transcriptions; km/h gives the taller flames and tracks the meter's table for average pasture, so it is taken.
    """
    return np.asarray(_HEIGHT[state] * (3.6 * possible("rate of spread", head_m_s, 0, 100)) ** 0.295)
