"""A way out of every block: a path to safe ground, round live rows and clear of where their fire and smoke go."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.ground.boundary import unit
from mapper.order.wayground import CELL_M, WayGround, near
from mapper.weather.wind import WindChange

# All of these are our choices: how far fire and smoke of a live row count; how close to a live row a crew may pass;
# the ground where it stands, beside the row it has just lit.
_RUN_M = 500.0
_BESIDE_M = 0.71 * CELL_M
_STANDS_M = 15.0
SIGMAS_EARLY = 2.0
# Directions of the night's distribution that a way must hold under, in sigmas off its mean.
_SIGMAS = (-2.0, -1.0, 0.0, 1.0, 2.0)


@dataclass(frozen=True)
class Stand:
    """A place where the crew stands at a moment (UTC), and the pieces alight then."""

    at: datetime
    place: shapely.Point
    live: tuple[shapely.LineString, ...]


@dataclass(frozen=True)
class Spread:
    """Where the wind may blow to: its mean (grid degrees) and sigma, one wind."""

    to_deg: float
    sigma_deg: float


@dataclass(frozen=True)
class WayOut:
    """A path to safe ground, until when it holds (None: all night)."""

    line: shapely.LineString
    to: str
    until: datetime | None


def way_out(stand: Stand, ground: WayGround, wind: Spread, change: WindChange | None) -> WayOut | None:
    """Return the way out from where the crew stands, or None where there is none.

    It crosses no live piece and stays out of the ground within 500 m downwind of any, under every direction within two
    sigma of the wind's mean. A way that does so after the change too comes first; failing that, one that holds until
    two sigma before the change, which `until` says, and none where the crew stands there later than that.
    """
    both = [wind] if change is None else [wind, Spread((change.to_deg + 180) % 360, wind.sigma_deg)]
    found = _path(stand, ground, both)
    if found is not None or change is None:
        return None if found is None else WayOut(*found, None)
    until = early(change)
    found = _path(stand, ground, [wind]) if stand.at <= until else None
    return None if found is None else WayOut(*found, until)


def early(change: WindChange) -> datetime:
    """Return two sigma before a wind change."""
    return change.at - timedelta(minutes=SIGMAS_EARLY * change.sigma_min)


def _path(stand: Stand, ground: WayGround, winds: Sequence[Spread]) -> tuple[shapely.LineString, str] | None:
    """The cheapest path over open ground to safe ground clear of fire and smoke."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import dijkstra

    points = shapely.points(ground.xy)
    here = shapely.distance(points, stand.place)
    live = shapely.MultiLineString(list(stand.live))
    fire = near(points, live, _BESIDE_M)
    smoke = np.zeros(len(fire), dtype=bool)
    for wind in winds:
        smoke |= near(points, _fan(stand.live, wind), 0.0)
    # The crew stands beside the row it has lit: what counts is that the way leads away from it.
    beside = here <= _STANDS_M
    passable = ground.open_ & ((~fire & ~smoke) | beside)
    goals = passable & (ground.safe >= 0) & ~fire & ~smoke
    cells = np.flatnonzero(passable & beside)
    first = _lines(np.broadcast_to(stand.place.coords[0], (len(cells), 2)), ground.xy[cells])
    starts = cells[~shapely.intersects(shapely.difference(first, stand.place.buffer(1.0)), live)]
    if not goals.any() or len(starts) == 0:
        return None
    links = ground.links[passable[ground.links].all(axis=1)]
    close = np.flatnonzero(beside[links].any(axis=1))
    crosses = shapely.intersects(_lines(*ground.xy[links[close]].swapaxes(0, 1)), live)
    a, b = np.delete(links, close[crosses], axis=0).T
    weight = np.hypot(*(ground.xy[a] - ground.xy[b]).T) * (ground.cost[a] + ground.cost[b]) / 2
    count = len(ground.xy)
    graph = coo_matrix((weight, (a, b)), shape=(count, count)).tocsr()
    cost, before, _ = dijkstra(graph, directed=False, indices=starts, return_predecessors=True, min_only=True)
    goal = int(np.argmin(np.where(goals, cost, np.inf)))
    if not np.isfinite(cost[goal]):
        return None
    path = [goal]
    while before[path[-1]] >= 0:
        path.append(int(before[path[-1]]))
    xy = np.vstack([stand.place.coords[0], _straightened(ground.xy[path[::-1]])])
    return shapely.LineString(xy), ground.names[int(ground.safe[goal])]


def _lines(begin: Array, end: Array) -> NDArray[np.object_]:
    """Straight lines between places (n, 2)."""
    return np.asarray(shapely.linestrings(np.stack([begin, end], axis=1)), dtype=object)


def _fan(live: Sequence[shapely.LineString], wind: Spread) -> shapely.Geometry:
    """The ground within the run of any live piece, under every direction within two sigma."""
    if not live:
        return shapely.Polygon()
    runs = [np.zeros(2), *(_RUN_M * unit(wind.to_deg + k * wind.sigma_deg) for k in _SIGMAS)]
    parts = []
    for piece in live:
        xy = shapely.get_coordinates(shapely.simplify(piece, 3.0))
        swept = xy[None, :, :] + np.array(runs)[:, None, :]
        parts.append(np.concatenate([swept[:, :-1], swept[:, 1:]], axis=0).transpose(1, 0, 2))
    hulls = shapely.convex_hull(shapely.multipoints([p for block in parts for p in block]))
    return shapely.union_all(np.asarray(hulls))


def _straightened(xy: Array) -> Array:
    """The path without the points that lie on a straight run of cells."""
    if len(xy) < 3:
        return xy
    turns = np.abs(np.diff(xy, n=2, axis=0)).max(axis=1, initial=0.0) > 1e-6
    return xy[np.r_[True, turns, True]]
