"""How exposed pieces of boundary are to an escaped fire, hour by hour: chance of lying downwind, depth of reach,
intensity on arrival."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mapper.farm.ranged import Array
from mapper.fire.flame import intensity
from mapper.fire.shape import normal_speed, support_direction
from mapper.ground.fetch import fetch_at
from mapper.weather.wind import DirectionSpread, chance_within, height_factor

# Headings every 5 degrees: bins of 10 miss 4.7 % of fetch, of 5 1.8 % (measured on our own prototype).
HEADINGS_DEG = np.arange(0.0, 360.0, 5.0)
DOWNWIND_DEG, FLANK_DEG = 60.0, 120.0
# Chance at which a piece takes a label. Our choice, no source.
LABEL_CHANCE = 0.2


@dataclass(frozen=True)
class Exposure:
    """Arrays (n,): chance of lying within 60 degrees of downwind, within 120; depth from which an escape would come
    within the response time; intensity on arrival, weighted by that depth; the head fire's intensity."""

    chance_downwind: Array
    chance_flank: Array
    reach_m: Array
    intensity_kw_m: Array
    head_kw_m: Array


@dataclass(frozen=True)
class Hour:
    """One hour's wind and the fire it would drive."""

    spread: DirectionSpread
    wind_km_h: float
    head_m_s: float
    lb: float


def exposure(
    facing_deg: Array, fetch_table: Array, hours: Sequence[Hour], fuel_t_ha: float, response_min: float
) -> Exposure:
    """Return how exposed each piece is in its worst hour.

    facing_deg (n,): outward normals. fetch_table (n, 72): ground.fetch at HEADINGS_DEG. The depth is the smaller of the
    burnable run and what the fire's edge covers in the response time; the mean over the hour's directions, largest over
    the hours. Intensity counts the slow start of a narrow fire (Cheney & Gould 1995, coefficients from memory) and is
    that of the hour of the largest depth.
    """
    off = (facing_deg[:, None] - HEADINGS_DEG[None, :] + 180) % 360 - 180
    half = HEADINGS_DEG[1] / 2
    best = Exposure(*(np.zeros(len(facing_deg)) for _ in range(5)))
    for hour in hours:
        weight = chance_within(hour.spread, HEADINGS_DEG + 180, half)
        speed = normal_speed(hour.head_m_s, hour.lb, off)
        support = support_direction(hour.lb, off)
        run = fetch_at(fetch_table, HEADINGS_DEG[None, :] + support)
        toward = np.cos(np.radians(off - support))
        depth = np.minimum(run * toward, speed * response_min * 60)
        fire = intensity(speed * _growth(depth / np.maximum(toward, 1e-6), hour), fuel_t_ha)
        reach = depth @ weight
        arriving = (depth * fire) @ weight / np.maximum(reach, 1e-9)
        worse = reach > best.reach_m
        best = Exposure(
            np.maximum(best.chance_downwind, chance_within(hour.spread, facing_deg + 180, DOWNWIND_DEG)),
            np.maximum(best.chance_flank, chance_within(hour.spread, facing_deg + 180, FLANK_DEG)),
            np.where(worse, reach, best.reach_m),
            np.where(worse, arriving, best.intensity_kw_m),
            np.maximum(best.head_kw_m, float(intensity(hour.head_m_s, fuel_t_ha))),
        )
    return best


def _growth(run_m: Array, hour: Hour) -> Array:
    """Share of its full rate that a fire has after a run, as wide as the run over its length to breadth."""
    wind_2_m_s = hour.wind_km_h * height_factor(10, 2) / 3.6
    return np.asarray(np.exp(-(0.859 + 2.036 * wind_2_m_s) / np.maximum(run_m / hour.lb, 1e-3)))


def labels(found: Exposure) -> "np.ndarray[tuple[int], np.dtype[np.str_]]":
    """Return "downwind", "flank" or "upwind" for each piece."""
    return np.where(
        found.chance_downwind >= LABEL_CHANCE,
        "downwind",
        np.where(found.chance_flank >= LABEL_CHANCE, "flank", "upwind"),
    )
