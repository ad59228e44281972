"""Fields: the parts of a paddock between breaks, roads and tracks, in the order in which they are burnt."""

from collections.abc import Sequence
from dataclasses import replace

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.ranged import Array
from mapper.ground.boundary import unit
from mapper.ground.present import LINE_WIDTH_M
from mapper.order.pieces import Piece, split_at
from mapper.order.precedence import Pairs

# Less ground than this is a corner, not a field. Our choice.
_SMALLEST_M2 = 2000.0
_CROSSING = ("road", "track")
_GROUND = ("bare", "green", "water")


def split_fields(
    paddock: BaseGeometry, breaks_there: gpd.GeoDataFrame | None, assets: gpd.GeoDataFrame
) -> tuple[list[BaseGeometry], BaseGeometry]:
    """Return the fields of a paddock, and the middles of the lines between them.

    Breaks of any width, roads, tracks, bare and green ground and water part a paddock where they run right through it.
    """
    crossing = assets[assets["kind"].isin(_CROSSING) & (assets.geom_type != "Point")]
    lines, widths = list(crossing.geometry), [LINE_WIDTH_M[str(k)] for k in crossing["kind"]]
    if breaks_there is not None:
        lines += list(breaks_there.geometry)
        widths += list(breaks_there["width_m"])
    near = [k for k, line in enumerate(lines) if line.intersects(paddock)]
    areas = [lines[k].buffer(max(widths[k], 0.1) / 2, cap_style="square") for k in near]
    ground = assets.geometry[assets["kind"].isin(_GROUND)]
    areas += [g for g in ground if g.area > 0 and g.intersects(paddock)]
    rest = paddock.difference(shapely.union_all(areas)) if areas else paddock
    parts = [g for g in shapely.get_parts(rest) if g.geom_type == "Polygon" and g.area >= _SMALLEST_M2]
    middles = shapely.union_all([lines[k] for k in near]) if near else shapely.MultiLineString()
    return parts or [paddock], middles


def cut_at_lines(
    pieces: Sequence[Piece], fields: Sequence[BaseGeometry], middles: BaseGeometry
) -> tuple[tuple[Piece, ...], NDArray[np.int64]]:
    """Return the pieces, cut where they run from one field into another, and the number of each one's field."""
    if len(fields) == 1:
        return tuple(pieces), np.zeros(len(pieces), dtype=np.int64)
    result: list[Piece] = []
    for piece in pieces:
        crossing = [p for p in shapely.get_coordinates(piece.line.intersection(middles))]
        places = shapely.line_locate_point(piece.line, shapely.points(crossing)) if crossing else np.zeros(0)
        parts = split_at(piece.line, places)
        several = len(parts) > 1
        result += [
            replace(piece, piece_id=f"{piece.piece_id}.{k + 1}" if several else piece.piece_id, line=line)
            for k, line in enumerate(parts)
        ]
    points = shapely.points([p.line.interpolate(0.5, normalized=True).coords[0] for p in result])
    away = np.stack([shapely.distance(points, f) for f in fields])
    return tuple(result), away.argmin(axis=0)


def in_turn(field: NDArray[np.int64], pairs: Pairs, middles: Array, to_deg: float) -> NDArray[np.int64]:
    """Return the turn (0, 1, ...) of each piece's field: downwind first; fields that lock into one another are one.

    field (n,): number of each piece's field; middles (fields, 2): their middles.
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    count = len(middles)
    a, b = field[pairs.first], field[pairs.then]
    graph = coo_matrix((np.ones(len(a)), (a, b)), shape=(count, count))
    knot = np.asarray(connected_components(graph, directed=True, connection="strong")[1], dtype=np.int64)
    links = {(int(x), int(y)) for x, y in zip(knot[a], knot[b], strict=True) if x != y}
    far = middles @ unit(to_deg)
    left = {int(k): float(far[knot == k].max()) for k in np.unique(knot)}
    turn = np.zeros(int(knot.max()) + 1, dtype=np.int64)
    for n in range(len(left)):
        free = [k for k in left if not any(y == k and x in left for x, y in links)]
        pick = max(free, key=lambda k: (round(left[k], 3), -k))
        turn[pick] = n
        del left[pick]
    return np.asarray(turn[knot][field])
