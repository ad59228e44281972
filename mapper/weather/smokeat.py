"""What smoke a house or a road gets: between smoke that keeps to the ground and smoke that rises, and how likely."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array, possible
from mapper.weather.direction import DirectionSpread
from mapper.weather.plume import plume, plume_rise

# Straw: heat of a dry kg (18000 +/- 700 kJ/kg); PM2.5 of dry straw that flames, g/kg (Environ. Pollut. 2018,
# 236:795-806, read).
STRAW_HEAT_J_KG, DRY_EMISSION_G_KG = 18.0e6, 8.8
# Chances look this far to each side of each likely wind, in sigmas: 97 % of it.
_CHANCE_SIGMAS = 2.2

# Of the directions the wind may come from, this far to each side of each mean, in sigmas: 80 % of them.
FAN_SIGMAS = 1.2816
FAN_MOST_DEG = 90.0
STEP_DEG = 4.0
# A side of a wind change less likely than this is left off the map.
LEAST_WEIGHT = 0.1


def fan_deg(spread: DirectionSpread) -> Array:
    """Return directions the wind may come from, degrees: 80 % of each likely part of the spread, at most 4 apart."""
    parts = []
    for weight, mean, sigma in zip(spread.weights, spread.means_deg, spread.sigmas_deg, strict=True):
        if weight >= LEAST_WEIGHT:
            parts.append(mean + _fan(sigma))
    return np.concatenate(parts) % 360.0


def _fan(sigma: float) -> Array:
    half = min(FAN_SIGMAS * sigma, FAN_MOST_DEG)
    return np.linspace(-half, half, 2 * int(np.ceil(half / STEP_DEG)) + 1)


class SmokeBetween(NamedTuple):
    """Fine smoke at points (n,), ug/m3: high, kept at the ground; low, risen and of clean burning; both the most that
    the wind's fan brings. chance: of a wind that brings more than the level asked for, smoke kept at the ground. sure:
    of a wind that brings more than the limit asked for even risen and of clean burning."""

    high: Array
    low: Array
    chance: Array
    sure: Array


def smoke_between(
    points_xy: Any,
    sources_xy: Any,
    rate_g_s: Any,
    wind_km_h: float,
    spread: DirectionSpread,
    stability: str,
    level_ug_m3: float,
    limit_ug_m3: float,
    emission_g_kg: float,
    owner: Any = None,
) -> SmokeBetween:
    """Return between which ends the smoke at points (n, 2) lies, the chance that it is over a level, and over a limit.

    sources (m, 2) with rates (m,) made with emission_g_kg; metres in the farm's grid. The low end takes the emission of
    dry straw (8.8 g/kg) where that is less, and lifts it with 18 MJ from each kg. Truth lies between: smouldering smoke
    stays low, flaming smoke rises. Chances look 2.2 sigma to each side of each likely wind. owner (n,): the receiver
    (0 to k - 1) that each point belongs to; then the arrays are (k,), for the worst of each receiver's points.
    """
    points = np.asarray(points_xy, dtype=float).reshape(-1, 2)
    sources = np.asarray(sources_xy, dtype=float).reshape(-1, 2)
    rate = possible("smoke rate", rate_g_s, 0, np.inf)
    whose = np.arange(len(points)) if owner is None else np.asarray(owner, dtype=int)
    count = int(whose.max()) + 1 if len(whose) else 0
    high, low, chance, sure = (np.zeros(count) for _ in range(4))
    if not len(sources) or not len(points):
        return SmokeBetween(high, low, chance, sure)
    heat_w = rate / emission_g_kg * STRAW_HEAT_J_KG
    clean = min(1.0, DRY_EMISSION_G_KG / emission_g_kg)
    for from_deg, weight, inside in zip(*_rays(spread), strict=True):
        here = smoke_of_wind(points, sources, rate, wind_km_h / 3.6, from_deg, stability)
        most = _worst(here, whose, count)
        chance += weight * (most > level_ug_m3)
        if inside:
            high = np.maximum(high, most)
            met = np.flatnonzero(here > 0)
            risen = smoke_of_wind(points[met], sources, rate * clean, wind_km_h / 3.6, from_deg, stability, heat_w)
            least = _worst(risen, whose[met], count)
            low = np.maximum(low, least)
            sure += weight * (least > limit_ug_m3)
    return SmokeBetween(high, low, np.minimum(chance, 1.0), np.minimum(sure, 1.0))


def _worst(smoke: Array, owner: NDArray[np.int_], count: int) -> Array:
    out = np.zeros(count)
    np.maximum.at(out, owner, smoke)
    return out


def _rays(spread: DirectionSpread) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Directions at most 4 degrees apart out to 2.2 sigma, their chances (summing to 1), and whether inside the fan."""
    degrees, weights, inside = [], [], []
    for weight, mean, sigma in zip(spread.weights, spread.means_deg, spread.sigmas_deg, strict=True):
        if weight < LEAST_WEIGHT:
            continue
        fan = _fan(sigma)
        tail = min(_CHANCE_SIGMAS * sigma, 180.0)
        beyond = np.linspace(fan[-1], tail, int(np.ceil((tail - fan[-1]) / STEP_DEG)) + 1)[1:]
        off = np.concatenate([-beyond[::-1], fan, beyond])
        share = np.exp(-0.5 * (off / sigma) ** 2) * np.gradient(off)
        degrees.append(mean + off)
        weights.append(weight * share / share.sum())
        inside.append(np.abs(off) <= fan[-1])
    chance = np.concatenate(weights)
    return np.concatenate(degrees) % 360.0, chance / chance.sum(), np.concatenate(inside)


def axes(from_deg: float) -> Array:
    """Unit vectors downwind and to its left, rows of a (2, 2) array."""
    t = np.radians(from_deg + 180.0)
    return np.array([[np.sin(t), np.cos(t)], [-np.cos(t), np.sin(t)]])


def smoke_of_wind(
    points: Array,
    sources: Array,
    rate: Array,
    wind_m_s: float,
    from_deg: float,
    stability: str,
    heat_w: Array | None = None,
) -> Array:
    """ug/m3 at points for one wind direction; risen with the heat of each source where that is given."""
    turn = axes(from_deg)
    p, s = points @ turn.T, sources @ turn.T
    along, across = p[:, None, 0] - s[None, :, 0], p[:, None, 1] - s[None, :, 1]
    height = 0.0 if heat_w is None else plume_rise(heat_w, wind_m_s, np.maximum(along, 0.0), stability)
    return np.asarray(plume(rate, wind_m_s, along, across, stability, height).sum(axis=1) * 1e6)
