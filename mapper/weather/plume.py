"""The Gaussian plume: how a small source at the ground spreads downwind."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array, possible

# Briggs, open country, metres, 0.1-10 km (read): sigma_y = a x (1 + 0.0001 x)^-0.5; sigma_z = b x (1 + c x)^-p.
_ACROSS = {"A": 0.22, "B": 0.16, "C": 0.11, "D": 0.08, "E": 0.06, "F": 0.04}
_UP = {
    "A": (0.20, 0.0, 0.0),
    "B": (0.12, 0.0, 0.0),
    "C": (0.08, 0.0002, 0.5),
    "D": (0.06, 0.0015, 0.5),
    "E": (0.03, 0.0003, 1.0),
    "F": (0.016, 0.0003, 1.0),
}
RANGE_M = (100.0, 10_000.0)
# Least wind of the plume equation, m/s (EPA-454/R-99-005, read).
LEAST_WIND_M_S = 1.0
_BUOYANCY_PER_W, _GRAVITY = 8.8e-6, 9.81
# How much warmer the air gets with height in stable classes, K/m (from memory).
_LAYERING = {"E": 0.020, "F": 0.035}


class Sigmas(NamedTuple):
    """Plume widths in metres, and where the distance was outside 0.1-10 km."""

    across: Array
    up: Array
    outside: NDArray[np.bool_]


def briggs_sigmas(distance_m: Any, stability: str) -> Sigmas:
    """Return the plume's standard deviations at a distance downwind (m) in a stability class "A".."F"."""
    x = possible("distance downwind", distance_m, 0, np.inf)
    return Sigmas(*_widths(x, stability), (x < RANGE_M[0]) | (x > RANGE_M[1]))


def _widths(x: Array, stability: str) -> tuple[Array, Array]:
    b, c, p = _UP[stability]
    # Roots and not powers: this is the inner loop of every footprint.
    return _ACROSS[stability] * x / np.sqrt(1 + 0.0001 * x), b * x / (1 + c * x) ** p


def plume_rise(heat_w: Any, wind_m_s: float, distance_m: Any, stability: str, temp_c: float = 20.0) -> Array:
    """Return how high a hot plume's axis stands (m) at a distance downwind of a source of heat_w watts.

    Briggs' equations as in EPA-454/B-95-003b: 1.6 F^(1/3) x^(2/3) / u while it rises and its stable end height (read);
    neutral and unstable end heights, and the layering of E and F air (0.020, 0.035 K/m), from memory. F = 8.8e-6 Q
    (m4/s3). Wind under 1 m/s counts as 1. Made for stacks: for burning rows it is the most that smoke rises.
    """
    heat = possible("heat", heat_w, 0, np.inf)
    x = possible("distance downwind", distance_m, 0, np.inf)
    wind = max(wind_m_s, LEAST_WIND_M_S)
    buoyancy = np.maximum(_BUOYANCY_PER_W * heat, 1e-12)
    rising = 1.6 * np.cbrt(buoyancy) * np.cbrt(x) ** 2 / wind
    if stability in _LAYERING:
        layered = _GRAVITY / (temp_c + 273.15) * _LAYERING[stability]
        end = 2.6 * np.cbrt(buoyancy / (wind * layered))
    else:
        small = buoyancy < 55.0
        end = np.where(small, 21.425 * buoyancy**0.75, 38.71 * buoyancy**0.6) / wind
    return np.asarray(np.minimum(rising, end))


def plume(rate_g_s: Any, wind_m_s: float, along_m: Any, across_m: Any, stability: str, height_m: Any = 0.0) -> Array:
    """Return the concentration (g/m3) at the ground of a point source, along_m downwind and across_m off the axis.

    C = Q / (pi u sy sz) exp(-y^2 / 2 sy^2) exp(-H^2 / 2 sz^2). Nought upwind. Wind under 1 m/s counts as 1. Nearer
    than 100 m the equation says nothing: the width at 100 m is used there. height_m: of the plume's axis, broadcast.
    """
    along = np.asarray(along_m, dtype=float)
    across, up = _widths(np.maximum(along, RANGE_M[0]), stability)
    smoke = gaussian(rate_g_s, max(wind_m_s, LEAST_WIND_M_S), across, up, across_m, height_m)
    return np.where(along > 0, smoke, 0.0)


def gaussian(rate_g_s: Any, wind_m_s: Any, across: Any, up: Any, across_m: Any = 0.0, height_m: Any = 0.0) -> Array:
    """Return the concentration (g/m3) at the ground of a plume of given widths across and up (m); all broadcast."""
    peak = np.asarray(rate_g_s) / (np.pi * np.asarray(wind_m_s) * across * up)
    return np.asarray(peak * np.exp(-0.5 * ((np.asarray(across_m) / across) ** 2 + (np.asarray(height_m) / up) ** 2)))


def line_plume(rate_g_m_s: float, wind_m_s: float, along_m: Any, stability: str) -> Array:
    """Return ground concentration (g/m3) downwind of a long line across the wind; rate in g a metre a second.

    C = 2 q / (sqrt(2 pi) u sz).
    """
    _, up = _widths(np.maximum(np.asarray(along_m, dtype=float), RANGE_M[0]), stability)
    return np.asarray(2 * rate_g_m_s / (np.sqrt(2 * np.pi) * max(wind_m_s, LEAST_WIND_M_S) * up))
