"""Fireline intensity and flame length."""

from typing import Any

import numpy as np

from mapper.farm.ranged import Array, possible

# Heat yield of grass, kJ/kg; wheat straw is 18000 +/- 700, so this is the safe value.
HEAT_KJ_KG = 18600.0


def intensity(head_m_s: Any, fuel_t_ha: Any, heat_kj_kg: float = HEAT_KJ_KG) -> Array:
    """Return fireline intensity in kW/m: heat times fuel times rate of spread (Byram 1959, read)."""
    rate = possible("rate of spread", head_m_s, 0, 100)
    fuel = possible("fuel", fuel_t_ha, 0, 200)
    return np.asarray(heat_kj_kg * fuel * 0.1 * rate)


def flame_length(intensity_kw_m: Any) -> Array:
    """Return flame length in m: 0.0775 I^0.46 (Byram 1959, second-hand). Published relations vary widely by fuel."""
    return np.asarray(0.0775 * possible("intensity", intensity_kw_m, 0, np.inf) ** 0.46)
