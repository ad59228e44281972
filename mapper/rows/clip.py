"""Rows kept inside their paddock and drawn with no more points than they need."""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.ranged import Array

# Kept from a row's way; rows are half a metre wide.
_LINE_TOLERANCE_M = 0.02
# So that a long straight can be picked, cut and checked for jumps by its points.
_LONGEST_STEP_M = 10.0
_SHORTEST_ROW_M = 2.0


def clip_lines(lines: NDArray[np.object_], area: BaseGeometry) -> tuple[NDArray[np.object_], NDArray[np.int64], Array]:
    """Return the parts of lines inside area, in driving direction, which line each is of and where on it it begins."""
    shapely.prepare(area)
    whole = shapely.covers(area, lines)
    parts, of, begin = [lines[whole]], [np.flatnonzero(whole)], [np.zeros(int(whole.sum()))]
    cut = np.flatnonzero(~whole & shapely.intersects(area, lines))
    for k in cut:
        pieces, from_m = _in_order(lines[k], area)
        parts.append(pieces)
        of.append(np.full(len(pieces), k))
        begin.append(from_m)
    every, source, starts = np.concatenate(parts), np.concatenate(of), np.concatenate(begin)
    long_enough = shapely.length(every) >= _SHORTEST_ROW_M
    every, source, starts = every[long_enough], source[long_enough], starts[long_enough]
    new = np.argsort(source, kind="stable")
    return every[new], source[new], starts[new]


def _in_order(line: object, area: BaseGeometry) -> tuple[NDArray[np.object_], Array]:
    """Intersection with pieces joined where the overlay cut them at the line's own crossings; distances they begin."""
    xy = shapely.get_coordinates(line)
    along = np.r_[0.0, np.cumsum(np.hypot(*np.diff(xy, axis=0).T))]
    begin: list[float] = []
    segments = shapely.linestrings(np.stack((xy[:-1], xy[1:]), axis=1))
    inside = shapely.covers(area, segments)
    pieces: list[list[tuple[float, float]]] = []
    for k, segment in enumerate(segments):
        found = [segment] if inside[k] else list(shapely.get_parts(shapely.intersection(segment, area)))
        for part in found:
            if part.geom_type != "LineString" or part.length == 0:
                continue
            a, b = part.coords[0], part.coords[-1]
            if (b[0] - a[0]) * (xy[k + 1, 0] - xy[k, 0]) + (b[1] - a[1]) * (xy[k + 1, 1] - xy[k, 1]) < 0:
                a, b = b, a
            if pieces and np.hypot(pieces[-1][-1][0] - a[0], pieces[-1][-1][1] - a[1]) < 1e-6:
                pieces[-1].append(b)
            else:
                pieces.append([a, b])
                begin.append(float(along[k] + np.hypot(a[0] - xy[k, 0], a[1] - xy[k, 1])))
    return np.array([shapely.LineString(p) for p in pieces] + [None], object)[:-1], np.array(begin)


def thin_lines(lines: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return lines within 2 cm of these with fewer points, yet one every 10 m."""
    simple = shapely.simplify(lines, _LINE_TOLERANCE_M, preserve_topology=False)
    result: NDArray[np.object_] = np.asarray(shapely.segmentize(simple, _LONGEST_STEP_M), object)
    return result
