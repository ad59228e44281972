"""The order of one paddock: its edge rows first, then the inside, row by row or in strips across the rows."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.farm import Crew, RowBurn
from mapper.farm.ranged import Array
from mapper.order.blocks import block_numbers
from mapper.order.burning import Burning, burning
from mapper.order.lighting import lighting_times, may_begin
from mapper.order.pieces import Piece
from mapper.order.precedence import Pairs, first_hits
from mapper.order.sequence import Task, solve
from mapper.order.strip import cut_at_strip, edge_rows, edge_strip, with_downwind
from mapper.order.strips import lies_along, light_strips

HEADER_M = 12.0
# A present break wider than this does not push the first row further from the edge.
_BREAK_INSIDE_M = 12.0


@dataclass(frozen=True)
class Night:
    """What all paddocks of a night share. winds (k, 3): from, until (s), blown to (deg); windows (w, 2) in s.

    along_deg: rows closer to the wind's direction than this are lit in strips across them.
    """

    winds: Array
    windows: Array
    crews: tuple[Crew, ...]
    row_burn: RowBurn
    along_deg: float
    seed: int


@dataclass(frozen=True)
class Ground:
    """One paddock: its pieces to light, the layers "edges" and "breaks" of its own, its header width."""

    paddock: str
    pieces: tuple[Piece, ...]
    area: BaseGeometry
    edges: gpd.GeoDataFrame
    breaks: gpd.GeoDataFrame
    header_m: float


@dataclass(frozen=True)
class PaddockOrder:
    """One paddock's pieces to light, and as many of them as fit, by time. in_strips: lit in passes across the rows.

    dropped: pairs of pieces that cross. driven_m: between pieces lit row by row. lighting_s: time a row alone, summed.
    """

    paddock: str
    pieces: tuple[Piece, ...]
    burning: tuple[Burning, ...]
    in_strips: bool
    dropped: int
    driven_m: float
    lighting_s: float

    @property
    def whole(self) -> bool:
        """Whether every piece is lit."""
        return len(self.burning) == len(self.pieces)


def order_paddock(
    ground: Ground,
    night: Night,
    free: Array,
    at: Array,
    whole_within_s: float = np.inf,
    cancelled: Callable[[], bool] | None = None,
) -> PaddockOrder:
    """Return the order of one paddock. free (crews,), at (crews, 2): when and where the crews come from.

    With rows close to the wind's direction (and one wind all night) the inside is lit in strips across the rows; else
    row by row. Where that is bound to take longer than whole_within_s nothing is worked out and nothing lit.
    """
    present = ground.breaks.loc[~ground.breaks["side"].str.startswith(("Ring", "Inside")), "present_m"]
    inside_m = min(float(present.max()), _BREAK_INSIDE_M) if len(present) else 0.0
    strip = edge_strip(ground.edges, ground.area, ground.header_m, inside_m)
    pieces = cut_at_strip(ground.pieces, strip)
    lines = [shapely.get_coordinates(p.line) for p in pieces]
    pairs = [first_hits(lines, to) for to in night.winds[:, 2]]
    edge = with_downwind(edge_rows(pieces, strip), pairs[0])
    task = _task(pieces, lines, pairs, edge, night, free, at)
    to_deg = float(night.winds[0, 2])
    inside = [p for p, e in zip(pieces, edge, strict=True) if not e]
    alone = float(task.lighting_s.min(axis=0).sum())
    dropped = sum(p.dropped for p in pairs)
    in_strips = len(night.winds) == 1 and inside and lies_along([p.line for p in inside], to_deg, night.along_deg)
    if not in_strips and alone / len(night.crews) > whole_within_s:
        return PaddockOrder(ground.paddock, pieces, (), False, dropped, 0.0, alone)
    if not in_strips:
        found = solve(task, night.seed, cancelled)
        lit = burning(pieces, found, night.crews, night.row_burn, edge)
        numbers = block_numbers(found.begin_s, edge[found.pieces], night.row_burn.block_min * 60)
        lit = [replace(b, block=int(n)) for b, n in zip(lit, numbers, strict=True)]
        return PaddockOrder(ground.paddock, pieces, tuple(lit), False, dropped, found.driven_m, alone)
    outer = [p for p, e in zip(pieces, edge, strict=True) if e]
    first: list[Burning] = []
    driven, ready = 0.0, float(free.max())
    if outer:
        found = solve(_part(task, edge), night.seed, cancelled)
        first = burning(outer, found, night.crews, night.row_burn, np.ones(len(outer), dtype=bool))
        numbers = block_numbers(found.begin_s, np.ones(len(first), dtype=bool), night.row_burn.block_min * 60)
        first = [replace(b, block=int(n)) for b, n in zip(first, numbers, strict=True)]
        driven, ready = found.driven_m, max((b.out_s for b in first), default=ready)
    cut, strips = light_strips(
        inside, to_deg, ground.header_m, night.crews, night.row_burn, night.windows, ready
    ) if len(first) == len(outer) else (inside, [])  # fmt: skip
    begun = 1 + max((b.block for b in first), default=-1)
    lit = first + [replace(b, block=b.block + begun) for b in strips]
    return PaddockOrder(ground.paddock, (*outer, *cut), tuple(lit), True, dropped, driven, alone)


def _task(
    pieces: tuple[Piece, ...],
    lines: list[Array],
    pairs: list[Pairs],
    edge: NDArray[np.bool_],
    night: Night,
    free: Array,
    at: Array,
) -> Task:
    first, last = np.array([xy[0] for xy in lines]), np.array([xy[-1] for xy in lines])
    times = lighting_times(np.array([p.line.length for p in pieces]), night.crews, night.row_burn)
    return Task(
        ends=np.stack([first, last], axis=1),
        allowed=may_begin(first, last, float(night.winds[0, 2])),
        lighting_s=times.lighting_s,
        out_s=times.out_s,
        travel_m_s=np.array([c.travel_km_h / 3.6 for c in night.crews]),
        edge=edge,
        pairs=pairs,
        winds=night.winds[:, :2],
        windows=night.windows,
        crew_free_s=free,
        crew_xy=at,
    )


def _part(task: Task, chosen: NDArray[np.bool_]) -> Task:
    """The task of some of its pieces, closed downwind."""
    number = np.cumsum(chosen) - 1
    pairs = []
    for p in task.pairs:
        both = chosen[p.first] & chosen[p.then]
        pairs.append(
            Pairs(number[p.first[both]], number[p.then[both]], p.lines[both], p.first_share[both], p.then_share[both])
        )
    return replace(
        task,
        ends=task.ends[chosen],
        allowed=task.allowed[chosen],
        lighting_s=task.lighting_s[:, chosen],
        out_s=task.out_s[chosen],
        edge=task.edge[chosen],
        pairs=pairs,
    )
