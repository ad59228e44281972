"""The sequence in which pieces are lit: seeded starts, improved by moving runs of pieces, never against precedence."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mapper.farm.errors import Stopped
from mapper.farm.ranged import Array
from mapper.order.precedence import Pairs
from mapper.order.schedule import DRIVE_S_M, FAR, run_sequence

# Between crews: a piece follows the one downwind of it by this much, point by point. Our choice: 100 m of lighting.
LAG_S = 30.0
STARTS, MOVES = 24, 4000


@dataclass(frozen=True)
class Task:
    """All that a sequence must respect; n pieces, times in seconds from one start.

    ends (n, 2, 2): where a piece begins when lit from its first, from its last vertex. allowed (n, 2). lighting_s
    (crews, n), out_s (n,), travel_m_s (crews,), edge (n,): edge rows, burnt out before the inside is lit. pairs: one
    for each wind; winds (k, 2): from when until when it holds. windows (w, 2). crew_free_s (crews,), crew_xy
    (crews, 2): NaN for a crew that stands ready where it begins.
    """

    ends: Array
    allowed: NDArray[np.bool_]
    lighting_s: Array
    out_s: Array
    travel_m_s: Array
    edge: NDArray[np.bool_]
    pairs: Sequence[Pairs]
    winds: Array
    windows: Array
    crew_free_s: Array
    crew_xy: Array


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


def solve(task: Task, seed: int = 0, cancelled: Callable[[], bool] | None = None) -> Schedule:
    """Return a good schedule: as many pieces as fit, then the earliest last burn-out, then little driving.

    Same task and seed, same schedule. Driving is straight from end to end. Raises Stopped when cancelled.
    """
    run = _Runner(task)
    random = np.random.default_rng(seed)
    n = len(task.ends)
    none = np.zeros(0, dtype=np.int64)
    best, best_order = run(none, np.zeros(n)), run.order()
    for _ in range(STARTS - 1):
        if cancelled is not None and cancelled():
            raise Stopped
        cost = run(none, random.exponential(0.6, n))
        if cost < best:
            best, best_order = cost, run.order()
    quiet = np.zeros(n)
    for k in range(MOVES if len(best_order) > 3 else 0):
        if k % 200 == 0 and cancelled is not None and cancelled():
            raise Stopped
        trial = _moved(best_order, random)
        cost = run(trial, quiet)
        if cost < best:
            best, best_order = cost, trial
    if len(best_order):
        run(best_order, quiet)
    return run.schedule(best_order)


def _moved(order: NDArray[np.int64], random: np.random.Generator) -> NDArray[np.int64]:
    """Return the order with a short run of pieces put somewhere near, sometimes turned round."""
    n = len(order)
    length = int(random.integers(1, min(5, n - 1) + 1))
    a = int(random.integers(0, n - length + 1))
    run = order[a : a + length]
    rest = np.concatenate([order[:a], order[a + length :]])
    to = int(np.clip(a + random.integers(-12, 13), 0, len(rest)))
    return np.concatenate([rest[:to], run[::-1] if random.random() < 0.5 else run, rest[to:]])


class _Runner:
    """Holds a task's arrays in the shape the compiled loop wants, and the last run's outcome."""

    def __init__(self, task: Task) -> None:
        n = len(task.ends)
        wind = np.concatenate([np.full(len(p.first), k) for k, p in enumerate(task.pairs)] or [np.zeros(0)])
        then = np.concatenate([p.then for p in task.pairs] or [np.zeros(0, dtype=np.int64)])
        order = np.argsort(then, kind="stable")

        def joined(name: str, width: int = 0) -> Array:
            parts = [getattr(p, name) for p in task.pairs] or [np.zeros((0, width) if width else 0)]
            return np.ascontiguousarray(np.concatenate(parts)[order])

        self._n = n
        self._fixed = (
            task.crew_free_s.astype(float), task.crew_xy.astype(float),
            np.ascontiguousarray(task.ends, dtype=float), np.ascontiguousarray(task.allowed),
            np.ascontiguousarray(task.lighting_s, dtype=float), task.out_s.astype(float),
            task.travel_m_s.astype(float), np.ascontiguousarray(task.edge),
            np.searchsorted(then[order], np.arange(n + 1)).astype(np.int64), joined("first").astype(np.int64),
            joined("first_share", 2).astype(float), joined("then_share", 2).astype(float),
            wind[order].astype(np.int64),
            np.ascontiguousarray(task.winds[:, 0], dtype=float), np.ascontiguousarray(task.winds[:, 1], dtype=float),
            np.ascontiguousarray(task.windows[:, 0], dtype=float),
            np.ascontiguousarray(task.windows[:, 1], dtype=float), LAG_S,
        )  # fmt: skip
        self._out = task.out_s
        self._begin, self._end = np.full(n, FAR), np.full(n, FAR)
        self._way, self._crew, self._chosen = (np.zeros(n, dtype=np.int64) for _ in range(3))
        self._lit, self._driven = 0, 0.0

    def __call__(self, sequence: NDArray[np.int64], noise: Array) -> tuple[int, float]:
        """Run a sequence (or choose as it goes) and return its cost: pieces not lit, then seconds."""
        self._lit, last_out, self._driven = run_sequence(
            sequence, noise, *self._fixed, self._begin, self._end, self._way, self._crew, self._chosen
        )
        return self._n - self._lit, last_out + DRIVE_S_M * self._driven

    def order(self) -> NDArray[np.int64]:
        """Pieces of the last run in the order lit."""
        return self._chosen[: self._lit].copy()

    def schedule(self, order: NDArray[np.int64]) -> Schedule:
        """The last run's outcome, sorted by the time of lighting."""
        lit = order[np.lexsort((self._crew[order], self._begin[order]))]
        end = self._end[lit]
        return Schedule(lit, self._begin[lit], end, end + self._out[lit], self._way[lit], self._crew[lit], self._driven)
