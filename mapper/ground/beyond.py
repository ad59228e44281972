"""What lies beyond a piece of boundary, in words."""

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.farm.assets import ASSET_KINDS
from mapper.farm.ranged import Array
from mapper.ground.boundary import BoundaryPieces, unit

LOOK_M = 200.0
# What is worth a word, whatever stands nearer.
_MATTERS = (
    "house", "shed", "haystack", "crop", "vineyard", "trees", "tree", "reserve", "town", "road", "railway",
    "power_line",
)  # fmt: skip
_COVER = ("bare", "green", "water", "track")


def beyond_words(
    pieces: BoundaryPieces, assets: gpd.GeoDataFrame, neighbours: gpd.GeoDataFrame, look_m: float = LOOK_M
) -> NDArray[np.object_]:
    """Return for each piece the nearest thing that a fire could reach, or else the cover or the land beyond it."""
    words = np.full(len(pieces.mids), "", dtype=object)
    for kinds in (_MATTERS, _COVER):
        chosen = assets[assets["kind"].isin(kinds)]
        which, gap = _nearest_outward(pieces, chosen, look_m)
        for i in np.flatnonzero((which >= 0) & (words == "")):
            asset = chosen.iloc[which[i]]
            words[i] = f"{asset['name'] or ASSET_KINDS[asset['kind']].label}, {max(round(gap[i], -1), 10):.0f} m"
    # Neighbours across a road adjoin; a wide road reserve is 60 m (common practice, no source).
    which, _ = _nearest_outward(pieces, neighbours, min(look_m, 60.0))
    for i in np.flatnonzero(which >= 0):
        land = f"land of {neighbours.iloc[which[i]]['name']}"
        words[i] = f"{words[i]}; {land}" if words[i] else land
    words[words == ""] = f"nothing known within {look_m:g} m"
    return words


def _nearest_outward(pieces: BoundaryPieces, things: gpd.GeoDataFrame, look_m: float) -> tuple[NDArray[np.intp], Array]:
    """Index of the nearest thing within 60 degrees of each piece's outward normal (-1 none), and its distance."""
    count = len(pieces.mids)
    which, gap = np.full(count, -1), np.full(count, np.inf)
    if len(things) == 0:
        return which, gap
    # A hair outside, so that land that begins at the edge lies ahead.
    points = shapely.points(pieces.mids + 0.5 * unit(pieces.facing_deg))
    shapes = things.geometry.to_numpy()
    piece, thing = shapely.STRtree(shapes).query(points, predicate="dwithin", distance=look_m)
    if len(piece) == 0:
        return which, gap
    link = shapely.get_coordinates(shapely.shortest_line(points[piece], shapes[thing])).reshape(-1, 2, 2)
    across = link[:, 1] - link[:, 0]
    distance = np.hypot(*across.T)
    ahead = (across * unit(pieces.facing_deg[piece])).sum(axis=1) >= 0.5 * distance - 1e-9
    for k in np.lexsort((thing, distance)):
        if ahead[k] and which[piece[k]] < 0:
            which[piece[k]], gap[piece[k]] = thing[k], distance[k]
    return which, gap
