"""Gaps in a break: where it is left open at a gate, or its parts do not meet at a corner."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.ground.boundary import BoundaryPieces

# Longer than this an open stretch is no gap but an edge without a break; shorter than the other it is how it was drawn.
# Our choices.
GAP_M, DRAWN_M = 40.0, 1.5


@dataclass(frozen=True)
class Gap:
    """One gap: the open part of the edge, and the pieces (indices) that it lies on."""

    line: shapely.LineString
    pieces: NDArray[np.intp]


def find_gaps(pieces: BoundaryPieces, bands: Sequence[BaseGeometry]) -> list[Gap]:
    """Return the gaps in the breaks beside an edge.

    bands: the ground that breaks there cover, widened by what counts as beside the edge (ground/present.py), flat ends.
    A gap is a part of a ring up to 40 m long that no band covers, between parts that one does.
    """
    if not bands:
        return []
    bare = shapely.union_all(list(bands))
    shapely.prepare(bare)
    segments = shapely.linestrings(np.stack([pieces.starts, pieces.ends], axis=1))
    half_open = np.flatnonzero(~shapely.covers(bare, segments))
    gaps = []
    for ring in np.unique(pieces.ring[half_open]):
        on = half_open[pieces.ring[half_open] == ring]
        open_ = shapely.difference(segments[on], bare)
        joined = shapely.line_merge(shapely.union_all(open_))
        for part in shapely.get_parts(joined):
            if DRAWN_M < part.length <= GAP_M and not part.is_ring:
                gaps.append(Gap(part, on[shapely.dwithin(open_, part, 0.01) & (shapely.length(open_) > 0)]))
    return gaps
