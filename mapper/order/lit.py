"""The pieces that are lit, gathered over all paddocks and numbered."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
import shapely
import shapely.ops

from mapper.order.blocks import letter
from mapper.order.paddock import PaddockOrder
from mapper.order.pieces import Piece

# A point just lit counts as this much of its row.
_SPOT_M = 1.0


@dataclass(frozen=True)
class Lit:
    """One piece in the order. line runs as the crew works; points: metres along it, time, crew. Times UTC; done_at: the
    crew is done with it, and stands there."""

    piece: Piece
    order_no: int
    block: str
    crew: int
    line: shapely.LineString
    points: tuple[tuple[float, datetime, int], ...]
    done_at: datetime
    out_at: datetime
    edge: bool
    stands: shapely.Point

    @property
    def lit_at(self) -> datetime:
        """When its first point is lit."""
        return self.points[0][1]

    def alight(self, at: datetime) -> shapely.LineString:
        """Return the part of the line that may be alight at a moment: up to the furthest point lit by then."""
        if at >= self.done_at:
            return self.line
        far = max((along for along, lit_at, _ in self.points if lit_at <= at), default=0.0)
        return shapely.ops.substring(self.line, 0.0, max(far, _SPOT_M))


class Fires:
    """What is alight when, of all that is lit in a night."""

    def __init__(self, lit: Sequence[Lit]) -> None:
        self._lit = tuple(lit)
        self._begins = np.array([x.lit_at.timestamp() for x in lit])
        self._outs = np.array([x.out_at.timestamp() for x in lit])

    def of(self, begin: datetime, end: datetime) -> list[Lit]:
        """Return what is alight at any time from begin to end."""
        there = (self._begins <= end.timestamp()) & (self._outs >= begin.timestamp())
        return [x for x, t in zip(self._lit, there, strict=True) if t]

    def names(self, at: datetime) -> tuple[tuple[str, datetime], ...]:
        """Return what tells one state of the fires from another."""
        return tuple((x.piece.piece_id, x.lit_at) for x in self.of(at, at))

    def live(self, at: datetime) -> tuple[shapely.LineString, ...]:
        """Return the lines alight at a moment."""
        return tuple(x.alight(at) for x in self.of(at, at))

    def within(self, begin: datetime, end: datetime) -> tuple[shapely.LineString, ...]:
        """Return the lines alight at any time from begin to end, as far as they are lit then."""
        return tuple(x.alight(end) for x in self.of(begin, end))


def gather(orders: Sequence[PaddockOrder], start: datetime) -> list[Lit]:
    """Return all lit pieces by their time of lighting, numbered from 1; start: the moment the seconds count from."""
    found = [b for order in orders for b in order.burning]
    found.sort(key=lambda b: (b.begin_s, b.crew))

    def clock(seconds: float) -> datetime:
        return start + timedelta(seconds=float(seconds))

    lines = [b.piece.line if b.way == 0 else shapely.reverse(b.piece.line) for b in found]
    return [
        Lit(
            b.piece,
            k + 1,
            letter(b.block),
            b.crew,
            lines[k],
            tuple((float(along), clock(at), int(crew)) for along, at, crew in b.points),
            clock(b.end_s),
            clock(b.out_s),
            b.edge,
            lines[k].interpolate(b.end_m),
        )
        for k, b in enumerate(found)
    ]
