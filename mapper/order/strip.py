"""Edge rows: the pieces along the downwind edge, burnt out before anything inside is lit."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.order.pieces import Piece, split_at
from mapper.order.precedence import Pairs, first_hits

# An edge that is likelier than not to lie downwind; a piece that runs along it for most of its length. Our choices.
LIKELY, MOST = 0.5, 0.6
# The first row beside the edge lies half a header width in; this many header widths catch it and not the third.
STRIP_HEADERS = 1.2
# A lap is cut where it leaves the strip if it runs this many strip widths inside it, and as many outside.
_WORTH_CUTTING = 3.0
# Edge pieces are cut from a slightly simplified boundary.
_ON_EDGE_M = 1.0
# A row's end that reaches less than this into the strip is not cut off; rounds of looking for such ends.
_END_M, _ROUNDS = 1.0, 2
# Shorter bits in the strip are ends of inside rows. Our choice.
_SHORT_M = 30.0


@dataclass(frozen=True)
class EdgeRows:
    """Pieces of a paddock, those at the strip cut. edge (n,): burnt out before the inside of their field is lit.

    field (n,): number of each one's field. late (n,): run along the downwind edge, but part of their own field lies
    downwind of them (an edge in a bay of the paddock): lit in their turn, and burnt out before the row upwind of them.
    """

    pieces: tuple[Piece, ...]
    field: NDArray[np.int64]
    edge: NDArray[np.bool_]
    late: NDArray[np.bool_]
    pairs: Pairs


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


def find_edge_rows(pieces: Sequence[Piece], field: NDArray[np.int64], strip: BaseGeometry, to_deg: float) -> EdgeRows:
    """Return the edge rows among the pieces: only what lies in the strip, so that the inside is not burnt out with it.

    Pieces that run along the strip and on out of it are cut where they leave it; so is the end of an inside row that
    lies downwind of an edge row within the strip. Nothing that must come before an edge row is left inside, but in a
    bay of the paddock (`late`).
    """
    parts, field = _cut_where(pieces, field, strip, range(len(pieces)), _worth(strip))
    for _ in range(_ROUNDS):
        pairs = first_hits([shapely.get_coordinates(p.line) for p in parts], to_deg)
        edge = _with_ends(parts, field, edge_rows(parts, strip), pairs)
        same = field[pairs.first] == field[pairs.then]
        ends = np.unique(pairs.first[edge[pairs.then] & ~edge[pairs.first] & same])
        count = len(parts)
        parts, field = _cut_where(parts, field, strip, ends, _END_M)
        if len(parts) == count:
            break
    pairs = first_hits([shapely.get_coordinates(p.line) for p in parts], to_deg)
    edge = _with_ends(parts, field, edge_rows(parts, strip), pairs)
    late = edge & _upwind_of_inside(field, edge, pairs)
    return EdgeRows(parts, field, edge & ~late, late, pairs)


def _with_ends(
    pieces: Sequence[Piece], field: NDArray[np.int64], inside_strip: NDArray[np.bool_], pairs: Pairs
) -> NDArray[np.bool_]:
    """(n,): long pieces in the strip, and short ones there only where they lie downwind of one that counts."""
    edge = inside_strip & (np.array([p.line.length for p in pieces]) >= _SHORT_M)
    same = field[pairs.first] == field[pairs.then]
    while True:
        more = inside_strip & ~edge
        more &= np.isin(np.arange(len(edge)), pairs.first[edge[pairs.then] & same])
        if not more.any():
            return edge
        edge = edge | more


def edge_rows(pieces: Sequence[Piece], strip: BaseGeometry) -> NDArray[np.bool_]:
    """Return (n,): True for pieces that run in the strip for most of their length."""
    lines = np.array([p.line for p in pieces], dtype=object)
    if strip.is_empty:
        return np.zeros(len(lines), dtype=bool)
    return np.asarray(shapely.length(shapely.intersection(lines, strip)) >= MOST * shapely.length(lines))


def _worth(strip: BaseGeometry) -> float:
    return 0.0 if strip.is_empty else _WORTH_CUTTING * 2 * strip.area / strip.length


def _cut_where(
    pieces: Sequence[Piece], field: NDArray[np.int64], strip: BaseGeometry, which: Iterable[int], shortest_m: float
) -> tuple[tuple[Piece, ...], NDArray[np.int64]]:
    chosen = set() if strip.is_empty else {int(k) for k in which}
    result: list[Piece] = []
    numbers: list[int] = []
    for k, piece in enumerate(pieces):
        parts = _in_and_out(piece.line, strip, shortest_m) if k in chosen else [piece.line]
        several = len(parts) > 1
        result += [
            replace(piece, piece_id=f"{piece.piece_id}.{j + 1}" if several else piece.piece_id, line=line)
            for j, line in enumerate(parts)
        ]
        numbers += [int(field[k])] * len(parts)
    return tuple(result), np.array(numbers, dtype=np.int64)


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


def _upwind_of_inside(field: NDArray[np.int64], edge: NDArray[np.bool_], pairs: Pairs) -> NDArray[np.bool_]:
    """(n,): True for pieces that must come after some inside piece of their own field."""
    result = np.zeros(len(field), dtype=bool)
    for number in np.unique(field[edge]):
        reached = (field == number) & ~edge
        while True:
            more = pairs.then[reached[pairs.first]]
            if reached[more].all():
                break
            reached[more] = True
        result |= reached & (field == number)
    return result
