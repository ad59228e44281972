"""Levels of detail: shapes flattened once to arrays, thinned by what a pixel can show, culled by what a view sees."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.draw.view import View
from mapper.farm.ranged import Array

Indices = NDArray[np.int64]
LINE_STEPS_M = (0.0, 0.5, 2.0, 8.0)
POINT_STEPS_M = (0.0, 1.0, 4.0, 16.0)
_FINEST_PX = 0.5
# Corners nearer to the line through their neighbours than this are none: rows come with one every few metres.
_NOTHING_M = 0.02


def pick_step(steps_m: tuple[float, ...], view: View) -> int:
    """Return the index of the coarsest step that stays under half a device pixel."""
    seen = [k for k, step in enumerate(steps_m) if step * view.px_per_m * view.ratio <= _FINEST_PX]
    return seen[-1]


@dataclass(frozen=True)
class _Level:
    xy: Array  # (n, 2) metres from the origin
    first: Indices  # (parts + 1,) where each part begins
    owner: Indices  # (parts,) feature that the part belongs to
    box: Array  # (parts, 4) west, south, east, north


class Lines:
    """Lines, or the rings of areas, of one layer. shapes: array of shapely geometries in metres."""

    def __init__(self, shapes: Any) -> None:
        self.shapes = np.asarray(shapes, dtype=object)
        bounds = shapely.total_bounds(self.shapes) if len(self.shapes) else np.zeros(4)
        self.origin = np.where(np.isfinite(bounds[:2]), bounds[:2], 0.0)
        self._made: dict[int, _Level] = {}

    @cached_property
    def _parts(self) -> tuple[Any, Indices]:
        is_area = np.isin(shapely.get_type_id(self.shapes), (3, 6))
        rings = np.where(is_area, shapely.boundary(self.shapes), self.shapes)
        parts, owner = shapely.get_parts(rings, return_index=True)
        keep = np.isin(shapely.get_type_id(parts), (1, 2)) & ~shapely.is_empty(parts)
        return parts[keep], owner[keep]

    def _level(self, view: View) -> _Level:
        step = pick_step(LINE_STEPS_M, view)
        if step not in self._made:
            parts, owner = self._parts
            if len(parts):
                parts = shapely.simplify(parts, max(LINE_STEPS_M[step], _NOTHING_M), preserve_topology=False)
            xy, part = shapely.get_coordinates(parts, return_index=True)
            first = np.concatenate([[0], np.cumsum(np.bincount(part, minlength=len(parts)))]).astype(np.int64)
            self._made[step] = _Level(xy - self.origin, first, owner, shapely.bounds(parts).reshape(-1, 4))
        return self._made[step]

    def _seen(self, level: _Level, view: View, wanted: Any, margin_px: float) -> NDArray[np.bool_]:
        west, south, east, north = view.bounds(margin_px)
        box = level.box
        seen = (box[:, 0] <= east) & (box[:, 2] >= west) & (box[:, 1] <= north) & (box[:, 3] >= south)
        return seen if wanted is None else seen & np.asarray(wanted, dtype=bool)[level.owner]

    def segments(self, view: View, wanted: Any = None, margin_px: float = 8.0) -> tuple[Array, Indices]:
        """Return segments (k, 4) in painter units, contiguous, and the feature each belongs to.

        wanted: mask over features, or None for all. Parts whose box the view does not touch are left out.
        """
        level = self._level(view)
        seen = self._seen(level, view, wanted, margin_px)
        count = np.diff(level.first)
        part = np.repeat(np.arange(len(count)), count)
        keep = seen[part[:-1]] & (part[:-1] == part[1:]) if len(part) > 1 else np.zeros(0, dtype=bool)
        start = np.flatnonzero(keep)
        if not len(start):
            return np.empty((0, 4)), np.empty(0, dtype=np.int64)
        px = view.points(level.xy + self.origin)
        return np.ascontiguousarray(np.hstack([px[start], px[start + 1]])), level.owner[part[start]]

    def polylines(self, view: View, wanted: Any = None, margin_px: float = 8.0) -> list[tuple[int, Array]]:
        """Return feature and painter positions (n, 2) of each part the view touches."""
        level = self._level(view)
        found = np.flatnonzero(self._seen(level, view, wanted, margin_px))
        return [
            (int(level.owner[k]), view.points(level.xy[level.first[k] : level.first[k + 1]] + self.origin))
            for k in found
        ]


class Points:
    """Points of one layer, positions (n, 2) in metres; coarse levels keep one point a cell."""

    def __init__(self, xy_m: Array) -> None:
        self.xy = np.asarray(xy_m, dtype=float).reshape(-1, 2)
        self._made: dict[int, Indices] = {}

    def seen(self, view: View, margin_px: float = 8.0) -> Indices:
        """Return indices of the points to draw, in their own order."""
        step = pick_step(POINT_STEPS_M, view)
        if step not in self._made:
            kept = np.arange(len(self.xy))
            if POINT_STEPS_M[step] and len(kept):
                cell = np.floor((self.xy - self.xy.min(axis=0)) / POINT_STEPS_M[step]).astype(np.int64)
                _, first = np.unique(cell[:, 0] * (cell[:, 1].max() + 1) + cell[:, 1], return_index=True)
                kept = np.sort(first)
            self._made[step] = kept
        kept = self._made[step]
        west, south, east, north = view.bounds(margin_px)
        x, y = self.xy[kept, 0], self.xy[kept, 1]
        seen: Indices = kept[(x >= west) & (x <= east) & (y >= south) & (y <= north)]
        return seen
