"""A paddock's boundary, and the edges of its holes, cut into short pieces with outward normals."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.errors import LayerError
from mapper.farm.ranged import Array


@dataclass(frozen=True)
class BoundaryPieces:
    """n straight pieces in ring order. starts, ends (n, 2) metres; facing_deg: outward normal, clockwise from grid
    north; ring: number of the ring a piece lies on; inside: True for the edge of a hole.
    """

    starts: Array
    ends: Array
    facing_deg: Array
    ring: NDArray[np.int64]
    inside: NDArray[np.bool_]

    @property
    def mids(self) -> Array:
        """Middle of each piece, (n, 2)."""
        return np.asarray((self.starts + self.ends) / 2)

    @property
    def lengths_m(self) -> Array:
        """Length of each piece."""
        return np.asarray(np.hypot(*(self.ends - self.starts).T))


def cut_boundary(area: BaseGeometry, longest_m: float = 25.0) -> BoundaryPieces:
    """Return the boundary of an area in pieces no longer than longest_m.

    Every corner ends a piece: pass a boundary logged every metre through smooth() first. Raises LayerError for an area
    without size.
    """
    if area.is_empty or not area.area > 0:
        raise LayerError("the paddock has no area", "paddock boundary", "Draw it again")
    parts = shapely.get_parts(shapely.orient_polygons(area))
    starts, ends, ring_no, inside = [], [], [], []
    number = 0
    for part in parts:
        for k, ring in enumerate((part.exterior, *part.interiors)):
            a, b = _cut_ring(shapely.get_coordinates(ring), longest_m)
            starts.append(a)
            ends.append(b)
            ring_no.append(np.full(len(a), number))
            inside.append(np.full(len(a), k > 0))
            number += 1
    start, end = np.concatenate(starts), np.concatenate(ends)
    along = end - start
    # Rings run with the area on their left, so outward is a quarter turn to the right.
    facing = (np.degrees(np.arctan2(along[:, 0], along[:, 1])) + 90) % 360
    return BoundaryPieces(start, end, facing, np.concatenate(ring_no), np.concatenate(inside))


def smooth(area: BaseGeometry, ignore_m: float = 0.3) -> BaseGeometry:
    """Return the area without corners that bend its boundary by less than ignore_m."""
    return area.simplify(ignore_m)


def _cut_ring(corners: Array, longest_m: float) -> tuple[Array, Array]:
    along = np.diff(corners, axis=0)
    counts = np.maximum(np.ceil(np.hypot(*along.T) / longest_m - 1e-9).astype(int), 1)
    side = np.repeat(np.arange(len(along)), counts)
    step = np.arange(len(side)) - np.repeat(np.cumsum(counts) - counts, counts)
    start = corners[side] + along[side] * (step / counts[side])[:, None]
    end = corners[side] + along[side] * ((step + 1) / counts[side])[:, None]
    return start, end


def unit(direction_deg: Array | float) -> Array:
    """Return unit vectors (..., 2) for directions in degrees clockwise from grid north."""
    turn = np.radians(direction_deg)
    return np.stack([np.sin(turn), np.cos(turn)], axis=-1)
