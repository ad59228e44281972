"""What stands between a piece of boundary and the land beyond: the bare break, road, track, fallow or water there."""

from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.ranged import Array
from mapper.ground.boundary import BoundaryPieces, unit
from mapper.ground.things import Things

# A break counts for a piece of edge that it runs beside: its near side within this distance. Our choice.
BESIDE_M = 8.0
# Roads and tracks drawn as lines carry no width in the assets: bare width taken. Common practice, no source.
LINE_WIDTH_M = {"road": 6.0, "track": 3.0, "railway": 4.0}
BARE_AREAS = ("bare", "water", "green", *LINE_WIDTH_M)
# A wider bare area counts as this: nobody asks for more (the largest local limit is 60 m).
WIDEST_M = 60.0


@dataclass(frozen=True)
class Present:
    """What is there. width_m (n,): bare width beside each piece, 0 where there is none; made_by (n,): what makes it;
    bands: the ground of all breaks that count for any piece, each widened by BESIDE_M, with flat ends.
    """

    width_m: Array
    made_by: NDArray[np.object_]
    bands: tuple[BaseGeometry, ...]


def present_breaks(pieces: BoundaryPieces, breaks_there: gpd.GeoDataFrame, assets: Things) -> Present:
    """Return what stands beside each piece, on either side of the edge.

    Widths of several things side by side are not added: the widest counts. A line without a width counts for nothing.
    """
    width, by = np.zeros(len(pieces.mids)), np.full(len(pieces.mids), "", dtype=object)
    bands: list[BaseGeometry] = []
    for line, wide, made_by in _lines(pieces, breaks_there, assets):
        beside = _beside(pieces, line, wide)
        if beside.any():
            bands.append(line.buffer(wide / 2 + BESIDE_M, cap_style="flat"))
        better = beside & (wide > width)
        width[better], by[better] = wide, made_by
    bands += _bare_beyond(pieces, assets, width, by)
    return Present(width, by, tuple(bands))


def _lines(pieces: BoundaryPieces, breaks_there: gpd.GeoDataFrame, assets: Things) -> list[tuple[Any, float, str]]:
    """Lines near the boundary that are bare, their width, and what they are."""
    found = []
    if len(breaks_there):
        edge = shapely.multilinestrings(shapely.linestrings(np.stack([pieces.starts, pieces.ends], axis=1)))
        shape, wide = breaks_there.geometry.to_numpy(), breaks_there["width_m"].to_numpy()
        made = breaks_there["made_by"].to_numpy(dtype=object)
        near = np.flatnonzero((wide > 0) & shapely.dwithin(shape, edge, np.nan_to_num(wide) / 2 + BESIDE_M))
        found += [(shape[k], float(wide[k]), str(made[k] or "break")) for k in near]
    roads = assets.of(*LINE_WIDTH_M).lines()
    for kind, name, shape in zip(roads.kind, roads.name, roads.shape, strict=True):
        wide = LINE_WIDTH_M[kind]
        found += [(part, wide, f"{name or kind}, taken as {wide:g} m") for part in shapely.get_parts(shape)]
    return found


def _beside(pieces: BoundaryPieces, line: Any, width_m: float) -> NDArray[np.bool_]:
    """Whether a line runs along each piece: both its ends and its middle lie close to it."""
    shapely.prepare(line)
    near = width_m / 2 + BESIDE_M
    beside = shapely.dwithin(shapely.points(pieces.mids), line, near)
    # The very ends of a piece may lie round a corner from the break.
    for share in (0.15, 0.85):
        close = np.flatnonzero(beside)
        at = pieces.starts[close] + share * (pieces.ends[close] - pieces.starts[close])
        beside[close] = shapely.dwithin(shapely.points(at), line, near)
    close = np.flatnonzero(beside)
    a, b = (shapely.line_locate_point(line, shapely.points(p[close])) for p in (pieces.starts, pieces.ends))
    # A line that crosses the edge at an angle passes close to it, but runs only a short way along it.
    beside[close] = np.abs(b - a) > 0.5 * pieces.lengths_m[close]
    return np.asarray(beside)


def _bare_beyond(pieces: BoundaryPieces, assets: Things, width: Array, by: NDArray[np.object_]) -> list[BaseGeometry]:
    """Count bare, green or water ground that begins at the edge, on either side, measured square to the edge."""
    areas = assets.of(*BARE_AREAS).areas()
    out = unit(pieces.facing_deg)
    bands = []
    for area, kind, name in zip(areas.shape, areas.kind, areas.name, strict=True):
        shapely.prepare(area)
        near = np.flatnonzero(shapely.dwithin(shapely.points(pieces.mids), area, BESIDE_M))
        if len(near):
            bands.append(area.buffer(BESIDE_M))
        for side in (1.0, -1.0):
            ray = shapely.linestrings(
                np.stack([pieces.mids[near], pieces.mids[near] + side * out[near] * (WIDEST_M + BESIDE_M)], axis=1)
            )
            bare = np.minimum(shapely.length(shapely.intersection(ray, area)), WIDEST_M)
            better = bare > width[near]
            width[near[better]], by[near[better]] = bare[better], name or kind
    return bands
