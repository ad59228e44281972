"""Words on the map without a collision: candidates, costs, placing by rank, putting out, sweeping.

The result depends on the asks alone, never on their order. What found no place is named, not dropped in silence.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mapper.draw.lettering import metrics
from mapper.farm.ranged import Array

# Costs in mm of "worse": words over ink, and leaders, from a trial of 71 labels on A4.
_INK_COST, _BARE_FACTOR, _LEADER_COST = 14.0, 2.6, 0.35
_GAP_MM = 0.6
_SWEEPS = 6


@dataclass(frozen=True)
class Ask:
    """A label that wants a place.

    name: unique, sorts ties. lines: the words. spots (k, 2): centres to try, painter units. likes (k,): preference
    cost of each, lower is better. rank 0 goes first. look: "halo" (bare words), "plate" (black on white, framed),
    "black" (white on black), "card" (a block's card: first line large). leader: draw a line to `anchor` where the
    label stands off it. owner: the obstacle that the label belongs to, which its leader may touch.
    """

    name: str
    lines: tuple[str, ...]
    spots: Array
    likes: Array
    rank: int = 5
    look: str = "halo"
    size_pt: float = 9.0
    bold: bool = True
    leader: bool = False
    anchor: tuple[float, float] = (0.0, 0.0)
    owner: str = ""


@dataclass(frozen=True)
class Placed:
    """A label in its place. box: left, top, right, bottom in painter units."""

    ask: Ask
    box: tuple[float, float, float, float]
    leader: tuple[float, float, float, float] | None = None


@dataclass(frozen=True)
class Placing:
    """What was placed, by name, and the names of what found no place."""

    placed: tuple[Placed, ...]
    left: tuple[str, ...]


@dataclass(frozen=True)
class Obstacle:
    """A box that no label may cover: left, top, right, bottom; leaders may run through it unless it bars them."""

    name: str
    box: tuple[float, float, float, float]
    bars_leaders: bool = True


class InkMap:
    """How much ink lies under any box. dark (rows, columns): 0 white to 1 black, cell painter units a side."""

    def __init__(self, dark: Array, cell: float) -> None:
        self.cell = cell
        self.shape = dark.shape
        self._sum = np.zeros((dark.shape[0] + 1, dark.shape[1] + 1))
        self._sum[1:, 1:] = dark.cumsum(axis=0).cumsum(axis=1)

    def mean(self, boxes: Array) -> Array:
        """Return the mean darkness under boxes (k, 4)."""
        x0, x1 = (np.clip(np.round(boxes[:, k] / self.cell).astype(int), 0, self.shape[1]) for k in (0, 2))
        y0, y1 = (np.clip(np.round(boxes[:, k] / self.cell).astype(int), 0, self.shape[0]) for k in (1, 3))
        total = self._sum[y1, x1] - self._sum[y0, x1] - self._sum[y1, x0] + self._sum[y0, x0]
        mean: Array = total / np.maximum((y1 - y0) * (x1 - x0), 1)
        return mean


def box_size(ask: Ask, mm: float) -> tuple[float, float]:
    """Return width and height of a label's box, its plate and halo within, painter units."""
    if ask.look == "card":
        head, body = metrics(16, True, mm), metrics(ask.size_pt, True, mm)
        wide = max(body.horizontalAdvance(t) for t in ask.lines[1:]) if len(ask.lines) > 1 else 0.0
        return head.horizontalAdvance(ask.lines[0]) + wide + 5.5 * mm, max(
            8.4 * mm, 2.2 * mm + 4 * mm * (len(ask.lines) - 1)
        )
    m = metrics(ask.size_pt, ask.bold, mm)
    pad_x, pad_y = {"halo": (0.4, 0.2), "plate": (1.0, 0.5), "black": (0.7, 0.1)}[ask.look]
    wide = max(m.horizontalAdvance(t) for t in ask.lines)
    return wide + 2 * pad_x * mm, (m.ascent() * 0.98 + m.descent() * 0.9) * len(ask.lines) + 2 * pad_y * mm


@dataclass(eq=False)
class _Held:
    """One ask with its candidates measured, and where it stands (-1: nowhere)."""

    ask: Ask
    boxes: Array
    cost: Array  # infinite where the candidate can never be
    leaders: Array  # (k, 4), NaN where none
    at: int = -1


def place(
    asks: Sequence[Ask],
    frame: tuple[float, float, float, float],
    ink: InkMap,
    obstacles: Sequence[Obstacle] = (),
    mm: float = 1.0,
) -> Placing:
    """Return the labels in their places inside frame (left, top, right, bottom), painter units; mm is units per mm."""
    held = [_measured(a, frame, ink, obstacles, mm) for a in asks]
    held.sort(key=lambda h: (h.ask.rank, int(np.isfinite(h.cost).sum()), h.ask.name))
    board = _Board(held, _GAP_MM * mm)
    for k in range(len(held)):
        board.settle(k)
    for k in [k for k, h in enumerate(held) if h.at < 0]:
        board.put_out(k)
    for _ in range(_SWEEPS):
        if not any([board.settle(k) for k in range(len(held))]):
            break
    placed = tuple(
        Placed(
            h.ask,
            tuple(h.boxes[h.at].tolist()),
            None if np.isnan(h.leaders[h.at, 0]) else tuple(h.leaders[h.at].tolist()),
        )
        for h in sorted(held, key=lambda h: h.ask.name)
        if h.at >= 0
    )
    return Placing(placed, tuple(sorted(h.ask.name for h in held if h.at < 0)))


def _measured(ask: Ask, frame: tuple[float, ...], ink: InkMap, obstacles: Sequence[Obstacle], mm: float) -> _Held:
    w, h = box_size(ask, mm)
    spots = np.asarray(ask.spots, dtype=float).reshape(-1, 2)
    half = np.array([w / 2, h / 2])
    boxes = np.hstack([spots - half, spots + half])
    cost = np.asarray(ask.likes, dtype=float) + _INK_COST * ink.mean(boxes) * (
        _BARE_FACTOR if ask.look == "halo" else 1.0
    )
    inside = (
        (boxes[:, 0] >= frame[0]) & (boxes[:, 1] >= frame[1]) & (boxes[:, 2] <= frame[2]) & (boxes[:, 3] <= frame[3])
    )
    leaders = np.full((len(boxes), 4), np.nan)
    if ask.leader:
        leaders = _leaders(boxes, np.array(ask.anchor), (4.4 if ask.owner else 1.6) * mm)
        length = np.hypot(leaders[:, 2] - leaders[:, 0], leaders[:, 3] - leaders[:, 1]) / mm
        cost = cost + _LEADER_COST * np.nan_to_num(length)
    bad = ~inside
    if obstacles and len(boxes):
        block = np.array([o.box for o in obstacles])
        bad |= _overlap(boxes, block[_near(block, boxes)]).any(axis=1)
        others = block[[o.bars_leaders and (o.name != ask.owner or not ask.owner) for o in obstacles]]
        if ask.leader and len(others):
            bad |= _crosses(leaders, others).any(axis=1)
    return _Held(ask, boxes, np.where(bad, np.inf, cost), leaders)


def _leaders(boxes: Array, anchor: Array, shortest: float) -> Array:
    """Return lines from the anchor to the nearest point of each box; NaN where they nearly touch."""
    end = np.column_stack([np.clip(anchor[0], boxes[:, 0], boxes[:, 2]), np.clip(anchor[1], boxes[:, 1], boxes[:, 3])])
    far = np.hypot(*(end - anchor).T) > shortest
    lines = np.hstack([np.broadcast_to(anchor, end.shape), end])
    return np.where(far[:, None], lines, np.nan)


def _overlap(a: Array, b: Array, gap: float = 0.0) -> NDArray[np.bool_]:
    """Return (len(a), len(b)): which boxes overlap or stand nearer than gap."""
    return (
        (a[:, None, 0] < b[None, :, 2] + gap)
        & (b[None, :, 0] < a[:, None, 2] + gap)
        & (a[:, None, 1] < b[None, :, 3] + gap)
        & (b[None, :, 1] < a[:, None, 3] + gap)
    )


def _crosses(lines: Array, boxes: Array) -> NDArray[np.bool_]:
    """Return (len(lines), len(boxes)): which lines run through which boxes (slab test); NaN lines run through none."""
    low, high = np.zeros((len(lines), len(boxes))), np.ones((len(lines), len(boxes)))
    with np.errstate(divide="ignore", invalid="ignore"):
        for k in (0, 1):
            step = (lines[:, k + 2] - lines[:, k])[:, None]
            step = np.where(np.abs(step) < 1e-9, 1e-9, step)
            a = (boxes[None, :, k] - lines[:, k][:, None]) / step
            b = (boxes[None, :, k + 2] - lines[:, k][:, None]) / step
            low, high = np.maximum(low, np.minimum(a, b)), np.minimum(high, np.maximum(a, b))
        return low < high


def _near(boxes: Array, around: Array, gap: float = 0.0) -> NDArray[np.bool_]:
    """Return which boxes touch the box round all of `around`; NaN boxes touch none."""
    low, high = np.nanmin(around[:, :2], axis=0) - gap, np.nanmax(around[:, 2:], axis=0) + gap
    return np.asarray((boxes[:, :2] <= high).all(axis=1) & (boxes[:, 2:] >= low).all(axis=1))


def _span(boxes: Array, leaders: Array) -> Array:
    """Return boxes made large enough to hold their leaders."""
    x, y = leaders[:, [0, 2]], leaders[:, [1, 3]]
    ends = np.column_stack([x.min(axis=1), y.min(axis=1), x.max(axis=1), y.max(axis=1)])
    low = np.fmin(boxes[:, :2], ends[:, :2])
    return np.hstack([low, np.fmax(boxes[:, 2:], ends[:, 2:])])


class _Board:
    """Where all labels stand: boxes and leaders (n, 4), NaN where a label stands nowhere."""

    def __init__(self, held: list[_Held], gap: float) -> None:
        self.held, self.gap = held, gap
        self.box = np.full((len(held), 4), np.nan)
        self.leader = np.full((len(held), 4), np.nan)
        self.reach = [_span(h.boxes, h.leaders) for h in held]
        self.span = np.full((len(held), 4), np.nan)

    def stand(self, k: int, at: int) -> None:
        """Put label k on a candidate; -1 takes it off."""
        one = self.held[k]
        one.at = at
        for rows, of in ((self.box, one.boxes), (self.leader, one.leaders), (self.span, self.reach[k])):
            rows[k] = np.nan if at < 0 else of[at]

    def clashes(self, k: int, at: int | None = None) -> NDArray[np.bool_]:
        """Return (candidates, n): which candidates of label k (or the one) clash with which standing label."""
        one = self.held[k]
        boxes, leaders = (one.boxes, one.leaders) if at is None else (one.boxes[[at]], one.leaders[[at]])
        reach = self.reach[k] if at is None else self.reach[k][[at]]
        bad = np.zeros((len(boxes), len(self.box)), dtype=bool)
        near = np.flatnonzero(_near(self.span, reach, self.gap))
        near = near[near != k]
        if len(near) and len(boxes):
            theirs, lines = self.box[near], self.leader[near]
            bad[:, near] = _overlap(boxes, theirs, self.gap)
            led = np.flatnonzero(~np.isnan(leaders[:, 0]))
            if len(led):
                bad[np.ix_(led, near)] |= _crosses(leaders[led], theirs)
            with_line = ~np.isnan(lines[:, 0])
            if with_line.any():
                bad[:, near[with_line]] |= _crosses(lines[with_line], boxes).T
        return bad

    def settle(self, k: int) -> bool:
        """Move label k to its cheapest free candidate; return whether it moved."""
        one = self.held[k]
        finite = np.isfinite(one.cost)
        if not finite.any() or (one.at >= 0 and one.cost[one.at] <= one.cost[finite].min() + 1e-9):
            return False
        cost = np.where(self.clashes(k).any(axis=1), np.inf, one.cost)
        if not np.isfinite(cost).any():
            return False
        best = int(np.argmin(cost))
        if one.at >= 0 and cost[best] >= cost[one.at] - 1e-9:
            return False
        self.stand(k, best)
        return True

    def put_out(self, k: int) -> None:
        """Give label k a place by moving up to three others of its rank or below, where all find one again."""
        one = self.held[k]
        for at in np.argsort(one.cost, kind="stable")[:12]:
            if not np.isfinite(one.cost[at]):
                return
            others = [int(j) for j in np.flatnonzero(self.clashes(k, int(at))[0])]
            if len(others) > 3 or any(self.held[j].ask.rank < one.ask.rank for j in others):
                continue
            before = [self.held[j].at for j in others]
            self.stand(k, int(at))
            for j in others:
                self.stand(j, -1)
            if all([self.settle(j) for j in others]):
                return
            for j, was in zip(others, before, strict=True):
                self.stand(j, was)
            self.stand(k, -1)
