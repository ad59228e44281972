"""The work to make a break good: ground to bare, passes of the blade, hours."""

from typing import NamedTuple

import numpy as np

from mapper.farm.limits import LocalLimits


class Work(NamedTuple):
    """area_m2 to bare; passes of the blade and hours, NaN where the blade or its speed is not known."""

    area_m2: float
    passes: float
    hours: float


def work_for(short_m: float, length_m: float, limits: LocalLimits) -> Work:
    """Return the work to add short_m of bare width along length_m.

    Blade width and speed are the farm's (blade_width, grade_speed). Turning, hard ground and clearing are left out.
    """
    blade, speed = limits.value("blade_width"), limits.value("grade_speed")
    passes = float(np.ceil(max(short_m / blade - 1e-9, 0.0))) + 0.0
    return Work(short_m * length_m, passes, passes * length_m / (1000.0 * speed))


def work_words(area_m2: float, hours: float, limits: LocalLimits) -> str:
    """Return the work in words: "To make good: 0.25 ha, about 20 min with the 3 m blade"."""
    ground = f"{area_m2 / 1e4:.2f} ha" if area_m2 >= 1000 else f"{max(round(area_m2, -1), 10):.0f} m²"
    if np.isnan(hours):
        return f"To make good: {ground}"
    time = f"{hours:.1f} h" if hours >= 1.5 else f"{max(5 * np.ceil(hours * 12), 5):.0f} min"
    return f"To make good: {ground}, about {time} with the {limits.value('blade_width'):g} m blade"
