"""The sequence in which pieces are lit: seeded starts, annealed, never against precedence."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mapper.farm.errors import Stopped
from mapper.farm.ranged import Array
from mapper.order.precedence import Pairs
from mapper.order.schedule import DRIVE_S_M, FAR, UNLIT_S, anneal, run_sequence

# Between crews: a piece follows the one downwind of it by this much, point by point. Our choice: 100 m of lighting.
LAG_S = 30.0
# Effort: starts chosen as it goes; pieces placed while annealing, in all; moves between two looks at `cancelled`;
# seconds by which a worse order may be worse, at the start and at the end. Found by trying (tests/bench).
STARTS, PLACINGS, MOVES, CHUNK = 16, 1_500_000, 20_000, 400
HEAT_S = (40.0, 0.5)
_REACH = 12


@dataclass(frozen=True)
class Hard:
    """m pairs that hold whatever the wind: `first` before `then`; out (m,): `first` must have burnt out."""

    first: NDArray[np.int64]
    then: NDArray[np.int64]
    out: NDArray[np.bool_]


def no_pairs() -> Hard:
    """Return none."""
    none = np.zeros(0, dtype=np.int64)
    return Hard(none, none, none.astype(bool))


@dataclass(frozen=True)
class Lee:
    """m pairs: piece `below` lies in the lee of piece `above` under some direction that the wind may take."""

    above: NDArray[np.int64]
    below: NDArray[np.int64]


def no_lee() -> Lee:
    """Return none."""
    none = np.zeros(0, dtype=np.int64)
    return Lee(none, none)


@dataclass(frozen=True)
class Task:
    """All that a sequence must respect; n pieces, times in seconds from one start.

    ends (n, 2, 2): where a piece begins when lit from its first, from its last vertex. allowed (n, 2). lighting_s
    (crews, n), out_s (n,), travel_m_s (crews,). pairs: one for each wind; winds (k, 2): from when until when it holds.
    windows (w, 2). crew_free_s (crews,), crew_xy (crews, 2): NaN for a crew that stands ready where it begins.

    member (n,): the edge rows a piece is one of, -1 for none; gate (n,): those that must be burnt out before it.
    phase (n,): no piece of a later phase is lit before all of the earlier ones are. hard: pairs besides those of the
    winds; lee: no piece is lit while one above it burns. release_s (n,): not before; done_by_s (n,): the crew is done
    by then. extra_s (n,): driving there takes so much longer than ends tell. crew_until_s (crews,). most_alight: pieces
    alight at once; burning_s: when those alight already are out. corner: crews drive along the two axes of `ends`, not
    straight.
    """

    ends: Array
    allowed: NDArray[np.bool_]
    lighting_s: Array
    out_s: Array
    travel_m_s: Array
    pairs: Sequence[Pairs]
    winds: Array
    windows: Array
    crew_free_s: Array
    crew_xy: Array
    member: NDArray[np.int64]
    gate: NDArray[np.int64]
    phase: NDArray[np.int64]
    release_s: Array
    done_by_s: Array
    extra_s: Array
    crew_until_s: Array
    hard: Hard = field(default_factory=no_pairs)
    lee: Lee = field(default_factory=no_lee)
    most_alight: int = 1_000_000
    burning_s: Array = field(default_factory=lambda: np.zeros(0))
    corner: bool = False


@dataclass(frozen=True)
class Schedule:
    """What is lit, in order. pieces (m,) of the task's n; begin_s, end_s (last point lit), out_s, way (0 from the first
    vertex, 1 from the last), crew, all (m,); driven_m between pieces."""

    pieces: NDArray[np.int64]
    begin_s: Array
    end_s: Array
    out_s: Array
    way: NDArray[np.int64]
    crew: NDArray[np.int64]
    driven_m: float


def solve(task: Task, seed: int = 0, cancelled: Callable[[], bool] | None = None, effort: float = 1.0) -> Schedule:
    """Return a good schedule: as many pieces as fit, then the earliest last burn-out, then little driving.

    Same task, seed and effort, same schedule; effort 0 takes the first one found, which is safe as well. Raises Stopped
    when cancelled.
    """
    run = _Runner(task)
    random = np.random.default_rng(seed)
    n = len(task.ends)
    best, order = run.choose(np.zeros(n)), run.order()
    for _ in range(round(STARTS * effort) - 1):
        _ask(cancelled)
        cost = run.choose(random.exponential(0.6, n))
        if cost < best:
            best, order = cost, run.order()
    if len(order) > 3:
        order = run.annealed(order, effort, random, cancelled)
    run.follow(order)
    return run.schedule(order)


def follow(task: Task, order: NDArray[np.int64], codes: NDArray[np.int64]) -> Schedule:
    """Return the schedule of a given order; codes (n,): twice the crew and the way round, -1 where both are free."""
    run = _Runner(task)
    run.codes = codes
    run.follow(order)
    return run.schedule(run.order())


def _ask(cancelled: Callable[[], bool] | None) -> None:
    if cancelled is not None and cancelled():
        raise Stopped


class _Runner:
    """Holds a task's arrays in the shape the compiled loop wants, and the last run's outcome."""

    def __init__(self, task: Task) -> None:
        n = len(task.ends)
        count = len(task.hard.first)
        wind = np.concatenate([*(np.full(len(p.first), k) for k, p in enumerate(task.pairs)), np.full(count, -1)])
        then = np.concatenate([*(p.then for p in task.pairs), task.hard.then])
        first = np.concatenate([*(p.first for p in task.pairs), task.hard.first])
        out = np.concatenate([*(np.zeros(len(p.first), dtype=bool) for p in task.pairs), task.hard.out])
        nowhere = np.zeros((count, 2))
        shares = [
            np.concatenate([*(getattr(p, name) for p in task.pairs), nowhere]) for name in ("first_share", "then_share")
        ]
        order = np.argsort(then, kind="stable")
        above = np.argsort(task.lee.above, kind="stable")
        self._n = n
        self._task = tuple(
            np.ascontiguousarray(a) if isinstance(a, np.ndarray) else a
            for a in (
                task.ends.astype(float), task.allowed, task.lighting_s.astype(float), task.out_s.astype(float),
                task.travel_m_s.astype(float), task.gate, task.member, task.phase, task.release_s.astype(float),
                task.done_by_s.astype(float), task.extra_s.astype(float), task.crew_until_s.astype(float),
                int(task.most_alight), bool(task.corner),
                np.searchsorted(then[order], np.arange(n + 1)).astype(np.int64), first[order].astype(np.int64),
                shares[0][order].astype(float), shares[1][order].astype(float), wind[order].astype(np.int64),
                out[order], task.winds[:, 0].astype(float), task.winds[:, 1].astype(float),
                task.windows[:, 0].astype(float), task.windows[:, 1].astype(float), LAG_S,
                np.searchsorted(task.lee.above[above], np.arange(n + 1)).astype(np.int64),
                task.lee.below[above].astype(np.int64),
            )
        )  # fmt: skip
        self._crews = (task.crew_free_s.astype(float), np.ascontiguousarray(task.crew_xy, dtype=float))
        self._burning = np.sort(task.burning_s).astype(float)
        self._out = task.out_s
        self.codes = np.full(n, -1)
        self._begin, self._end = np.full(n, FAR), np.full(n, FAR)
        self._way, self._crew, self._chosen = (np.zeros(n, dtype=np.int64) for _ in range(3))
        self._lit, self._driven = 0, 0.0

    def choose(self, noise: Array) -> float:
        """Choose as it goes and return the cost."""
        return self._run(np.zeros(0, dtype=np.int64), noise)

    def follow(self, order: NDArray[np.int64]) -> float:
        """Run an order and return its cost."""
        return self._run(order, np.zeros(self._n)) if len(order) else UNLIT_S * self._n

    def _run(self, sequence: NDArray[np.int64], noise: Array) -> float:
        self._lit, last_out, self._driven = run_sequence(
            sequence, self.codes, noise, *self._crews, self._burning, self._task,
            self._begin, self._end, self._way, self._crew, self._chosen,
        )  # fmt: skip
        return (self._n - self._lit) * UNLIT_S + last_out + DRIVE_S_M * self._driven

    def annealed(
        self, order: NDArray[np.int64], effort: float, random: np.random.Generator, cancelled: Callable[[], bool] | None
    ) -> NDArray[np.int64]:
        """Return a better order, or the same; the way round of pieces is settled along with it."""
        moves = int(min(PLACINGS / len(order), MOVES) * effort)
        order, best, codes = order.copy(), order.copy(), self.codes.copy()
        costs = np.full(2, self.follow(order))
        chunks = -(-moves // CHUNK)
        for k in range(chunks):
            _ask(cancelled)
            hot, cold = (HEAT_S[0] * (HEAT_S[1] / HEAT_S[0]) ** ((k + i) / chunks) for i in (0, 1))
            anneal(
                order, codes, best, self.codes, costs, hot, cold, CHUNK, int(random.integers(2**31)), _REACH,
                *self._crews, self._burning, self._task, self._begin, self._end, self._way, self._crew, self._chosen,
            )  # fmt: skip
        return best

    def order(self) -> NDArray[np.int64]:
        """Pieces of the last run in the order lit."""
        return self._chosen[: self._lit].copy()

    def schedule(self, order: NDArray[np.int64]) -> Schedule:
        """The last run's outcome, sorted by the time of lighting."""
        lit = order[np.lexsort((self._crew[order], self._begin[order]))]
        end = self._end[lit]
        return Schedule(lit, self._begin[lit], end, end + self._out[lit], self._way[lit], self._crew[lit], self._driven)
