"""What the person in charge has fixed, as far as the wind allows it, in the words of the solver."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from mapper.farm.farm import Crew
from mapper.farm.notes import Remark
from mapper.farm.ranged import Array
from mapper.order.cutground import Asked, Ground
from mapper.order.pieces import Piece
from mapper.order.schedule import FAR
from mapper.order.wishes import Earlier, Wishes

FORBIDDEN = "kept unlit: the person in charge has taken it out"


def keep_unlit(pieces: Sequence[Piece], wishes: Wishes) -> list[Piece]:
    """Return the pieces; those of rows taken out by the person in charge stay unlit."""
    rows = set(wishes.unlit_rows)
    return [
        replace(p, left_reason=FORBIDDEN) if not p.left_reason and _called(p, rows) is not None else p for p in pieces
    ]


def crews_until(crews: Sequence[Crew], wishes: Wishes, start: datetime) -> Array:
    """Return (crews,): seconds after start from which a crew lights nothing more."""
    until = np.full(len(crews), FAR)
    for lost in wishes.lost_crews:
        for k, crew in enumerate(crews):
            if crew.crew == lost.crew:
                until[k] = min(until[k], -FAR if lost.at is None else (lost.at - start).total_seconds())
    return until


def apply_wishes(
    grounds: Sequence[Ground], pieces: Sequence[Piece], crews: Sequence[Crew], wishes: Wishes, start: datetime
) -> tuple[list[Ground], Asked, list[Remark]]:
    """Return the paddocks in the order asked for, what is asked of their pieces, and what cannot be done.

    start: the moment from which seconds count. pieces: all of the night, those left unlit too.
    """
    grounds, remarks = list(grounds), _unknown(pieces, crews, wishes)
    release: dict[str, float] = {}
    for fixed in wishes.starts:
        names = set(fixed.pieces)
        for ground in grounds:
            for p in ground.pieces:
                if _called(p, names) is not None:
                    release[p.piece_id] = max(release.get(p.piece_id, -FAR), (fixed.at - start).total_seconds())
    pairs: list[tuple[str, str]] = []
    for wish in wishes.earlier:
        grounds, more, remark = _earlier(grounds, wish)
        pairs += more
        remarks += [remark] if remark is not None else []
    return grounds, Asked(release, tuple(pairs)), remarks


def _called(piece: Piece, names: set[str]) -> str | None:
    """The name by which a piece is meant: its own, its row's, or that of the piece it was cut from."""
    parts = piece.piece_id.split(".")
    own = (".".join(parts[: k + 1]) for k in range(len(parts)))
    return next((n for n in (piece.row_id, *own) if n in names), None)


def _unknown(pieces: Sequence[Piece], crews: Sequence[Crew], wishes: Wishes) -> list[Remark]:
    asked = {*wishes.unlit_rows, *(n for s in wishes.starts for n in s.pieces)}
    asked |= {n for e in wishes.earlier for n in (*e.pieces, *e.before)}
    missing = asked - {_called(p, asked) for p in pieces}
    found = []
    if missing:
        names = ", ".join(sorted(missing)[:4])
        text = f"What was fixed for {names} falls away: tonight's order has no such row."
        found.append(Remark("order", "look", text))
    gone = {x.crew for x in wishes.lost_crews} - {c.crew for c in crews}
    if gone:
        found.append(Remark("order", "look", f"There is no {', '.join(sorted(gone))} to lose."))
    return found


def _earlier(grounds: list[Ground], wish: Earlier) -> tuple[list[Ground], list[tuple[str, str]], Remark | None]:
    pieces, before = set(wish.pieces), set(wish.before)
    at = [k for k, g in enumerate(grounds) if any(_called(p, pieces) for p in g.pieces)]
    to = [k for k, g in enumerate(grounds) if any(_called(p, before) for p in g.pieces)]
    if not at or not to:
        return grounds, [], None
    if at[0] != to[0]:
        # Another paddock: it goes as a whole, just before the other.
        moved = [g for k, g in enumerate(grounds) if k != at[0]]
        moved.insert(moved.index(grounds[to[0]]), grounds[at[0]])
        return (moved if at[0] > to[0] else grounds), [], None
    ground = grounds[at[0]]
    mine = np.array([_called(p, pieces) is not None for p in ground.pieces])
    theirs = np.array([_called(p, before) is not None for p in ground.pieces]) & ~mine
    turned = _turned(ground, mine, theirs)
    held = must_precede(turned, mine) & theirs if turned is not None else theirs
    if turned is None or held.any():
        text = (
            f"A block cannot go first: {int(held.sum())} of the rows it was to go before must be burnt before it, "
            "since they lie downwind of it or along the downwind edge."
        )
        return grounds, [], Remark("order", "look", text, ground.paddock)
    grounds = [turned if k == at[0] else g for k, g in enumerate(grounds)]
    names = [p.piece_id for p in ground.pieces]
    pairs = [(names[a], names[b]) for a in np.flatnonzero(mine) for b in np.flatnonzero(theirs)]
    return grounds, pairs, None


def must_precede(ground: Ground, chosen: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return (n,): pieces that must be lit before some of the chosen: downwind, edge rows, fields that come first."""
    first = np.concatenate([p.first for p in ground.pairs])
    then = np.concatenate([p.then for p in ground.pairs])
    edge, turn = ground.rows.edge, ground.turn
    phase = 2 * turn + ~edge
    found = np.zeros(len(chosen), dtype=bool)
    reached = chosen.copy()
    while True:
        more = np.zeros_like(reached)
        more[first[reached[then]]] = True
        more |= phase < phase[reached].max()
        more &= ~found
        if not more.any():
            return found
        found |= more
        reached |= more


def _turned(ground: Ground, mine: NDArray[np.bool_], theirs: NDArray[np.bool_]) -> Ground | None:
    """The paddock with its fields so ordered that the one field comes before the other; None where wind forbids."""
    turn = ground.turn
    links = {(int(a), int(b)) for p in ground.pairs for a, b in zip(turn[p.first], turn[p.then], strict=True) if a != b}
    links |= {(int(a), int(b)) for a in np.unique(turn[mine]) for b in np.unique(turn[theirs]) if a != b}
    left = [int(k) for k in np.unique(turn)]
    new = np.zeros(max(left) + 1, dtype=np.int64)
    for n in range(len(left)):
        free = [k for k in left if not any(b == k and a in left for a, b in links)]
        if not free:
            return None
        new[free[0]] = n
        left.remove(free[0])
    # Turns stand for fields in the edge rows as well.
    return replace(ground, turn=new[turn], rows=replace(ground.rows, field=new[ground.rows.field]))
