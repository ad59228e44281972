"""Edge rows: the pieces along the downwind edge, burnt out before anything inside is lit."""

from collections.abc import Sequence

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.order.precedence import Pairs

# An edge that is likelier than not to lie downwind; a piece that runs along it for most of its length. Our choices.
LIKELY, MOST = 0.5, 0.6
# The first row beside the edge lies half a header width in; this many header widths catch it and not the third.
STRIP_HEADERS = 1.2
# Edge pieces are cut from a slightly simplified boundary.
_ON_EDGE_M = 1.0


def edge_rows(
    lines: Sequence[shapely.LineString],
    edges: gpd.GeoDataFrame,
    paddock: BaseGeometry,
    header_m: float,
    break_m: float,
) -> NDArray[np.bool_]:
    """Return (n,): True for pieces that run along an edge likely to lie downwind.

    edges : layer "edges" of the paddock; edges of holes are passed over, since no land of others lies beyond them.
    header_m : header width. break_m : bare width that may lie inside the edge.
    """
    outline = shapely.multilinestrings([part.exterior for part in shapely.get_parts(paddock)])
    outside = edges.geometry.centroid.distance(outline) <= _ON_EDGE_M
    downwind = edges[outside & (edges["chance_downwind"] >= LIKELY)]
    if downwind.empty or not lines:
        return np.zeros(len(lines), dtype=bool)
    near = downwind.geometry.union_all().buffer(STRIP_HEADERS * header_m + break_m)
    shapely.prepare(near)
    inside = shapely.length(shapely.intersection(np.array(lines, dtype=object), near))
    return np.asarray(inside >= MOST * shapely.length(np.array(lines, dtype=object)))


def with_downwind(chosen: NDArray[np.bool_], pairs: Pairs) -> NDArray[np.bool_]:
    """Return the pieces chosen and all that must be lit before any of them."""
    result = chosen.copy()
    while True:
        more = pairs.first[result[pairs.then]]
        if result[more].all():
            return result
        result[more] = True
