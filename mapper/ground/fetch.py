"""Fetch: how far burnable ground runs upwind of a point, by casting rays."""

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry.base import BaseGeometry

from mapper.farm.ranged import Array
from mapper.ground.boundary import unit

# Points on a simplified or hand-drawn edge lie a little off it: crossings this close behind are the edge itself.
_ON_EDGE_M = 1.0


def fetch(points: Array, area: BaseGeometry, to_deg: ArrayLike) -> Array:
    """Return the run of burnable ground behind each point, in metres.

    Parameters
    ----------
    points : (n, 2), metres; on the edge of `area` or inside it.
    area : burnable ground; holes are bare ground, water and the like.
    to_deg : (k,) headings in which fire travels, degrees clockwise from grid north.

    Returns
    -------
    (n, k): distance from the point, against the heading, to where burnable ground ends; 0 where the ray leaves at once.
    """
    to = np.atleast_1d(np.asarray(to_deg, dtype=float))
    result = np.zeros((len(points), len(to)))
    if area.is_empty or len(points) == 0:
        return result
    starts, ends = _segments(area)
    for k, back in enumerate(-unit(to)):
        across = np.array([-back[1], back[0]])
        far_a, far_b, side_a, side_b = starts @ back, ends @ back, starts @ across, ends @ across
        far_p, side_p = points @ back, points @ across
        crosses = (side_a[None, :] <= side_p[:, None]) != (side_b[None, :] <= side_p[:, None])
        p, s = np.nonzero(crosses)
        run = far_a[s] + (side_p[p] - side_a[s]) / (side_b[s] - side_a[s]) * (far_b[s] - far_a[s]) - far_p[p]
        ahead = run > _ON_EDGE_M
        nearest = np.full(len(points), np.inf)
        np.minimum.at(nearest, p[ahead], run[ahead])
        # A ray that leaves at once runs outside first, and crosses the edge an even number of times after.
        inside = np.bincount(p[ahead], minlength=len(points)) % 2 == 1
        result[:, k] = np.where(inside, nearest, 0.0)
    return result


def _segments(area: BaseGeometry) -> tuple[Array, Array]:
    starts, ends = [], []
    for ring in shapely.get_rings(shapely.get_parts(area)):
        corners = shapely.get_coordinates(ring)
        starts.append(corners[:-1])
        ends.append(corners[1:])
    return np.concatenate(starts), np.concatenate(ends)


def fetch_at(table: Array, to_deg: Array) -> Array:
    """Return fetch read from a table (n, k) of even headings 0, 360/k, ... at headings to_deg (n, m), in metres."""
    count = table.shape[1]
    place = (to_deg % 360) / (360 / count)
    low = np.floor(place).astype(int) % count
    share = place - np.floor(place)
    first, flat = (np.arange(len(table)) * count)[:, None], table.ravel()
    here, next_ = flat.take(first + low), flat.take(first + (low + 1) % count)
    return np.asarray(here + (next_ - here) * share)
