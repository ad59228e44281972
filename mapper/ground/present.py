"""What stands between a piece of boundary and the land beyond: the bare break, road, track, fallow or water there."""

from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.ground.boundary import BoundaryPieces, unit

# A break counts for a piece of edge that it runs beside: its near side within this distance. Our choice.
BESIDE_M = 8.0
# Roads and tracks carry no width in the assets: bare width taken. Common practice, no source.
LINE_WIDTH_M = {"road": 6.0, "track": 3.0, "railway": 4.0}
BARE_AREAS = ("bare", "water", "green")
# A wider bare area counts as this: nobody asks for more (the largest local limit is 60 m).
WIDEST_M = 60.0


def present_breaks(
    pieces: BoundaryPieces, breaks_there: gpd.GeoDataFrame, assets: gpd.GeoDataFrame
) -> tuple[Array, NDArray[np.object_]]:
    """Return bare width (m) beside each piece, 0 where there is none, and what makes it; both (n,).

    Widths of several things side by side are not added: the widest counts.
    """
    width, by = np.zeros(len(pieces.mids)), np.full(len(pieces.mids), "", dtype=object)
    roads = assets[assets["kind"].isin(list(LINE_WIDTH_M)) & (assets.geom_type == "LineString")]
    made = breaks_there["made_by"].where(breaks_there["made_by"] != "", "break")
    lines = list(zip(breaks_there.geometry, breaks_there["width_m"], made, strict=True))
    lines += [
        (g, LINE_WIDTH_M[k], f"{name or k}, taken as {LINE_WIDTH_M[k]:g} m")
        for g, k, name in zip(roads.geometry, roads["kind"], roads["name"], strict=True)
    ]
    for line, wide, made_by in lines:
        if not wide > 0:
            continue
        better = _beside(pieces, line, wide) & (wide > width)
        width[better], by[better] = wide, made_by
    _bare_beyond(pieces, assets, width, by)
    return width, by


def _beside(pieces: BoundaryPieces, line: Any, width_m: float) -> NDArray[np.bool_]:
    """Whether a line runs along each piece: both its ends and its middle lie close to it."""
    shapely.prepare(line)
    near = width_m / 2 + BESIDE_M
    beside = np.ones(len(pieces.mids), dtype=bool)
    # The very ends of a piece may lie round a corner from the break.
    for share in (0.15, 0.5, 0.85):
        at = pieces.starts + share * (pieces.ends - pieces.starts)
        beside &= shapely.dwithin(shapely.points(at), line, near)
    close = np.flatnonzero(beside)
    a, b = (shapely.line_locate_point(line, shapely.points(p[close])) for p in (pieces.starts, pieces.ends))
    # A line that crosses the edge at an angle passes close to it, but runs only a short way along it.
    beside[close] = np.abs(b - a) > 0.5 * pieces.lengths_m[close]
    return beside


def _bare_beyond(pieces: BoundaryPieces, assets: gpd.GeoDataFrame, width: Array, by: NDArray[np.object_]) -> None:
    """Count bare, green or water ground that begins at the edge, on either side, measured square to the edge."""
    areas = assets[assets["kind"].isin(BARE_AREAS) & assets.geom_type.isin(["Polygon", "MultiPolygon"])]
    out = unit(pieces.facing_deg)
    for area, kind, name in zip(areas.geometry, areas["kind"], areas["name"], strict=True):
        shapely.prepare(area)
        near = np.flatnonzero(shapely.dwithin(shapely.points(pieces.mids), area, BESIDE_M))
        for side in (1.0, -1.0):
            ray = shapely.linestrings(
                np.stack([pieces.mids[near], pieces.mids[near] + side * out[near] * (WIDEST_M + BESIDE_M)], axis=1)
            )
            bare = np.minimum(shapely.length(shapely.intersection(ray, area)), WIDEST_M)
            better = bare > width[near]
            width[near[better]], by[near[better]] = bare[better], name or kind
