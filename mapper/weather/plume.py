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


def plume(rate_g_s: Any, wind_m_s: float, along_m: Any, across_m: Any, stability: str, height_m: float = 0.0) -> Array:
    """Return the concentration (g/m3) at the ground of a point source, along_m downwind and across_m off the axis.

    C = Q / (pi u sy sz) exp(-y^2 / 2 sy^2) exp(-H^2 / 2 sz^2). Nought upwind. Wind under 1 m/s counts as 1. Nearer
    than 100 m the equation says nothing: the width at 100 m is used there. height_m: of the source.
    """
    along = np.asarray(along_m, dtype=float)
    across, up = _widths(np.maximum(along, RANGE_M[0]), stability)
    peak = np.asarray(rate_g_s) / (np.pi * max(wind_m_s, LEAST_WIND_M_S) * across * up)
    shape = np.exp(-0.5 * ((np.asarray(across_m) / across) ** 2 + (height_m / up) ** 2))
    return np.where(along > 0, peak * shape, 0.0)


def line_plume(rate_g_m_s: float, wind_m_s: float, along_m: Any, stability: str) -> Array:
    """Return ground concentration (g/m3) downwind of a long line across the wind; rate in g a metre a second.

    C = 2 q / (sqrt(2 pi) u sz).
    """
    _, up = _widths(np.maximum(np.asarray(along_m, dtype=float), RANGE_M[0]), stability)
    return np.asarray(2 * rate_g_m_s / (np.sqrt(2 * np.pi) * max(wind_m_s, LEAST_WIND_M_S) * up))
