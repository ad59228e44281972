"""What lies beyond a piece of boundary: cover, asset or neighbour, how far, and how soon fire would be there."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.farm.assets import ASSET_KINDS
from mapper.farm.ranged import Array
from mapper.fire.shape import back_share
from mapper.ground.boundary import BoundaryPieces, unit
from mapper.ground.exposure import Hour
from mapper.ground.things import Things

LOOK_M = 200.0
# Farther things are worth a word only where people live or much is lost. Our choices, as LOOK_M.
FAR_M = 1000.0
_FAR = ("house", "town", "haystack", "vineyard")
# What is worth a word, whatever stands nearer.
_MATTERS = (
    "house", "shed", "haystack", "crop", "vineyard", "trees", "tree", "reserve", "town", "road", "railway",
    "power_line",
)  # fmt: skip
_COVER = ("bare", "green", "water", "track")
# What fire does not run to: it burns up to it.
_NO_FUEL = (*_COVER, "road", "railway")
# Neighbours across a road adjoin; a wide road reserve is 60 m (common practice, no source).
_ACROSS_M = 60.0
# A wind that comes with less than this chance does not count for how soon (ground/exposure.LABEL_CHANCE is alike).
_LIKELY = 0.2


@dataclass(frozen=True)
class Beyond:
    """words (n,); across (n, 2): metres east and north from the piece to what would burn there, NaN where nothing is
    known."""

    words: NDArray[np.object_]
    across: Array


def look_beyond(pieces: BoundaryPieces, assets: Things, neighbours: Things, own: Things) -> Beyond:
    """Return for each piece the nearest thing that a fire could reach, or else the cover or the land beyond it.

    own: other paddocks of the farm. Ahead means within 60 degrees of the outward normal. What would burn there is the
    nearest thing that burns, or a neighbour's land.
    """
    count = len(pieces.mids)
    words, across = np.full(count, "", dtype=object), np.full((count, 2), np.nan)
    barred = np.zeros(count, dtype=bool)
    for kinds, look in ((_MATTERS, LOOK_M), (_FAR, FAR_M), (_COVER, LOOK_M)):
        chosen = assets.of(*kinds)
        which, gap, vector = _nearest_outward(pieces, chosen, look)
        burns = np.array([k not in _NO_FUEL for k in chosen.kind], dtype=bool)
        for i in np.flatnonzero((which >= 0) & (words == "")):
            k = which[i]
            name = chosen.name[k] or ASSET_KINDS[chosen.kind[k]].label
            words[i] = f"{name}, {max(round(gap[i], -1), 10):.0f} m"
            if burns[k]:
                across[i] = vector[i]
            barred[i] = chosen.kind[k] in _COVER
    for land, called in ((neighbours, "land of "), (own, "")):
        which, gap, vector = _nearest_outward(pieces, land, _ACROSS_M)
        for i in np.flatnonzero(which >= 0):
            said = f"{called}{land.name[which[i]]}"
            words[i] = f"{words[i]}; {said}" if words[i] else said
            # Land seen over a fallow or a dam is not what burns next.
            if np.isnan(across[i, 0]) and not barred[i]:
                across[i] = vector[i]
    words[words == ""] = f"nothing known within {LOOK_M:g} m"
    return Beyond(words, across)


def _nearest_outward(pieces: BoundaryPieces, things: Things, look_m: float) -> tuple[NDArray[np.intp], Array, Array]:
    """Index of the nearest thing within 60 degrees of each piece's outward normal (-1 none), how far, and the way."""
    count = len(pieces.mids)
    which, gap, way = np.full(count, -1), np.full(count, np.inf), np.full((count, 2), np.nan)
    if len(things) == 0:
        return which, gap, way
    # A hair outside, so that land that begins at the edge lies ahead.
    points = shapely.points(pieces.mids + 0.5 * unit(pieces.facing_deg))
    piece, thing = shapely.STRtree(points).query(things.shape, predicate="dwithin", distance=look_m)[::-1]
    if len(piece) == 0:
        return which, gap, way
    link = shapely.get_coordinates(shapely.shortest_line(points[piece], things.shape[thing])).reshape(-1, 2, 2)
    across = link[:, 1] - link[:, 0]
    distance = np.hypot(*across.T)
    ahead = (across * unit(pieces.facing_deg[piece])).sum(axis=1) >= 0.5 * distance - 1e-9
    piece, thing, across, distance = piece[ahead], thing[ahead], across[ahead], distance[ahead]
    order = np.lexsort((thing, distance, piece))
    first = order[np.unique(piece[order], return_index=True)[1]]
    which[piece[first]], gap[piece[first]], way[piece[first]] = thing[first], distance[first], across[first]
    return which, gap, way


def soonest_min(across: Array, hours: Sequence[Hour]) -> Array:
    """Return how soon a fire at each piece would have run across (n, 2) metres, in minutes; NaN where across is.

    Straight, over grass like the paddock's, as the ellipse of a fire at full rate grows from a point; under each hour's
    wind turned toward it by one sigma, of winds with a chance of at least 0.2; the soonest of the hours. Slower starts,
    roads and breaks on the way are left out: nothing is later than this by the equation.
    """
    found = np.full(len(across), np.nan)
    known = np.flatnonzero(np.isfinite(across[:, 0]))
    winds = np.array(
        [
            (from_deg, sigma, hour.head_m_s, hour.lb)
            for hour in hours
            for weight, from_deg, sigma in zip(
                hour.spread.weights, hour.spread.means_deg, hour.spread.sigmas_deg, strict=True
            )
            if weight >= _LIKELY and hour.head_m_s > 0
        ]
    )
    if len(winds) and len(known):
        from_deg, sigma, head, lb = (column[:, None] for column in winds.T)
        bearing = np.degrees(np.arctan2(across[known, 0], across[known, 1]))
        off = np.maximum(np.abs((bearing - from_deg) % 360 - 180) - sigma, 0.0)
        found[known] = travel_s(np.hypot(*across[known].T), off, head, lb).min(axis=0) / 60.0
    return found


def travel_s(away_m: Any, off_deg: Any, head_m_s: Any, lb: Any) -> Array:
    """Return how long a fire takes from a point to a place away_m off, off_deg from where the wind blows to, seconds.

    The ellipse with its rear focus at the start: (a d - c d cos) / (a^2 - c^2), a and c half the sum and half the
    difference of head and back rate (above nought). Inputs broadcast.
    """
    back = head_m_s * back_share(lb)
    a, c = (head_m_s + back) / 2, (head_m_s - back) / 2
    return np.asarray(away_m * (a - c * np.cos(np.radians(off_deg))) / (a**2 - c**2))
