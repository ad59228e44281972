"""What a slope does to a fire: faster up, slower down, pushed uphill across the wind."""

from typing import Any

import numpy as np

from mapper.farm.ranged import Array, Ranged, beyond, possible
from mapper.fire.shape import ellipse_axes

# Steeper counts as this, flagged: the rule is not supported beyond.
STEEPEST_DEG = 20.0


def slope_factor(slope_deg: Any) -> Ranged:
    """Return the factor on the rate of spread where fire meets a slope of slope_deg: up positive, down negative.

    Up: exp(0.069 s), doubling every 10 degrees (McArthur; the doubling read, the exponential from memory). Down:
    k / (2 k - 1) with k = 2^(|s| / 10) (Sullivan et al. 2014, Env. Modelling & Software 62:153-163, read), which never
    falls under a half. Range -20 to 20 degrees; steeper counts as 20, flagged: up that is too low, so heed the flag.
    """
    slope = possible("slope", slope_deg, -90, 90)
    s = np.clip(slope, -STEEPEST_DEG, STEEPEST_DEG)
    k = 2.0 ** (np.abs(s) / 10.0)
    return Ranged(np.where(s >= 0, np.exp(0.069 * s), k / (2 * k - 1)), beyond(slope, -STEEPEST_DEG, STEEPEST_DEG))


def on_slope(head_m_s: Any, lb: Any, to_deg: Any, slope_deg: Any, up_deg: Any) -> tuple[Array, Array, Array]:
    """Return head rate, length to breadth and heading of a fire on a slope; all broadcast.

    slope_deg: steepness, 0 to 90. up_deg: where uphill lies, degrees clockwise from grid north, as to_deg (where the
    head would run on the flat). Head and back take the factor of the slope they meet along the wind, the flanks that of
    the slope across it; the ellipse through those four with its rear focus at the start is returned. How wind and slope
    join is our choice, no source; on a slope straight along the wind it is McArthur's and Sullivan's rule exactly.
    """
    f, g, h = (np.asarray(x) * head_m_s for x in ellipse_axes(lb))
    turn = np.radians(np.asarray(up_deg, dtype=float) - to_deg)
    along, across = slope_deg * np.cos(turn), slope_deg * np.sin(turn)
    head, back = (f + g) * slope_factor(along).value, (f - g) * slope_factor(-along).value
    right, left = h * slope_factor(across).value, h * slope_factor(-across).value
    drift, aside = (head - back) / 2, (right - left) / 2
    # Half breadth: the mean of the two flanks, which on the flat is the root of head times back.
    breadth = np.sqrt(head * back) * (right + left) / (2 * h)
    away = np.hypot(drift, aside)
    half = np.hypot(away, breadth)
    heading = (np.asarray(to_deg, dtype=float) + np.degrees(np.arctan2(aside, drift))) % 360
    return half + away, half / breadth, heading
