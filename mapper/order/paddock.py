"""The order of one paddock: field by field, edge rows first, then the inside, row by row or in strips across them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.order.blocks import block_numbers
from mapper.order.burning import Burning, burning
from mapper.order.cutground import Asked, Ground, Night, one_way, part_lee, part_pairs
from mapper.order.danger import SIGMAS, Spread, in_lee
from mapper.order.lighting import lighting_times, may_begin
from mapper.order.pieces import Piece
from mapper.order.schedule import FAR
from mapper.order.sequence import Hard, Schedule, Task, solve
from mapper.order.strip import EdgeRows
from mapper.order.strips import lies_along, light_strips

# Room for a crew a row further down. Our choice.
_LEE_SPARE_DEG = 10.0
# Rows a little off the wind are lit row by row where at least this share of them fits. Our choice.
_ENOUGH = 0.6


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


@dataclass(frozen=True)
class Standing:
    """Where the crews of a night are: free_s (crews,), xy (crews, 2), and when what is alight (lines) is out."""

    free_s: Array
    xy: Array
    burning_s: Array
    lines: tuple[Array, ...] = ()


def order_paddock(
    ground: Ground,
    night: Night,
    standing: Standing,
    asked: Asked | None = None,
    whole_within_s: float = np.inf,
    cancelled: Callable[[], bool] | None = None,
) -> PaddockOrder:
    """Return the order of a paddock's pieces: blocks counted from 0 in their order.

    Where the rows cannot all be lit inside whole_within_s, nothing is lit. A field whose edge rows alone fit stays
    unlit.
    """
    rows, pairs = ground.rows, ground.pairs
    to_deg = float(night.winds[0, 2])
    task = _task(ground, night, standing, asked or Asked())
    inside = [p for p, e in zip(rows.pieces, rows.edge, strict=True) if not e]
    alone = float(task.lighting_s.min(axis=0).sum())
    dropped = sum(p.dropped for p in pairs)
    strips = len(night.winds) == 1 and 0 < len(inside) <= night.most_alight
    in_strips = strips and lies_along([p.line for p in inside], to_deg, night.along_deg)
    if not in_strips and alone / len(night.crews) > whole_within_s:
        return PaddockOrder(ground.paddock, rows.pieces, (), False, dropped, 0.0, alone)
    if in_strips:
        pieces, lit, driven = _in_strips(ground, night, task, cancelled)
        return PaddockOrder(ground.paddock, pieces, tuple(lit), True, dropped, driven, alone)
    found = _solved(task, night, cancelled)
    # The wind may come from either side of such rows: row by row they would wait for each other to burn out.
    lean = strips and lies_along([p.line for p in inside], to_deg, night.lee_deg)
    if lean and len(found.pieces) < _ENOUGH * len(rows.pieces):
        pieces, lit, driven = _in_strips(ground, night, task, cancelled)
        return PaddockOrder(ground.paddock, pieces, tuple(lit), True, dropped, driven, alone)
    lit = _blocked(burning(rows.pieces, found, night.crews, night.row_burn, rows.edge), task.phase[found.pieces], night)
    return PaddockOrder(ground.paddock, rows.pieces, tuple(lit), False, dropped, found.driven_m, alone)


def _solved(task: Task, night: Night, cancelled: Callable[[], bool] | None) -> Schedule:
    """The schedule of a task; where strict turns leave pieces unlit (a later wind may forbid them), one without."""
    found = solve(task, night.seed, cancelled, night.effort)
    if len(found.pieces) == len(task.ends) or not task.phase.any() or len(task.pairs) == 1:
        return found
    loose = solve(replace(task, phase=np.zeros_like(task.phase)), night.seed, cancelled, night.effort)
    return loose if len(loose.pieces) > len(found.pieces) else found


def _blocked(lit: list[Burning], phase: NDArray[np.int64], night: Night) -> list[Burning]:
    """The pieces lit with their blocks; edge rows at the end after which nothing of the inside is lit fall away."""
    last = max((k + 1 for k, b in enumerate(lit) if not b.edge), default=0)
    begin = np.array([b.begin_s for b in lit[:last]])
    numbers = block_numbers(begin, phase[:last], night.row_burn.block_min * 60)
    return [replace(b, block=int(n)) for b, n in zip(lit[:last], numbers, strict=True)]


def _in_strips(
    ground: Ground, night: Night, task: Task, cancelled: Callable[[], bool] | None
) -> tuple[tuple[Piece, ...], list[Burning], float]:
    """Field by field: edge rows, and once they are out the inside in strips."""
    rows = ground.rows
    lit: list[Burning] = []
    pieces: list[Piece] = []
    driven, going, block = 0.0, True, 0
    free, xy = task.crew_free_s, task.crew_xy
    stays = task.crew_until_s >= FAR
    crews = tuple(c for c, s in zip(night.crews, stays, strict=True) if s) or night.crews[:1]
    for turn in np.unique(ground.turn):
        outer = rows.edge & (ground.turn == turn)
        inner = ~rows.edge & (ground.turn == turn)
        ready = float(max(free.max(), np.max(task.release_s[outer | inner], initial=0.0)))
        first: list[Burning] = []
        if going and outer.any():
            part = replace(_part(task, outer), crew_free_s=free, crew_xy=xy)
            found = solve(part, night.seed, cancelled, night.effort)
            mine = tuple(p for p, o in zip(rows.pieces, outer, strict=True) if o)
            first = burning(mine, found, night.crews, night.row_burn, np.ones(len(mine), dtype=bool))
            numbers = block_numbers(found.begin_s, np.zeros(len(first), dtype=np.int64), night.row_burn.block_min * 60)
            first = [replace(b, block=block + int(n)) for b, n in zip(first, numbers, strict=True)]
            driven, ready = driven + found.driven_m, max((b.out_s for b in first), default=ready)
            going = len(first) == len(mine)
        mine = tuple(p for p, i in zip(rows.pieces, inner, strict=True) if i)
        begun = 1 + max((b.block for b in first), default=block - 1)
        cut: list[Piece] = list(mine)
        strips: list[Burning] = []
        if going and mine:
            cut, strips = light_strips(
                mine, float(night.winds[0, 2]), ground.header_m, crews, night.row_burn, night.windows, ready
            )
            strips = [replace(b, block=b.block + begun) for b in strips]
            going = len(strips) == len(cut)
        pieces += [*(p for p, o in zip(rows.pieces, outer, strict=True) if o), *cut]
        if strips or not mine:
            lit += first + strips
        free = np.maximum(free, max((b.end_s for b in lit), default=float(free.max())))
        block = 1 + max((b.block for b in lit), default=-1)
    return tuple(pieces), lit, driven


def _task(ground: Ground, night: Night, standing: Standing, asked: Asked) -> Task:
    rows = ground.rows
    lines = [shapely.get_coordinates(p.line) for p in rows.pieces]
    first, last = np.array([xy[0] for xy in lines]), np.array([xy[-1] for xy in lines])
    times = lighting_times(np.array([p.line.length for p in rows.pieces]), night.crews, night.row_burn)
    axis = _axis(first, last)
    number = {p.piece_id: k for k, p in enumerate(rows.pieces)}
    release = np.array([asked.release_s.get(p.piece_id, -FAR) for p in rows.pieces])
    above, below = in_lee(standing.lines, lines, Spread(float(night.winds[0, 2]), night.lee_deg / SIGMAS))
    np.maximum.at(release, below, standing.burning_s[above])
    phase = 2 * ground.turn + ~rows.edge
    return Task(
        ends=np.stack([first, last], axis=1) @ axis,
        allowed=may_begin(lines, float(night.winds[0, 2]), night.lee_deg + _LEE_SPARE_DEG),
        lighting_s=times.lighting_s,
        out_s=times.out_s,
        travel_m_s=np.array([c.travel_km_h / 3.6 for c in night.crews]),
        pairs=ground.pairs,
        winds=night.winds[:, :2],
        windows=night.windows,
        crew_free_s=standing.free_s,
        crew_xy=standing.xy @ axis,
        member=np.where(rows.edge, ground.turn, -1),
        gate=np.where(rows.edge, -1, _gates(rows, ground.turn)),
        phase=phase,
        release_s=release,
        done_by_s=np.full(len(lines), FAR),
        extra_s=np.zeros(len(lines)),
        crew_until_s=night.crew_until_s,
        hard=_hard(ground, phase, number, asked),
        lee=ground.lee,
        most_alight=night.most_alight,
        burning_s=standing.burning_s,
        corner=True,
    )


def _gates(rows: EdgeRows, turn: NDArray[np.int64]) -> NDArray[np.int64]:
    """Turn of the edge rows that a piece waits for, -1 where its field has none."""
    there = np.unique(turn[rows.edge])
    return np.where(np.isin(turn, there), turn, -1)


def _hard(ground: Ground, phase: NDArray[np.int64], number: Mapping[str, int], asked: Asked) -> Hard:
    """Edge rows in a bay are out before what is upwind of them; what lies in a row's lee, and what is asked to be
    earlier, comes before where nothing else forbids it."""
    rows = ground.rows
    bay = rows.late[rows.pairs.first]
    wishes = [(number[a], number[b]) for a, b in asked.earlier if a in number and b in number]
    above, below = one_way(ground, phase)
    first = np.r_[rows.pairs.first[bay], [a for a, _ in wishes], below].astype(np.int64)
    then = np.r_[rows.pairs.then[bay], [b for _, b in wishes], above].astype(np.int64)
    return Hard(first, then, np.arange(len(first)) < int(bay.sum()))


def _axis(first: Array, last: Array) -> Array:
    """(2, 2): turns places so that most rows run along an axis: crews drive beside rows and along headlands."""
    chord = last - first
    length = np.hypot(*chord.T)
    angle = np.arctan2(chord[:, 1], chord[:, 0])
    most = 0.5 * np.arctan2((length * np.sin(2 * angle)).sum(), (length * np.cos(2 * angle)).sum())
    return np.array([[np.cos(most), -np.sin(most)], [np.sin(most), np.cos(most)]])


def _part(task: Task, chosen: NDArray[np.bool_]) -> Task:
    """The task of some of its pieces, closed downwind, without gates and turns."""
    pairs = [part_pairs(p, chosen) for p in task.pairs]
    none = np.zeros(int(chosen.sum()), dtype=np.int64)
    return replace(
        task,
        ends=task.ends[chosen],
        allowed=task.allowed[chosen],
        lighting_s=task.lighting_s[:, chosen],
        out_s=task.out_s[chosen],
        pairs=pairs,
        member=none - 1,
        gate=none - 1,
        phase=none,
        release_s=task.release_s[chosen],
        done_by_s=task.done_by_s[chosen],
        extra_s=task.extra_s[chosen],
        hard=Hard(none[:0], none[:0], none[:0].astype(bool)),
        lee=part_lee(task.lee, chosen),
    )
