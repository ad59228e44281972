"""What a fire that left the row would do, hour by hour: moisture, rate, intensity, flame and shape together."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.fire.flame import flame_height, flame_length, intensity
from mapper.fire.shape import length_to_breadth
from mapper.fire.spread import State, grass_spread
from mapper.weather.moisture import dead_grass_moisture


@dataclass(frozen=True)
class FireBehaviour:
    """A grass fire's head on flat ground. flame_m: length. Arrays of one shape; outside: past an equation's range."""

    moisture_pct: Array
    head_m_s: Array
    intensity_kw_m: Array
    flame_m: Array
    flame_height_m: Array
    lb: Array
    outside: NDArray[np.bool_]


def behaviour(
    wind_km_h: Any,
    temp_c: Any,
    rh_pct: Any,
    curing_pct: Any = 100.0,
    fuel_t_ha: Any = 4.5,
    state: State = "grazed",
) -> FireBehaviour:
    """Return the behaviour of a fire in the stubble between rows. wind at 10 m, 10-minute mean; inputs broadcast.

    state "grazed" is the safe bound for stubble of 10-20 cm (Cruz et al. 2020 lies between grazed and eaten-out).
    Rain is left out: soaked stubble is judged as if it were dry. Sources with each part.
    """
    moisture = dead_grass_moisture(temp_c, rh_pct)
    rate = grass_spread(wind_km_h, moisture.value, curing_pct, state)
    fire = intensity(rate.value, fuel_t_ha)
    shape = np.broadcast_to(length_to_breadth(wind_km_h), fire.shape).copy()
    damp = np.broadcast_to(moisture.value, fire.shape).copy()
    head = np.broadcast_to(rate.value, fire.shape).copy()
    outside = np.broadcast_to(moisture.outside | rate.outside, fire.shape).copy()
    return FireBehaviour(damp, head, fire, flame_length(fire), flame_height(head, state), shape, outside)
