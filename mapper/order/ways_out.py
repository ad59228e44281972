"""A way out of every block: a path to safe ground, round live rows and clear of where their fire and smoke go."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.order.danger import CLEAR_M, SIGMAS, Spread, danger_cells
from mapper.order.wayground import CELL_M, WayGround
from mapper.weather.wind import WindChange

SIGMAS_EARLY = SIGMAS


@dataclass(frozen=True)
class Stand:
    """A place where the crew stands at a moment (UTC), and the pieces alight then."""

    at: datetime
    place: shapely.Point
    live: tuple[shapely.LineString, ...]


@dataclass(frozen=True)
class WayOut:
    """A path to safe ground, until when it holds (None: all night)."""

    line: shapely.LineString
    to: str
    until: datetime | None


@dataclass(frozen=True)
class Clear:
    """A moment's ground. clear (n,): neither beside a live row nor in the lee of one; live: all live rows."""

    live: shapely.MultiLineString
    clear: NDArray[np.bool_]


def clear_ground(live: Sequence[shapely.LineString], ground: WayGround, winds: Sequence[Spread]) -> Clear:
    """Return the cells clear of fire and smoke under every direction within two sigma of each wind."""
    return Clear(shapely.MultiLineString(list(live)), ~danger_cells(ground, live, winds))


def way_out(stand: Stand, ground: WayGround, wind: Spread, change: WindChange | None) -> WayOut | None:
    """Return the way out from where the crew stands, or None where there is none.

    It crosses no live piece and stays out of the ground within 500 m downwind of any, under every direction within two
    sigma of the wind's mean. A way that does so after the change too comes first; failing that, one that holds until
    two sigma before the change, which `until` says, and none where the crew stands there later than that.
    """
    for winds, until in winds_to_hold(stand.at, wind, change):
        found = path(stand.place, clear_ground(stand.live, ground, winds), ground)
        if found is not None:
            return WayOut(*found, until)
    return None


def winds_to_hold(
    at: datetime, wind: Spread, change: WindChange | None
) -> list[tuple[tuple[Spread, ...], datetime | None]]:
    """Return the winds a way must hold under, the better first, each with until when it then holds."""
    if change is None:
        return [((wind,), None)]
    both = (wind, Spread((change.to_deg + 180) % 360, wind.sigma_deg))
    return [(both, None)] + ([((wind,), early(change))] if at <= early(change) else [])


def early(change: WindChange) -> datetime:
    """Return two sigma before a wind change."""
    return change.at - timedelta(minutes=SIGMAS_EARLY * change.sigma_min)


def leads_out(place: shapely.Point, found: Clear, ground: WayGround, leads: NDArray[np.bool_]) -> bool:
    """Whether clear cells lead from a place to safe ground; leads: `leading`. Quick, and never too hopeful."""
    near = np.flatnonzero(leads[_box(place, ground)])
    if len(near) == 0:
        return False
    near = _box(place, ground)[near]
    away = np.hypot(*(ground.xy[near] - np.asarray(place.coords[0])).T)
    near = near[np.argsort(away, kind="stable")]
    # Mostly one of the nearest will do.
    return any(
        len(some) and bool((~_crosses(place, ground.xy[some], found.live)).any()) for some in (near[:6], near[6:])
    )


def _box(place: shapely.Point, ground: WayGround) -> NDArray[np.int64]:
    """Cells whose middles lie no further than CLEAR_M from a place, east and north."""
    low = np.ceil((np.asarray(place.coords[0]) - CLEAR_M - ground.xy[0]) / CELL_M).astype(int)
    high = np.floor((np.asarray(place.coords[0]) + CLEAR_M - ground.xy[0]) / CELL_M).astype(int)
    rows, columns = ground.shape
    x = np.arange(max(low[0], 0), min(high[0] + 1, columns))
    y = np.arange(max(low[1], 0), min(high[1] + 1, rows))
    return (y[:, None] * columns + x[None, :]).ravel()


def leading(found: Clear, ground: WayGround) -> NDArray[np.bool_]:
    """Return (n,): cells from which clear open cells lead to safe ground."""
    from scipy.ndimage import label

    mask = (found.clear & ground.open_).reshape(ground.shape)
    patches = label(mask, structure=np.ones((3, 3)))[0].ravel()
    good = np.zeros(int(patches.max(initial=0)) + 1, dtype=bool)
    good[patches[ground.safe >= 0]] = True
    good[0] = False
    return np.asarray(good[patches])


def path(place: shapely.Point, found: Clear, ground: WayGround) -> tuple[shapely.LineString, str] | None:
    """Return the cheapest path over open clear ground to safe ground and its name, or None."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import dijkstra

    # The crew stands beside the row it has lit: what counts is that the way leads away from it.
    beside = np.hypot(*(ground.xy - np.asarray(place.coords[0])).T) <= CLEAR_M
    passable = ground.open_ & (found.clear | beside)
    goals = passable & (ground.safe >= 0) & found.clear
    cells = np.flatnonzero(passable & beside)
    starts = cells[~_crosses(place, ground.xy[cells], found.live)]
    if not goals.any() or len(starts) == 0:
        return None
    links = ground.links[passable[ground.links].all(axis=1)]
    close = np.flatnonzero(beside[links].any(axis=1))
    crosses = shapely.intersects(_lines(*ground.xy[links[close]].swapaxes(0, 1)), found.live)
    a, b = np.delete(links, close[crosses], axis=0).T
    weight = np.hypot(*(ground.xy[a] - ground.xy[b]).T) * (ground.cost[a] + ground.cost[b]) / 2
    count = len(ground.xy)
    graph = coo_matrix((weight, (a, b)), shape=(count, count)).tocsr()
    cost, before, _ = dijkstra(graph, directed=False, indices=starts, return_predecessors=True, min_only=True)
    goal = int(np.argmin(np.where(goals, cost, np.inf)))
    if not np.isfinite(cost[goal]):
        return None
    cells_back = [goal]
    while before[cells_back[-1]] >= 0:
        cells_back.append(int(before[cells_back[-1]]))
    xy = np.vstack([place.coords[0], _straightened(ground.xy[cells_back[::-1]])])
    return shapely.LineString(xy), ground.names[int(ground.safe[goal])]


def _crosses(place: shapely.Point, cells: Array, live: shapely.MultiLineString) -> NDArray[np.bool_]:
    """Whether the straight line from a place to each cell (n, 2) crosses a live row, but for the one it stands at."""
    first = _lines(np.broadcast_to(place.coords[0], (len(cells), 2)), cells)
    parts = shapely.get_parts(live)
    live = shapely.MultiLineString(list(parts[shapely.dwithin(parts, place, 2 * CLEAR_M)]))
    return np.asarray(shapely.intersects(shapely.difference(first, place.buffer(1.0)), live))


def _lines(begin: Array, end: Array) -> NDArray[np.object_]:
    """Straight lines between places (n, 2)."""
    return np.asarray(shapely.linestrings(np.stack([begin, end], axis=1)), dtype=object)


def _straightened(xy: Array) -> Array:
    """The path without the points that lie on a straight run of cells."""
    if len(xy) < 3:
        return xy
    turns = np.abs(np.diff(xy, n=2, axis=0)).max(axis=1, initial=0.0) > 1e-6
    return xy[np.r_[True, turns, True]]
