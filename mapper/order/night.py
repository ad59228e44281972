"""Paddocks of a night one after the other, the downwind ones first."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.errors import Stopped
from mapper.farm.farm import Crew, RowBurn
from mapper.farm.ranged import Array
from mapper.ground.boundary import unit
from mapper.order.lighting import lighting_times, may_begin
from mapper.order.pieces import Piece
from mapper.order.precedence import first_hits
from mapper.order.sequence import Schedule, Task, solve
from mapper.order.strip import edge_rows, with_downwind

HEADER_M = 12.0
# A present break wider than this does not push the first row further from the edge.
_BREAK_INSIDE_M = 12.0


@dataclass(frozen=True)
class Night:
    """What all paddocks of a night share. winds (k, 3): from, until (s), blown to (deg); windows (w, 2) in s."""

    winds: Array
    windows: Array
    crews: tuple[Crew, ...]
    row_burn: RowBurn
    seed: int


@dataclass(frozen=True)
class PaddockOrder:
    """One paddock's schedule over its pieces to light; needs_s is set where it does not fit and stays unlit."""

    paddock: str
    pieces: tuple[Piece, ...]
    edge: NDArray[np.bool_]
    schedule: Schedule | None
    dropped: int
    needs_s: float = 0.0


def downwind_first(paddocks: gpd.GeoDataFrame, to_deg: float) -> list[str]:
    """Return the paddocks' names, the furthest downwind first."""
    middle = shapely.get_coordinates(paddocks.geometry.centroid.to_numpy())
    far = middle @ unit(to_deg)
    return [str(paddocks["paddock"].iloc[k]) for k in np.lexsort((middle[:, 0], -np.round(far, 3)))]


def order_night(
    paddocks: gpd.GeoDataFrame,
    pieces: Sequence[Piece],
    edges: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    night: Night,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> list[PaddockOrder]:
    """Return each paddock's order, in the order they are burnt; those that do not fit come last, unlit.

    All crews work one paddock, then drive on (straight). A paddock that does not fit whole in what is left of the
    windows is passed over for the next; where more than a block's time is left at the end, the first of those passed
    over is lit as far as the time goes.
    """
    names = downwind_first(paddocks, float(night.winds[0, 2]))
    rows = {str(p["paddock"]): p for _, p in paddocks.iterrows()}
    free, at = np.full(len(night.crews), -1e9), np.full((len(night.crews), 2), np.nan)
    done: list[PaddockOrder] = []
    waiting: list[tuple[PaddockOrder, Task]] = []
    for k, name in enumerate(names):
        if progress is not None:
            progress(k, len(names))
        mine = tuple(p for p in pieces if p.paddock == name and not p.left_reason)
        if not mine:
            continue
        header = float(rows[name]["header_width_m"])
        task, found = _task(mine, edges[edges["paddock"] == name], breaks[breaks["paddock"] == name],
                            rows[name].geometry, header if header > 0 else HEADER_M, night)  # fmt: skip
        task = replace(task, crew_free_s=free, crew_xy=at)
        least = float(task.lighting_s.min(axis=0).sum()) / len(night.crews)
        schedule = None
        if least <= _left(free, night.windows):
            schedule = solve(task, night.seed, cancelled)
        elif cancelled is not None and cancelled():
            raise Stopped
        if schedule is not None and len(schedule.pieces) == len(mine):
            done.append(replace(found, schedule=schedule))
            free, at = _moved_on(schedule, task, free, at)
        else:
            waiting.append((replace(found, needs_s=least), task))
    if waiting and _left(free, night.windows) > night.row_burn.block_min * 60:
        first, task = waiting[0]
        schedule = solve(replace(task, crew_free_s=free, crew_xy=at), night.seed, cancelled)
        if len(schedule.pieces):
            done.append(replace(first, schedule=schedule))
            waiting.pop(0)
    return done + [found for found, _ in waiting]


def _task(
    pieces: tuple[Piece, ...],
    edges: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    paddock: BaseGeometry,
    header_m: float,
    night: Night,
) -> tuple[Task, PaddockOrder]:
    lines = [shapely.get_coordinates(p.line) for p in pieces]
    pairs = [first_hits(lines, to) for to in night.winds[:, 2]]
    present = breaks.loc[~breaks["side"].str.startswith(("Ring", "Inside")), "present_m"]
    inside_m = min(float(present.max()), _BREAK_INSIDE_M) if len(present) else 0.0
    edge = with_downwind(edge_rows([p.line for p in pieces], edges, paddock, header_m, inside_m), pairs[0])
    first, last = np.array([xy[0] for xy in lines]), np.array([xy[-1] for xy in lines])
    times = lighting_times(np.array([p.line.length for p in pieces]), night.crews, night.row_burn)
    task = Task(
        ends=np.stack([first, last], axis=1),
        allowed=may_begin(first, last, float(night.winds[0, 2])),
        lighting_s=times.lighting_s,
        out_s=times.out_s,
        travel_m_s=np.array([c.travel_km_h / 3.6 for c in night.crews]),
        edge=edge,
        pairs=pairs,
        winds=night.winds[:, :2],
        windows=night.windows,
        crew_free_s=np.zeros(0),
        crew_xy=np.zeros((0, 2)),
    )
    return task, PaddockOrder(pieces[0].paddock, pieces, edge, None, sum(p.dropped for p in pairs))


def _left(free: Array, windows: Array) -> float:
    """Seconds of window left to the crew that is free first."""
    return float(np.maximum(windows[:, 1] - np.maximum(windows[:, 0], free.min()), 0).sum())


def _moved_on(schedule: Schedule, task: Task, free: Array, at: Array) -> tuple[Array, Array]:
    free, at = free.copy(), at.copy()
    for k, piece in enumerate(schedule.pieces):
        c = schedule.crew[k]
        if schedule.end_s[k] >= free[c]:
            free[c], at[c] = schedule.end_s[k], task.ends[piece, 1 - schedule.way[k]]
    return free, at
