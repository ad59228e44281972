"""Where header and chute are: the body's heading from the way driven, with reversing recognised."""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from mapper.farm.farm import Harvester
from mapper.farm.ranged import Array
from mapper.rows.path import Path

# Slower than this the course says nothing; the body keeps its heading.
_STANDING_M_S = 0.25
# A harvester reverses no further: 45 m, or 15 m with the header down. Further means that it drove on.
_LONGEST_REVERSE_M, _LONGEST_REVERSE_DOWN_M = 45.0, 15.0


@njit(cache=True)
def _reversing(vx, vy, step_m, first, down):  # type: ignore[no-untyped-def]
    n = len(vx)
    reverse = np.zeros(n, np.bool_)
    hx, hy, known, backward, start, run_m, down_m = 0.0, 0.0, False, False, 0, 0.0, 0.0
    for i in range(n):
        if first[i]:
            known, backward = False, False
        v = np.hypot(vx[i], vy[i])
        if v >= _STANDING_M_S:
            cx, cy = vx[i] / v, vy[i] / v
            sign = -1.0 if backward else 1.0
            if known and (cx * hx + cy * hy) * sign < -0.35:
                backward = not backward
                sign = -sign
                if backward:
                    start, run_m, down_m = i, 0.0, 0.0
            known = True
            hx, hy = sign * cx, sign * cy
        if backward:
            run_m += step_m[i]
            down_m += step_m[i] if down[i] else 0.0
            reverse[i] = True
            if run_m > _LONGEST_REVERSE_M or down_m > _LONGEST_REVERSE_DOWN_M:
                reverse[start : i + 1] = False
                backward = False
                hx, hy = -hx, -hy
    return reverse


@njit(cache=True)
def _hold(hx, hy, moving, first):  # type: ignore[no-untyped-def]
    """Give standing seconds the heading before them, and those at a piece's start the one after."""
    n = len(hx)
    for i in range(1, n):
        if not moving[i] and not first[i]:
            hx[i], hy[i] = hx[i - 1], hy[i - 1]
    for i in range(n - 2, -1, -1):
        if hx[i] == 0.0 and hy[i] == 0.0 and not first[i + 1]:
            hx[i], hy[i] = hx[i + 1], hy[i + 1]


@dataclass(frozen=True)
class Body:
    """Unit heading (hx, hy) of the body, ends of the header and the chute, metres, second by second."""

    hx: Array
    hy: Array
    left_x: Array
    left_y: Array
    right_x: Array
    right_y: Array
    chute_x: Array
    chute_y: Array
    reversing: NDArray[np.bool_]


def place_body(path: Path, harvester: Harvester) -> Body:
    """Return header and chute along the way. The antenna's side offset moves both: they lie on the centre line."""
    v = np.maximum(path.speed_m_s, 1e-9)
    reverse = _reversing(path.vx, path.vy, path.step_m, path.first, path.down_after == 1)
    sign = np.where(reverse, -1.0, 1.0)
    moving = path.speed_m_s >= _STANDING_M_S
    hx, hy = np.where(moving, sign * path.vx / v, 0.0), np.where(moving, sign * path.vy / v, 0.0)
    _hold(hx, hy, moving, path.first)
    # Right of the heading is (hy, -hx); the centre lies left of an antenna that sits right of it.
    cx, cy = path.x - harvester.antenna_right_m * hy, path.y + harvester.antenna_right_m * hx
    bar_x, bar_y = cx + harvester.header_ahead_m * hx, cy + harvester.header_ahead_m * hy
    half = harvester.header_width_m / 2
    return Body(
        hx,
        hy,
        bar_x - half * hy,
        bar_y + half * hx,
        bar_x + half * hy,
        bar_y - half * hx,
        cx - harvester.chute_behind_m * hx,
        cy - harvester.chute_behind_m * hy,
        reverse,
    )
