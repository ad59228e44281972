"""A night's order in which every block has a way out: others first, or some left for another night."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import pandas as pd

from mapper.farm.notes import Remark
from mapper.order.around import Around
from mapper.order.cutground import Asked, Ground, Night
from mapper.order.escape import Escape, Memory, drives_shut_in, escapes
from mapper.order.lit import Lit, gather
from mapper.order.night import order_night, without
from mapper.order.paddock import PaddockOrder
from mapper.order.pieces import Piece
from mapper.order.routes import Route, routes
from mapper.order.tell import clock

NO_WAY = "no way out while it would burn; left for another night"
# How often blocks are taken out and the night is ordered again.
_ROUNDS = 8
# A paddock of which less than this share can be lit is not begun. Our choice.
_WORTH = 0.3


@dataclass(frozen=True)
class Chosen:
    """A night: orders of the paddocks burnt and of those waiting, the pieces lit, each block's way out, the crews'
    drives, those of them without a way out, the pieces left out for want of one, and the blocks they were in."""

    burnt: tuple[PaddockOrder, ...]
    waiting: tuple[PaddockOrder, ...]
    lit: tuple[Lit, ...]
    escapes: tuple[Escape, ...]
    drives: tuple[Route, ...] = ()
    shut_in: tuple[Route, ...] = ()
    left_out: tuple[tuple[Piece, str], ...] = ()
    given_up: tuple[Escape, ...] = ()

    @property
    def trapped(self) -> tuple[Escape, ...]:
        """Blocks without a way out."""
        return tuple(e for e in self.escapes if e.way is None)


def choose(
    grounds: Sequence[Ground],
    night: Night,
    asked: Asked,
    start: datetime,
    around: Around,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Chosen:
    """Return the night's order, with a way out of every block where that can be had.

    Where blocks have none, the paddocks they lie in come first, while their ways may still be open; what then has none
    is left for another night with all that follows in its paddock (the whole paddock where little of it would remain),
    and the rest is ordered again. Where nothing would
    remain, the order stays as it was first: its blocks without a way out keep it from being a go.
    """
    memory: Memory = {}
    cells = {g.paddock: around.ground(g.paddock, g.area) for g in grounds}

    def run(those: Sequence[Ground]) -> Chosen:
        burnt, waiting = order_night(those, night, asked, progress, cancelled)
        lit = gather(burnt, start)
        ways = escapes(lit, cells, around, night.crews, memory, cancelled)
        return Chosen(tuple(burnt), tuple(waiting), tuple(lit), tuple(ways))

    found = first = run(grounds)
    names = {e.paddock for e in found.trapped}
    ahead = [g for g in grounds if g.paddock in names] + [g for g in grounds if g.paddock not in names]
    if names and [g.paddock for g in ahead] != [g.paddock for g in grounds] and not asked.earlier:
        other = run(ahead)
        if _held_m(other) > _held_m(found):
            found, grounds = other, ahead
    left: dict[str, tuple[Piece, str]] = {}
    given_up: list[Escape] = []
    for _ in range(_ROUNDS):
        if not found.trapped:
            break
        out = _after(found)
        left |= {x.piece.piece_id: (x.piece, NO_WAY) for x in out}
        left |= {p.piece_id: (p, NO_WAY) for p in _unlit_with(found, {x.piece.paddock for x in out})}
        given_up += found.trapped
        found = run(without(grounds, {k: reason for k, (_, reason) in left.items()}))
    if not found.lit or found.trapped:
        found, left, given_up = first, {}, []
    drives = routes(found.lit, cells, around, night.crews, cancelled)
    shut_in = drives_shut_in(drives, found.lit, cells, around, memory, cancelled)
    found = replace(found, drives=tuple(drives), shut_in=tuple(shut_in))
    return replace(found, left_out=tuple(left.values()), given_up=tuple(given_up))


def _after(found: Chosen) -> list[Lit]:
    """The pieces of each trapped block, and of all that come after it in its paddock; all where too little is left."""
    begins: dict[str, int] = {}
    for e in found.trapped:
        numbers = [x.order_no for x in found.lit if (x.piece.paddock, x.block) == (e.paddock, e.block)]
        begins[e.paddock] = min(begins.get(e.paddock, min(numbers)), *numbers)
    for order in (o for o in found.burnt if o.paddock in begins):
        mine = [x for x in found.lit if x.piece.paddock == order.paddock]
        kept_m = sum(x.line.length for x in mine if x.order_no < begins[order.paddock])
        if kept_m < _WORTH * sum(p.line.length for p in order.pieces):
            begins[order.paddock] = 0
    return [x for x in found.lit if x.order_no >= begins.get(x.piece.paddock, len(found.lit) + 1)]


def _unlit_with(found: Chosen, names: set[str]) -> list[Piece]:
    """Pieces of these paddocks that were not lit anyhow: they come after what is left out."""
    lit = {x.piece.piece_id for x in found.lit}
    return [p for o in found.burnt if o.paddock in names for p in o.pieces if p.piece_id not in lit]


def _held_m(found: Chosen) -> float:
    """Metres of row lit before any trapped block of its paddock."""
    out = {x.order_no for x in _after(found)}
    return sum(x.line.length for x in found.lit if x.order_no not in out)


def remarks_of_ways(found: Chosen, night_hours: pd.DataFrame) -> list[Remark]:
    """Return a stop for every block lit without a way out, and what to do about those left out."""
    remarks = []
    for e in found.trapped:
        text = (
            f"No way out of block {e.block} at {clock(e.stand.at, night_hours)}: no wide break, road, green or bare "
            "ground is in reach clear of fire, also if the wind changes early. Make a wide break beside it, or burn it "
            "in another wind."
        )
        remarks.append(Remark("order", "stop", text, e.paddock, e.stand.place))
    for e in found.given_up:
        text = (
            f"A block that would burn at {clock(e.stand.at, night_hours)} is left for another night, with all after "
            "it: there is no way out of it clear of fire, also if the wind changes early. A wide break beside it, "
            "fewer rows, or an earlier start would help."
        )
        remarks.append(Remark("order", "look", text, e.paddock, e.stand.place))
    return remarks + _remarks_of_drives(found, night_hours)


def _remarks_of_drives(found: Chosen, night_hours: pd.DataFrame) -> list[Remark]:
    remarks = []
    if found.drives:
        rounds = sum(r.rounds for r in found.drives)
        late = sum(r.late_s for r in found.drives) / 60.0
        text = (
            f"{len(found.drives)} drives between rows, {rounds} of them round live rows or their smoke: "
            f"allow {late:.0f} min more than the times say. Fences and gates inside a paddock are not known."
        )
        remarks.append(Remark("order", "note", text))
    if found.shut_in:
        some = ", ".join(
            f"{r.from_no} to {r.to_no} at {clock(r.leaves, night_hours)} ({r.paddock})" for r in found.shut_in[:4]
        )
        # A crew that drives with no way out is as shut in as one that lights without: it stands against lighting.
        text = (
            f"{len(found.shut_in)} drives have no way out clear of fire and smoke: {some}"
            f"{' and more' if len(found.shut_in) > 4 else ''}. Leave those rows out, or take fewer at a time, so that "
            "nobody drives before the rows beside are out."
        )
        remarks.append(Remark("order", "stop", text))
    return remarks
