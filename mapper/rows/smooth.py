"""The way a machine drove, smoothed as tightly as it can have turned: a banded Whittaker smoother on true times.

Eilers P.H.C. 2003, A perfect smoother, Anal. Chem. 75:3631-3636, with the second difference taken on true times and
its weight from the receiver's noise and the acceleration a harvester shows: 0.02 m/s2 on straights, 0.4 m/s2 in turns,
stops and starts (measured on simulated logs; no published source).
"""

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array

_STRAIGHT_M_S2, _TURN_M_S2 = 0.02, 0.4
_WINDOW_S = 3.0


def position_noise(x: Array, y: Array, tracklet: NDArray[np.int64]) -> float:
    """Return the receiver's short-term noise in metres, from second differences across the way; 0.01 to 0.5."""
    if len(x) < 20:
        return 0.02
    d2x, d2y = x[2:] - 2 * x[1:-1] + x[:-2], y[2:] - 2 * y[1:-1] + y[:-2]
    ux, uy = x[2:] - x[:-2], y[2:] - y[:-2]
    length = np.hypot(ux, uy)
    good = (tracklet[2:] == tracklet[:-2]) & (length > 1)
    if good.sum() < 10:
        return 0.02
    across = np.abs(d2x * uy - d2y * ux)[good] / length[good]
    return float(np.clip(np.median(across) / 0.6745 / np.sqrt(6), 0.01, 0.5))


def smooth(t_s: Array, x: Array, y: Array, tracklet: NDArray[np.int64], noise_m: float) -> tuple[Array, Array]:
    """Return smoothed x and y (metres); fixes sorted by series, then time; nothing smooths across tracklets."""
    from scipy.linalg import solveh_banded

    n = len(x)
    if n < 3:
        return x.copy(), y.copy()
    h = np.maximum(np.diff(t_s), 1e-2)
    h1, h2 = h[:-1], h[1:]
    inside = (tracklet[2:] == tracklet[:-2]) & (tracklet[1:-1] == tracklet[:-2])
    may = np.where(_turning(t_s, x, y), _TURN_M_S2, _STRAIGHT_M_S2)[1:-1]
    weight = np.where(inside, (noise_m / may) ** 2 * (h1 + h2) / 2, 0.0)
    a, c = 2 / (h1 * (h1 + h2)), 2 / (h2 * (h1 + h2))
    b = -(a + c)
    band = np.zeros((3, n))  # lower form: diagonal, first, second below
    band[0] = 1.0
    for at, coefficient in ((0, a), (1, b), (2, c)):
        band[0, at : n - 2 + at] += weight * coefficient**2
    band[1, : n - 2] += weight * a * b
    band[1, 1 : n - 1] += weight * b * c
    band[2, : n - 2] += weight * a * c
    # About the middle, so that metres of a national grid cost no digits.
    mx, my = x.mean(), y.mean()
    z = solveh_banded(band, np.column_stack((x - mx, y - my)), lower=True, check_finite=False)
    return z[:, 0] + mx, z[:, 1] + my


def _turning(t: Array, x: Array, y: Array) -> NDArray[np.bool_]:
    """Where course turns by more than 20 degrees or speed changes by more than 30 % within six seconds."""
    before, after = np.searchsorted(t, t - _WINDOW_S - 1e-6), np.searchsorted(t, t + _WINDOW_S + 1e-6) - 1
    if np.any(np.diff(t) < 0):  # several series follow one another
        step = max(1, round(_WINDOW_S / max(1e-2, float(np.median(np.abs(np.diff(t)))))))
        i = np.arange(len(t))
        before, after = np.maximum(i - step, 0), np.minimum(i + step, len(t) - 1)
    i = np.arange(len(t))
    before, after = np.minimum(before, np.maximum(i - 1, 0)), np.maximum(after, np.minimum(i + 1, len(t) - 1))
    ux, uy, vx, vy = x - x[before], y - y[before], x[after] - x, y[after] - y
    one, two = np.hypot(ux, uy), np.hypot(vx, vy)
    with np.errstate(divide="ignore", invalid="ignore"):
        cos = (ux * vx + uy * vy) / (one * two)
        pace_1, pace_2 = one / (t - t[before]), two / (t[after] - t)
        change = np.abs(pace_2 - pace_1) / np.maximum(pace_1, pace_2)
    return ~((cos > np.cos(np.radians(20))) & (change < 0.3))
