"""Where the smoke goes: the ground-level footprint of burning rows by level, and what smoke does to sight.

Each alight row end is a small source. Footprints leave out plume rise and deposition: both lessen smoke at the ground.
What a receiver gets is told between two ends (weather/smokeat.py). Left out altogether: hills, and cold air that drains
down valleys in a calm.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np
import shapely

from mapper.farm.ranged import Array, possible
from mapper.weather.direction import DirectionSpread
from mapper.weather.plume import RANGE_M, briggs_sigmas
from mapper.weather.smokeat import axes, fan_deg, smoke_of_wind

# PM2.5, 1 h. 25: the level at which Tasmania tells the public, and the national 24 h standard (read). 100 and 300: our
# choice; in dry air one then sees about 8 and 3 km.
LEVELS_UG_M3: dict[str, float] = {"haze": 25.0, "smoke": 100.0, "thick smoke": 300.0}

# Light put out by fresh smoke, m2/g: 3-5 read and from memory (Reid et al. 2005); the upper end is the safe one.
EXTINCTION_M2_G = 5.0
_CLEAN_AIR_PER_M = 1.2e-5
# Smoke in damp air makes fog far thicker than smoke: sight is not worked out from here up (Achtemeier 2009, read).
FOG_RH_PCT = 65.0

_CELL_M = 100.0
_TIDY_M = 5.0


def row_rate_g_s(load_kg: Any, burn_s: float, emission_g_kg: float, share_burnt: float = 0.89) -> Array:
    """Return PM2.5 in g/s of straw (dry kg alight at once) that burns for burn_s seconds.

    emission_g_kg: 8.8 dry, 16.9 damp or smouldering straw; share_burnt 0.89 dry, 0.67 piles (Environ. Pollut. 2018,
    236:795-806, read).
    """
    return np.asarray(possible("load", load_kg, 0, np.inf) * share_burnt * emission_g_kg / burn_s)


def visibility_m(concentration_ug_m3: Any, rh_pct: Any) -> Array:
    """Return how far one sees (m) through smoke in dry air; NaN at 65 % humidity and more, or where it is not known.

    V = 3.912 / (MEE C + clean air), MEE 5 m2/g. NaN means fog danger: smoke in damp air can leave a few metres.
    """
    smoke = possible("smoke", concentration_ug_m3, 0, np.inf)
    rh = possible("humidity", rh_pct, 0, 100)
    sight = 3.912 / (EXTINCTION_M2_G * smoke * 1e-6 + _CLEAN_AIR_PER_M)
    return np.where(rh < FOG_RH_PCT, sight, np.nan)


def _gathered(sources: Array, rate: Array) -> tuple[Array, Array]:
    """Sources joined by 100 m cells (the plume says nothing nearer than that), their rates summed."""
    cell = np.floor(sources / _CELL_M).astype(np.int64)
    _, which = np.unique(cell, axis=0, return_inverse=True)
    which = which.ravel()
    total = np.asarray(np.bincount(which, rate), dtype=float)
    weight = np.where(total > 0, total, 1.0)
    middle = np.column_stack([np.bincount(which, rate * sources[:, k]) / weight for k in (0, 1)])
    lit = total > 0
    return middle[lit], total[lit]


def smoke_footprint(
    sources_xy: Any,
    rate_g_s: Any,
    wind_km_h: float,
    spread: DirectionSpread,
    stability: str,
    levels_ug_m3: Mapping[str, float] = LEVELS_UG_M3,
    reach_m: float = RANGE_M[1],
) -> dict[str, shapely.Geometry]:
    """Return for each level the area (polygon in farm metres, maybe empty) that its smoke may reach within the fan.

    sources (n, 2) in metres, rates (n,) of PM2.5. Each level holds the next thicker one. Ground within 100 m of a
    source is nearer than the equation goes and counts in every level. Farther than 10 km nothing is said; reach_m cuts
    sooner. Gaps between plumes across the wind are filled: the safe side.
    """
    sources = np.asarray(sources_xy, dtype=float).reshape(-1, 2)
    rate = possible("smoke rate", rate_g_s, 0, np.inf)
    if not len(sources) or not np.any(rate > 0):
        return {name: shapely.Polygon() for name in levels_ug_m3}
    middle, total = _gathered(sources, rate)
    near = shapely.union_all(shapely.buffer(shapely.points(sources[rate > 0]), RANGE_M[0], quad_segs=8))
    areas: dict[str, list[Any]] = {name: [near] for name in levels_ug_m3}
    for from_deg in fan_deg(spread):
        for name, area in _plumes(middle, total, wind_km_h / 3.6, from_deg, stability, levels_ug_m3, reach_m).items():
            areas[name].append(area)
    thicker: Any = shapely.Polygon()
    joined: dict[str, Any] = {}
    for name in sorted(areas, key=lambda n: -levels_ug_m3[n]):
        # Widened first, so that tidying never cuts smoke off; and each level holds the thicker one.
        tidy = shapely.simplify(shapely.buffer(shapely.union_all(areas[name]), _TIDY_M, quad_segs=4), _TIDY_M)
        thicker = joined[name] = shapely.union(tidy, thicker)
    return {name: joined[name] for name in levels_ug_m3}


def _plumes(
    sources: Array,
    rate: Array,
    wind_m_s: float,
    from_deg: float,
    stability: str,
    levels: Mapping[str, float],
    reach_m: float,
) -> dict[str, Any]:
    """Areas of one wind direction: at stations downwind, how far to each side each level is reached."""
    turn = axes(from_deg)
    s = sources @ turn.T
    first, last = s[:, 0].min(), s[:, 0].max()
    stations = np.unique(np.concatenate([np.linspace(first, last, 8), last + np.geomspace(30.0, reach_m, 28)]))
    wide = 4.0 * briggs_sigmas(np.maximum(stations - first, RANGE_M[0]), stability).across
    # Every source's own line is looked at as well, so that no narrow plume slips between.
    even = np.linspace(s[:, 1].min() - wide, s[:, 1].max() + wide, 41, axis=1)
    across = np.sort(np.hstack([even, np.broadcast_to(s[:, 1], (len(stations), len(s)))]), axis=1)
    grid = np.stack([np.repeat(stations, across.shape[1]), across.ravel()], axis=1) @ turn
    smoke = smoke_of_wind(grid, sources, rate, wind_m_s, from_deg, stability).reshape(across.shape)
    return {name: _outline(stations, across, smoke, level, turn) for name, level in levels.items()}


def _outline(stations: Array, across: Array, smoke: Array, level: float, turn: Array) -> Any:
    """Polygon round all that reaches the level, each side put where the smoke falls to it."""
    reached = smoke >= level
    rows = np.flatnonzero(reached.any(axis=1))
    if not len(rows):
        return shapely.Polygon()
    left = np.array([_side_at(across[i][::-1], smoke[i][::-1], level) for i in rows])
    right = np.array([_side_at(across[i], smoke[i], level) for i in rows])
    along, end = stations[rows], rows[-1] + 1
    if end < len(stations):
        # The tip: between the last station that reaches the level and the first that does not.
        peaks = np.log(np.maximum(smoke[[rows[-1], end]].max(axis=1), 1e-12))
        share = (peaks[0] - np.log(level)) / (peaks[0] - peaks[1])
        tip = stations[rows[-1]] + share * (stations[end] - stations[rows[-1]])
        middle = across[rows[-1]][smoke[rows[-1]].argmax()]
        along, left, right = np.append(along, tip), np.append(left, middle), np.append(right, middle)
    ring = np.vstack([np.column_stack([along, left]), np.column_stack([along, right])[::-1]])
    return shapely.make_valid(shapely.Polygon(ring @ turn)) if len(ring) >= 4 else shapely.Polygon()


def _side_at(across: Array, smoke: Array, level: float) -> float:
    """Where, coming from the start of the arrays, smoke first reaches the level."""
    k = int(np.argmax(smoke >= level))
    if k == 0:
        return float(across[0])
    low, high = np.log(np.maximum(smoke[k - 1], 1e-12)), np.log(smoke[k])
    return float(across[k - 1] + (np.log(level) - low) / (high - low) * (across[k] - across[k - 1]))
