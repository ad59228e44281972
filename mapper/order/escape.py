"""Every block held against its ways out: each crew, each minute of its lighting."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.farm.errors import Stopped
from mapper.farm.farm import Crew
from mapper.farm.ranged import Array
from mapper.order.around import Around
from mapper.order.lit import Fires, Lit
from mapper.order.routes import Route
from mapper.order.wayground import WayGround
from mapper.order.ways_out import Clear, Stand, WayOut, clear_ground, leading, leads_out, path, winds_to_hold

_EVERY_S = 60.0
# A crew that would wait longer goes to safe ground meanwhile. Our choice.
_WAITS_S = 180.0
# A drive no longer than this is over before anything changes. Our choice.
_SHORT_M = 40.0
# Places of a block among which the way that is drawn is the longest. Our choice.
_DRAWN = 4
Memory = dict[Any, tuple[bool, datetime | None]]


@dataclass(frozen=True)
class Escape:
    """A block's way out from its worst place; way None where at `stand` there is none."""

    paddock: str
    block: str
    stand: Stand
    way: WayOut | None


@dataclass(frozen=True)
class Place:
    """Where a crew is at a minute, and in which block it works."""

    at: datetime
    xy: shapely.Point
    block: str


@dataclass(frozen=True)
class Stop:
    """A moment (seconds) of a crew's work and where it then is; the piece and its block."""

    at_s: float
    xy: Array
    piece: str
    block: str


