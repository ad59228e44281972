"""How each crew drives from piece to piece: straight, or round what is alight where that would cross it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

import numpy as np
import shapely

from mapper.farm.errors import Stopped
from mapper.farm.farm import Crew
from mapper.order.around import Around
from mapper.order.danger import CLEAR_M, Spread, danger_cells
from mapper.order.lit import Fires, Lit
from mapper.order.wayground import CELL_M, WayGround

# Beside the row just lit, and beside the one to light, a crew may be this near to what is alight. Our choice.
_BESIDE_M = 15.0
# A drive goes no further than this beyond its ends. Our choice.
_OUT_M = 500.0
# A metre through smoke weighs as this many outside it. Our choice.
_SMOKE = 5.0


@dataclass(frozen=True)
class Route:
    """One drive of a crew between two pieces of a paddock (their order_no). line: None where no way leads round what is
    alight. leaves, arrives: at its travel speed, to be there when the next piece is lit; late_s: beyond that moment."""

    crew: int
    paddock: str
    block: str
    from_no: int
    to_no: int
    line: shapely.LineString | None
    leaves: datetime
    arrives: datetime
    late_s: float
    rounds: bool


def routes(
    lit: Sequence[Lit],
    grounds: Mapping[str, WayGround],
    around: Around,
    crews: Sequence[Crew],
    cancelled: Callable[[], bool] | None = None,
) -> list[Route]:
    """Return all drives between pieces lit by one crew from end to end, by time. Raises Stopped when cancelled.

    A straight drive that crosses nothing alight stands; else the cheapest way over cells of 10 m that are not beside
    live rows, through their smoke only where there is no other. What burns at any time of the drive counts. Drives
    between paddocks, and inside passes across the rows, are left out.
    """
    fires = Fires(lit)
    found = []
    for crew in range(len(crews)):
        mine = [x for x in lit if all(c == crew for _, _, c in x.points)]
        for a, b in pairwise(mine):
            if cancelled is not None and cancelled():
                raise Stopped
            if a.piece.paddock == b.piece.paddock and b.lit_at >= a.done_at:
                found.append(_route(a, b, crew, crews[crew], fires, grounds[a.piece.paddock], around))
    return sorted(found, key=lambda r: (r.leaves, r.crew))


def _route(a: Lit, b: Lit, crew: int, who: Crew, fires: Fires, ground: WayGround, around: Around) -> Route:
    start, end = a.stands, shapely.Point(b.line.coords[0])
    straight = shapely.LineString([start, end])
    speed = who.travel_km_h / 3.6
    # The next row is lit on arrival: a crew that has to wait leaves so late that it need not wait there.
    leaves = max(a.done_at, b.lit_at - timedelta(seconds=straight.length / speed))
    live = [x.alight(b.lit_at) for x in fires.of(leaves, b.lit_at) if x is not b]
    line: shapely.LineString | None = straight
    wind = around.spread(leaves)
    crosses = _crosses(straight, live)
    rounds = crosses or _smoke_m(straight, live, ground, wind) > CLEAR_M
    if rounds:
        other = way_round(start, end, live, ground, wind)
        line = other if crosses or other is not None else straight
        if line is not None:
            leaves = max(a.done_at, b.lit_at - timedelta(seconds=line.length / speed))
    takes = 0.0 if line is None else line.length / speed
    late = max(takes - (b.lit_at - leaves).total_seconds(), 0.0)
    return Route(
        crew, a.piece.paddock, b.block, a.order_no, b.order_no, line, leaves, leaves + timedelta(seconds=takes), late,
        rounds,
    )  # fmt: skip


def _crosses(line: shapely.LineString, live: Sequence[shapely.LineString], rows_at: tuple[int, ...] = (0, -1)) -> bool:
    """Whether a drive crosses anything alight, but for the rows at whose ends it begins and ends (rows_at)."""
    ends = shapely.union_all([shapely.Point(line.coords[k]).buffer(1.0) for k in rows_at])
    return bool(shapely.intersects(line.difference(ends), np.array(live, dtype=object)).any())


def _smoke_m(line: shapely.LineString, live: Sequence[shapely.LineString], ground: WayGround, wind: Spread) -> float:
    """Metres of a drive in the lee of live rows."""
    if line.length <= CLEAR_M:
        return 0.0
    places = shapely.get_coordinates(shapely.segmentize(line, CELL_M))
    at = np.rint((places - ground.xy[0]) / CELL_M).astype(int)
    rows, columns = ground.shape
    inside = (at >= 0).all(axis=1) & (at[:, 0] < columns) & (at[:, 1] < rows)
    danger = danger_cells(ground, live, (wind,))
    return CELL_M * float(danger[at[inside, 1] * columns + at[inside, 0]].sum())


def way_round(
    start: shapely.Point, end: shapely.Point, live: Sequence[shapely.LineString], ground: WayGround, wind: Spread
) -> shapely.LineString | None:
    """Return the cheapest drive that crosses nothing alight and keeps out of smoke where it can, or None."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import dijkstra

    beside, smoke = danger_cells(ground, live, ()), danger_cells(ground, live, (wind,))
    away = [np.hypot(*(ground.xy - np.asarray(p.coords[0])).T) for p in (start, end)]
    near = (away[0] <= _BESIDE_M) | (away[1] <= _BESIDE_M)
    # No drive goes further out of its way than this.
    passable = ground.open_ & (~beside | near) & (away[0] + away[1] <= start.distance(end) + 2 * _OUT_M)
    links = ground.links[passable[ground.links].all(axis=1)]
    lines = np.array(live, dtype=object)
    fire = shapely.union_all(lines)
    shapely.prepare(fire)
    close = np.flatnonzero(near[links].any(axis=1))
    steps = shapely.linestrings(ground.xy[links[close]])
    a, b = np.delete(links, close[shapely.intersects(steps, fire)], axis=0).T
    weight = np.hypot(*(ground.xy[a] - ground.xy[b]).T) * np.where(smoke[a] | smoke[b], _SMOKE, 1.0)
    count = len(ground.xy)
    graph = coo_matrix((weight, (a, b)), shape=(count, count)).tocsr()
    doors = []
    for place, far in zip((start, end), away, strict=True):
        cells = np.flatnonzero(passable & (far <= _BESIDE_M))
        first = [shapely.LineString([place, xy]) for xy in ground.xy[cells]]
        doors.append(cells[[not _crosses(line, live, (0,)) for line in first]] if len(cells) else cells)
    if not all(len(d) for d in doors):
        return None
    cost, before, _ = dijkstra(graph, directed=False, indices=doors[0], return_predecessors=True, min_only=True)
    goal = int(doors[1][np.argmin(cost[doors[1]])])
    if not np.isfinite(cost[goal]):
        return None
    back = [goal]
    while before[back[-1]] >= 0:
        back.append(int(before[back[-1]]))
    return shapely.LineString([start.coords[0], *ground.xy[back[::-1]], end.coords[0]])
