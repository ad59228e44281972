"""Edge rows: the pieces along the downwind edge, burnt out before anything inside is lit."""

from collections.abc import Sequence
from dataclasses import replace

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.order.pieces import Piece, split_at
from mapper.order.precedence import Pairs

# An edge that is likelier than not to lie downwind; a piece that runs along it for most of its length. Our choices.
LIKELY, MOST = 0.5, 0.6
# The first row beside the edge lies half a header width in; this many header widths catch it and not the third.
STRIP_HEADERS = 1.2
# A lap is cut where it leaves the strip if it runs this many strip widths inside it, and as many outside.
_WORTH_CUTTING = 3.0
# Edge pieces are cut from a slightly simplified boundary.
_ON_EDGE_M = 1.0


def edge_strip(edges: gpd.GeoDataFrame, paddock: BaseGeometry, header_m: float, break_m: float) -> BaseGeometry:
    """Return the ground along edges that are likely to lie downwind, empty where there is none.

    edges : layer "edges" of the paddock; edges of holes are passed over, since no land of others lies beyond them.
    header_m : header width. break_m : bare width that may lie inside the edge.
    """
    outline = shapely.multilinestrings([part.exterior for part in shapely.get_parts(paddock)])
    outside = edges.geometry.centroid.distance(outline) <= _ON_EDGE_M
    downwind = edges[outside & (edges["chance_downwind"] >= LIKELY)]
    if downwind.empty:
        return shapely.Polygon()
    strip = downwind.geometry.union_all().buffer(STRIP_HEADERS * header_m + break_m, cap_style="flat")
    shapely.prepare(strip)
    return strip


def cut_at_strip(pieces: Sequence[Piece], strip: BaseGeometry) -> tuple[Piece, ...]:
    """Return the pieces; those that run along the strip and on out of it are cut where they leave it."""
    if strip.is_empty:
        return tuple(pieces)
    width = 2 * strip.area / strip.length
    result: list[Piece] = []
    for piece in pieces:
        parts = _in_and_out(piece.line, strip, _WORTH_CUTTING * width)
        several = len(parts) > 1
        result += [
            replace(piece, piece_id=f"{piece.piece_id}.{k + 1}" if several else piece.piece_id, line=line)
            for k, line in enumerate(parts)
        ]
    return tuple(result)


def _in_and_out(line: shapely.LineString, strip: BaseGeometry, shortest_m: float) -> list[shapely.LineString]:
    """The line cut where it changes between inside and outside the strip for shortest_m or more."""
    crossing = shapely.get_coordinates(line.intersection(strip.boundary))
    if len(crossing) == 0:
        return [line]
    parts = split_at(line, shapely.line_locate_point(line, shapely.points(crossing)))
    long = [p for p in parts if p.length >= shortest_m]
    inside = [bool(strip.covers(p.interpolate(0.5, normalized=True))) for p in long]
    changes = [
        line.project(shapely.Point(long[k].coords[0])) for k in range(1, len(long)) if inside[k] != inside[k - 1]
    ]
    return split_at(line, np.array(changes))


def edge_rows(pieces: Sequence[Piece], strip: BaseGeometry) -> NDArray[np.bool_]:
    """Return (n,): True for pieces that run in the strip for most of their length."""
    lines = np.array([p.line for p in pieces], dtype=object)
    if strip.is_empty:
        return np.zeros(len(lines), dtype=bool)
    return np.asarray(shapely.length(shapely.intersection(lines, strip)) >= MOST * shapely.length(lines))


def with_downwind(chosen: NDArray[np.bool_], pairs: Pairs) -> NDArray[np.bool_]:
    """Return the pieces chosen and all that must be lit before any of them."""
    result = chosen.copy()
    while True:
        more = pairs.first[result[pairs.then]]
        if result[more].all():
            return result
        result[more] = True