def escapes(
    lit: Sequence[Lit],
    grounds: Mapping[str, WayGround],
    around: Around,
    crews: Sequence[Crew],
    memory: Memory | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> list[Escape]:
    """Return one a block, in their order; none after the first of a paddock that has no way out. All that is alight in
    any paddock counts. Raises Stopped when cancelled.

    memory: what was found for a place and what is alight then; filled, so that trying another order goes quickly.

    Each crew is looked at every minute from the first light of a paddock to its last point there. The way drawn is the
    longest of a few, from places at which the block's ways hold least long.
    """
    found, memory = [], {} if memory is None else memory
    for name in dict.fromkeys(x.piece.paddock for x in lit):
        mine = [x for x in lit if x.piece.paddock == name]
        places = crew_places(mine, crews)
        checked = _checked(places, lit, grounds[name], around, memory, cancelled)
        for block in dict.fromkeys(x.block for x in mine):
            held = [(p, ok, until) for p, ok, until in checked if p.block == block]
            trapped = next((p for p, ok, _ in held if not ok), None)
            if trapped is not None:
                found.append(Escape(name, block, Stand(trapped.at, trapped.xy, Fires(lit).live(trapped.at)), None))
            elif held:
                found.append(_drawn(name, block, [(p, until) for p, _, until in held], lit, grounds[name], around))
    return found


def crew_places(lit: Sequence[Lit], crews: Sequence[Crew]) -> list[Place]:
    """Return where each crew lights or drives, minute by minute, from the first light to its last point.

    A crew drives on as soon as it is done with a piece. Where it then waits for longer than some minutes it does so on
    safe ground: it is looked at again when it begins.
    """
    begins = min(x.lit_at for x in lit)
    found = []
    for crew in sorted({c for x in lit for _, _, c in x.points}):
        stops = sorted(_stops(lit, crew, begins), key=lambda s: s.at_s)
        legs: list[tuple[Stop, Stop]] = []
        for a, b in pairwise(stops):
            legs += [(a, b)] if a.piece == b.piece else [(a, a), (b, b)]
        for a, b in legs or [(stops[0], stops[0])]:
            ticks = np.arange(np.ceil(a.at_s / _EVERY_S) * _EVERY_S, b.at_s, _EVERY_S)
            for t in (*ticks, *([b.at_s] if b is stops[-1] or a is b else [])):
                share = (t - a.at_s) / max(b.at_s - a.at_s, 1e-9)
                where = a.xy + min(share, 1.0) * (b.xy - a.xy)
                found.append(Place(begins + timedelta(seconds=float(t)), shapely.Point(where), a.block))
    return sorted(found, key=lambda p: p.at)


def drives_shut_in(
    drives: Sequence[Route],
    lit: Sequence[Lit],
    grounds: Mapping[str, WayGround],
    around: Around,
    memory: Memory,
    cancelled: Callable[[], bool] | None = None,
) -> list[Route]:
    """Return the drives on which a crew has no way out at some half minute, or that nothing leads round."""
    found = []
    for r in drives:
        takes = (r.arrives - r.leaves).total_seconds()
        count = int(takes // _EVERY_S) + 1
        shares: Any = np.arange(1, 2 * count) / (2 * count) if r.line is not None and r.line.length > _SHORT_M else []
        places = [
            Place(r.leaves + timedelta(seconds=x * takes), r.line.interpolate(x, normalized=True), r.block)
            for x in shares
            if r.line is not None
        ]
        held = _checked(places, lit, grounds[r.paddock], around, memory, cancelled)
        if r.line is None or not all(ok for _, ok, _ in held):
            found.append(r)
    return found


def _stops(lit: Sequence[Lit], crew: int, begins: datetime) -> list[Stop]:
    """The points that a crew lights, and where it is done with each piece."""
    found = []
    for x in lit:
        mine = [(at, along) for along, at, c in x.points if c == crew]
        mine += [(x.done_at, x.line.project(x.stands))] if x.points[-1][2] == crew else []
        for at, along in mine:
            xy = np.array(x.line.interpolate(along).coords[0])
            found.append(Stop((at - begins).total_seconds(), xy, x.piece.piece_id, x.block))
    return found


def _checked(
    places: Sequence[Place],
    lit: Sequence[Lit],
    ground: WayGround,
    around: Around,
    memory: Memory,
    cancelled: Callable[[], bool] | None,
) -> list[tuple[Place, bool, datetime | None]]:
    """Each place, whether it has a way out, and until when that holds; up to the first that has none."""
    result = []
    fires = Fires(lit)
    quick: dict[tuple[Any, ...], tuple[Clear, NDArray[np.bool_]]] = {}
    for place in places:
        if cancelled is not None and cancelled():
            raise Stopped
        key = (place.at, place.xy.coords[0], fires.names(place.at))
        if key not in memory:
            held = winds_to_hold(place.at, around.spread(place.at), around.next_change(place.at))
            memory[key] = (False, None)
            minute = place.at.replace(second=0, microsecond=0)
            for k, (winds, until) in enumerate(held):
                # First with all that is alight at any time of that minute: if that leaves a way, so does less.
                if (minute, winds) not in quick:
                    clear = clear_ground(fires.within(minute, minute + timedelta(minutes=1)), ground, winds)
                    quick[minute, winds] = (clear, leading(clear, ground))
                good = leads_out(place.xy, quick[minute, winds][0], ground, quick[minute, winds][1])
                if not good:
                    clear = clear_ground(fires.live(place.at), ground, winds)
                    good = leads_out(place.xy, clear, ground, leading(clear, ground))
                    # Exact, and slow, only where nothing less asks for it: at worst a way is said to hold less long.
                    if not good and k == len(held) - 1:
                        good = path(place.xy, clear, ground) is not None
                if good:
                    memory[key] = (True, until)
                    break
        result.append((place, *memory[key]))
        if not memory[key][0]:
            break
    return result


def _drawn(
    name: str,
    block: str,
    held: Sequence[tuple[Place, datetime | None]],
    lit: Sequence[Lit],
    ground: WayGround,
    around: Around,
) -> Escape:
    """The longest way from a few of the places whose ways hold least long."""
    soonest = min((u for _, u in held if u is not None), default=None)
    short = [p for p, until in held if until == soonest]
    fires = Fires(lit)
    ways: list[tuple[float, int, Stand, WayOut]] = []
    for k in sorted({round(x) for x in np.linspace(0, len(short) - 1, _DRAWN)}):
        place = short[k]
        stand = Stand(place.at, place.xy, fires.live(place.at))
        for winds, until in winds_to_hold(place.at, around.spread(place.at), around.next_change(place.at)):
            found = path(place.xy, clear_ground(stand.live, ground, winds), ground) if until == soonest else None
            if found is not None:
                ways.append((found[0].length, -k, stand, WayOut(*found, until)))
    _, _, stand, way = max(ways, key=lambda w: w[:2])
    return Escape(name, block, stand, way)
