"""How exposed pieces of boundary are to an escaped fire, hour by hour: chance of lying downwind, depth of reach,
intensity on arrival."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.fire.flame import intensity
from mapper.fire.growth import front_share
from mapper.fire.shape import normal_speed, support_direction
from mapper.ground.fetch import fetch_at
from mapper.weather.wind import DirectionSpread, chance_within, height_factor

# Headings every 5 degrees: bins of 10 miss 4.7 % of fetch, of 5 1.8 % (measured on our own prototype).
HEADINGS_DEG = np.arange(0.0, 360.0, 5.0)
DOWNWIND_DEG, FLANK_DEG = 60.0, 120.0
# Chance at which a piece takes a label. Our choice, no source.
LABEL_CHANCE = 0.2
# Headings less likely than this in an hour add nothing that can be seen.
_LEAST_CHANCE = 1e-6


@dataclass(frozen=True)
class Hour:
    """One hour's wind and the fire it would drive."""

    spread: DirectionSpread
    wind_km_h: float
    head_m_s: float
    lb: float
    weight: Array | None = None  # heading_chances(spread), where it is at hand

    def chances(self) -> Array:
        """Return the chance of each of HEADINGS_DEG."""
        return heading_chances(self.spread) if self.weight is None else self.weight


def heading_chances(spread: DirectionSpread) -> Array:
    """Return the chance that fire is driven to each of HEADINGS_DEG, (72,)."""
    return chance_within(spread, HEADINGS_DEG + 180, HEADINGS_DEG[1] / 2)


@dataclass(frozen=True)
class ByHour:
    """Arrays (h, n), hour by piece: chance of lying within 60 degrees of downwind, and within 120; mean depth from
    which an escape would come within the response time; intensity on arrival, weighted by that depth. head_kw_m (h,).
    """

    chance_downwind: Array
    chance_flank: Array
    reach_m: Array
    intensity_kw_m: Array
    head_kw_m: Array


@dataclass(frozen=True)
class Exposure:
    """Arrays (n,), the worst of some hours: largest chances and depth; intensity of the hour that threatens most."""

    chance_downwind: Array
    chance_flank: Array
    reach_m: Array
    intensity_kw_m: Array


def exposure_by_hour(
    facing_deg: Array, fetch_table: Array, hours: Sequence[Hour], fuel_t_ha: float, response_min: float
) -> ByHour:
    """Return how exposed each piece is in each hour.

    facing_deg (n,): outward normals. fetch_table (n, 72): ground.fetch at HEADINGS_DEG. The depth is the smaller of the
    burnable run and what the fire's edge covers in the response time; the mean over the hour's directions. Intensity
    counts the slow start of a narrow fire (Cheney & Gould 1995, coefficients from memory).
    """
    # Pieces of one side face one way: the fire's shape is worked out once for each.
    facing, of = np.unique(np.round(facing_deg, 3), return_inverse=True)
    shape = (len(hours), len(facing_deg))
    found = ByHour(np.zeros(shape), np.zeros(shape), np.zeros(shape), np.zeros(shape), np.zeros(len(hours)))
    off = (facing[:, None] - HEADINGS_DEG[None, :] + 180) % 360 - 180
    head, lb = (np.array([getattr(h, name) for h in hours])[:, None, None] for name in ("head_m_s", "lb"))
    speed, support = normal_speed(head, lb, off[None]), support_direction(lb, off[None])
    toward, fire = np.cos(np.radians(off[None] - support)), intensity(speed, fuel_t_ha)
    for k, hour in enumerate(hours):
        chance = hour.chances()
        likely = np.flatnonzero(chance > _LEAST_CHANCE)
        weight, straight = chance[likely], toward[k][:, likely][of]
        run = fetch_at(fetch_table, (HEADINGS_DEG + support[k])[:, likely][of])
        depth = np.minimum(run * straight, (speed[k][:, likely] * response_min * 60)[of])
        arriving = depth * fire[k][:, likely][of] * _growth(depth / np.maximum(straight, 1e-6), hour)
        found.reach_m[k] = depth @ weight
        found.intensity_kw_m[k] = arriving @ weight / np.maximum(found.reach_m[k], 1e-9)
        within = chance_within(hour.spread, facing[:, None] + 180, np.array([DOWNWIND_DEG, FLANK_DEG]))
        found.chance_downwind[k], found.chance_flank[k] = within[of].T
        found.head_kw_m[k] = float(intensity(hour.head_m_s, fuel_t_ha))
    return found


def worst(hourly: ByHour, which: NDArray[np.bool_] | None = None) -> Exposure:
    """Return the worst of some hours (which (h,); all where not given) for each piece; at least one hour.

    Of two hours with one depth the fiercer one threatens more: intensity is that of the largest depth times intensity.
    """
    chosen = np.ones(len(hourly.head_kw_m), dtype=bool) if which is None else which
    downwind, flank, reach, fire = (
        a[chosen] for a in (hourly.chance_downwind, hourly.chance_flank, hourly.reach_m, hourly.intensity_kw_m)
    )
    at = (reach * fire).argmax(axis=0), np.arange(reach.shape[1])
    return Exposure(downwind.max(axis=0), flank.max(axis=0), reach.max(axis=0), fire[at])


def _growth(run_m: Array, hour: Hour) -> Array:
    """Share of its full rate that a fire has after a run, as wide as the run over its length to breadth."""
    wind_2_m_s = hour.wind_km_h * height_factor(10, 2) / 3.6
    return front_share(np.maximum(run_m / hour.lb, 1e-3), wind_2_m_s)


def labels(chance_downwind: Array, chance_flank: Array) -> "np.ndarray[tuple[int, ...], np.dtype[np.str_]]":
    """Return "downwind", "flank" or "upwind" for each piece: the first that is likely enough (0.2, our choice)."""
    return np.where(
        chance_downwind >= LABEL_CHANCE, "downwind", np.where(chance_flank >= LABEL_CHANCE, "flank", "upwind")
    )
