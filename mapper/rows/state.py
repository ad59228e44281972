"""What may have been cut when, from the header flag and what it does not say; and whether the boundary fits."""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.rows.cut import DOWN, OPENING, PERHAPS, UP
from mapper.rows.path import Path

# Nobody harvests faster (16 km/h); it is the road.
_ROAD_M_S = 4.5
# A flag may come this late.
_OPENING_S = 3.0
# Flow below this share of its usual value is no crop coming in.
_NO_GRAIN = 0.3
# Passes end where the way turns by this much in ten seconds.
_TURN_DEG = 60.0


def cutting_state(path: Path, reversing: NDArray[np.bool_]) -> NDArray[np.int8]:
    """Return UP, DOWN, PERHAPS (flag unknown or changing) or OPENING (shortly before it goes down) for each second."""
    before, after = path.down_before, path.down_after
    state = np.full(len(path), PERHAPS, np.int8)
    state[(before == 0) & (after == 0)] = UP
    state[(before == 1) & (after == 1)] = DOWN
    down = np.flatnonzero((state != UP) & ~path.first)
    if len(down):
        next_down = down[np.minimum(np.searchsorted(down, np.arange(len(path))), len(down) - 1)]
        wait = path.t_s[next_down] - path.t_s
        soon = (path.piece[next_down] == path.piece) & (wait > 0) & (wait <= _OPENING_S)
        state[(state == UP) & soon] = OPENING
    state[(path.speed_m_s > _ROAD_M_S) | reversing | path.first] = UP
    return state


def pass_heading_deg(path: Path, state: NDArray[np.int8]) -> float:
    """Return the usual heading of the passes, 0 to 180 degrees from grid north, weighted by distance."""
    cut = (state == DOWN) | (state == PERHAPS)
    angle = np.degrees(np.arctan2(path.vx[cut], path.vy[cut])) % 180
    if not len(angle):
        return 0.0
    weight = np.bincount((angle // 2).astype(int) % 90, path.step_m[cut], minlength=90)
    around = np.abs((angle - (2 * np.argmax(weight) + 1) + 90) % 180 - 90) < 4
    double = np.radians(2 * angle[around])
    return float(np.degrees(np.arctan2(np.sin(double).mean(), np.cos(double).mean())) / 2 % 180)


def share_inside(path: Path, state: NDArray[np.int8], mask: BaseGeometry) -> float:
    """Return which share of the passes that enter the paddock lies in it; NaN where no pass enters it.

    Passes of a paddock next door never enter, so they do not count; nor do turns without a flag that bring no grain.
    """
    flow = path.flow_kg_s
    empty = flow < _NO_GRAIN * np.median(flow[flow > 0]) if (flow > 0).any() else np.zeros(len(path), bool)
    at = np.flatnonzero((state == DOWN) | ((state == PERHAPS) & ~empty))
    if not len(at):
        return float("nan")
    course = np.unwrap(np.arctan2(path.vx, path.vy))
    turning = np.abs(course - np.r_[course[:5], course[:-5]]) > np.radians(_TURN_DEG)
    new = (np.diff(at) > 1) | (path.piece[at[1:]] != path.piece[at[:-1]]) | (turning[at[1:]] & ~turning[at[:-1]])
    run = np.cumsum(np.r_[True, new]) - 1
    shapely.prepare(mask)
    inside = shapely.contains_xy(mask, path.x[at], path.y[at])
    step = path.step_m[at]
    length, within = np.bincount(run, step), np.bincount(run, step * inside)
    enters = within > 20
    return float(within[enters].sum() / length[enters].sum()) if enters.any() else float("nan")
