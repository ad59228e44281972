"""Rows along the wind: lit in passes across them, strip by strip from the downwind end."""

import heapq
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.farm.farm import Crew, RowBurn
from mapper.farm.ranged import Array
from mapper.ground.boundary import unit
from mapper.order.burning import Burning
from mapper.order.lighting import point_places
from mapper.order.pieces import SHORTEST_M, Piece, split_at
from mapper.order.precedence import Pairs, first_hits
from mapper.order.sequence import LAG_S

# A line nearer to the wind's direction than this takes one point a pass; one more across it is lit whole in one pass.
_ALONG_DEG = 45.0
# Most of the length must lie along the wind for passes to pay.
MOST_ALONG = 0.5
# A bend shorter than this does not part a lap into along and across.
_BEND_M = 30.0


def lies_along(lines: Sequence[shapely.LineString], to_deg: float, within_deg: float) -> bool:
    """Whether most of the length of these lines runs within within_deg of the wind's direction."""
    chords = np.array([np.subtract(line.coords[-1], line.coords[0]) for line in lines])
    length = np.array([line.length for line in lines])
    along = np.abs(chords @ unit(to_deg)) >= np.cos(np.radians(within_deg)) * np.maximum(length, 1e-9)
    return bool(length[along].sum() >= MOST_ALONG * length.sum())


def cut_strips(pieces: Sequence[Piece], to_deg: float, depth_m: float) -> tuple[list[Piece], list[int]]:
    """Return the pieces cut at lines across the wind, depth_m apart from the downwind end, and each one's strip.

    Laps are cut as well where they turn from along the wind to across it. Every piece then lies in one strip, so
    whatever lies downwind of it is in the same strip or an earlier one.
    """
    far = max(float((shapely.get_coordinates(p.line) @ unit(to_deg)).max()) for p in pieces)
    result: list[Piece] = []
    strips: list[int] = []
    for piece in pieces:
        xy = shapely.get_coordinates(piece.line)
        run = np.r_[0.0, np.cumsum(np.hypot(*np.diff(xy, axis=0).T))]
        depth = (far - xy @ unit(to_deg)) / depth_m
        places = _bends(xy, run, to_deg)
        for k in range(len(depth) - 1):
            low, high = sorted((depth[k], depth[k + 1]))
            for border in range(int(np.floor(low)) + 1, int(np.ceil(high))):
                places.append(run[k] + (border - depth[k]) / (depth[k + 1] - depth[k]) * (run[k + 1] - run[k]))
        parts = split_at(piece.line, np.array(places))
        for j, line in enumerate(parts):
            middle = np.asarray(line.interpolate(0.5, normalized=True).coords[0]) @ unit(to_deg)
            name = piece.piece_id if len(parts) == 1 else f"{piece.piece_id}.{j + 1}"
            result.append(replace(piece, piece_id=name, line=line))
            strips.append(int((far - middle) / depth_m))
    return result, strips


def _bends(xy: Array, run: Array, to_deg: float) -> list[float]:
    """Places along a line where it turns from along the wind to across it or back, for more than a short bend."""
    steps = np.diff(xy, axis=0)
    along = np.abs(steps @ unit(to_deg)) >= np.cos(np.radians(_ALONG_DEG)) * np.hypot(*steps.T)
    places: list[float] = []
    begun, now = 0.0, bool(along[0])
    for k in np.flatnonzero(along[1:] != along[:-1]) + 1:
        rest = run[k:][np.flatnonzero(np.r_[along[k:] != along[k], True])[0]] - run[k]
        if along[k] != now and rest >= _BEND_M and run[k] - begun >= _BEND_M:
            places.append(float(run[k]))
            begun, now = float(run[k]), bool(along[k])
    return places


def light_strips(
    pieces: Sequence[Piece],
    to_deg: float,
    header_m: float,
    crews: Sequence[Crew],
    row_burn: RowBurn,
    windows: Array,
    not_before_s: float,
) -> tuple[list[Piece], list[Burning]]:
    """Return the pieces cut into strips, and those that fit the windows, in the order of lighting; block: the strip.

    A strip is as deep as the passes that fill block_min; its passes run one point gap apart, the downwind one first, so
    that no crew drives back through live rows. In a pass the rows go in an order in which each comes after what lies
    downwind of it. Crews take the passes in turn, each LAG_S behind the one before. A strip that cannot be out inside a
    window ends the work: what is lit stays closed downwind.
    """
    speed = min(c.light_km_h for c in crews) / 3.6
    dwell = max(c.dwell_s for c in crews)
    across = len(pieces) * (header_m / speed + dwell) / len(crews)
    passes = max(int(row_burn.block_min * 60 / across), 1)
    cut, strips = cut_strips(pieces, to_deg, max(passes * row_burn.point_gap_m, SHORTEST_M))
    done: list[Burning] = []
    free = np.full(len(crews), not_before_s)
    for strip in sorted(set(strips)):
        mine = [p for p, s in zip(cut, strips, strict=True) if s == strip]
        for begin, end in windows:
            lit, then_free = _light(mine, strip, to_deg, crews, row_burn, np.maximum(free, begin))
            if max(x.out_s for x in lit) <= end:
                break
        else:
            break
        done += lit
        free = then_free
    return cut, done


def _light(
    pieces: Sequence[Piece], strip: int, to_deg: float, crews: Sequence[Crew], row_burn: RowBurn, free: Array
) -> tuple[list[Burning], Array]:
    """Light one strip in passes; returns its pieces by time, and when each crew is free."""
    chords = np.array([np.subtract(p.line.coords[-1], p.line.coords[0]) for p in pieces])
    lengths = np.array([p.line.length for p in pieces])
    ways = (chords @ unit(to_deg) > 0).astype(int)
    worked = [p.line if way == 0 else shapely.reverse(p.line) for p, way in zip(pieces, ways, strict=True)]
    places = [point_places(line.length, row_burn.point_gap_m) for line in worked]
    points = [shapely.get_coordinates(line.interpolate(at)) for line, at in zip(worked, places, strict=True)]
    whole = np.abs(chords @ unit(to_deg)) < np.cos(np.radians(_ALONG_DEG)) * lengths
    pairs = first_hits([shapely.get_coordinates(p.line) for p in pieces], to_deg)
    spaces = [at[1] for at, w in zip(places, whole, strict=True) if len(at) > 1 and not w]
    passes = _passes(points, whole, pairs, to_deg, float(np.median(spaces)) if spaces else row_burn.point_gap_m)
    side = np.array([xy.mean(axis=0) for xy in points]) @ unit(to_deg + 90.0)
    lean = float((np.sign(side[pairs.first] - side[pairs.then]) * pairs.lines).sum())
    rank = -side if lean > 0 else side
    times = [np.full(len(at), np.nan) for at in places]
    by_crew = [np.zeros(len(at)) for at in places]
    beside = [pairs.first[pairs.then == i] for i in range(len(pieces))]
    free, last_start, last_end = free.copy(), -np.inf, -np.inf
    where: list[Array | None] = [None] * len(crews)
    for k, number in enumerate(sorted({int(n) for p in passes for n in p})):
        c, turned = k % len(crews), k % len(crews) == 0
        speed, dwell = crews[c].light_km_h / 3.6, crews[c].dwell_s
        now = max(free[c], (last_end if turned else last_start) + LAG_S * (len(crews) > 1))
        last_start, at = now, where[c]
        chosen = np.array([(p == number).any() for p in passes])
        for i in downwind_order(chosen, pairs, rank if (k // len(crews)) % 2 == 0 else -rank):
            for j in np.flatnonzero(passes[i] == number):
                now += 0.0 if at is None else float(np.hypot(*(points[i][j] - at))) / speed
                # Another crew's points downwind of this one, of this row and the rows beside it.
                for other in (i, *beside[i]):
                    theirs = (by_crew[other] != c) & np.isfinite(times[other])
                    now = max(now, np.max(times[other][theirs], initial=-np.inf) + LAG_S)
                times[i][j], by_crew[i][j] = now, c
                now, at = now + dwell, points[i][j]
        free[c] = last_end = now
        where[c] = at
    lit = []
    for i, piece in enumerate(pieces):
        half_space = lengths[i] / (len(places[i]) - 0.5) / 2
        end = float(times[i].max())
        out = end + 60.0 * (half_space / row_burn.spread_m_min + row_burn.burnout_min)
        steps = np.stack([places[i], times[i], by_crew[i]], axis=1)
        lit.append(Burning(piece, int(by_crew[i][0]), int(ways[i]), steps, end, float(places[i][-1]), out, block=strip))
    return sorted(lit, key=lambda x: x.begin_s), free


def _passes(
    points: Sequence[Array], whole: NDArray[np.bool_], pairs: Pairs, to_deg: float, gap_m: float
) -> list[NDArray[np.int64]]:
    """The pass in which each point is lit: by its depth from the downwind end, never before what lies downwind."""
    far = max(float((xy @ unit(to_deg)).max()) for xy in points)
    # To the nearest pass, so that points a little out of line still fall into one each.
    passes = [np.maximum.accumulate(((far - xy @ unit(to_deg)) / gap_m + 0.5).astype(np.int64)) for xy in points]
    first = np.array([p.min() if not w else p.max() for p, w in zip(passes, whole, strict=True)])
    for k in downwind_order(np.ones(len(points), dtype=bool), pairs, np.zeros(len(points))):
        before = pairs.first[pairs.then == k]
        first[k] = max([first[k], *first[before]])
    return [np.full(len(p), f) if w else np.maximum(p, f) for p, f, w in zip(passes, first, whole, strict=True)]


def downwind_order(chosen: NDArray[np.bool_], pairs: Pairs, rank: Array) -> list[int]:
    """Return the chosen pieces, each after those of them that lie downwind of it, else by rank."""
    inside = chosen[pairs.first] & chosen[pairs.then]
    waits = np.bincount(pairs.then[inside], minlength=len(chosen))
    after: dict[int, list[int]] = {}
    for first, then in zip(pairs.first[inside], pairs.then[inside], strict=True):
        after.setdefault(int(first), []).append(int(then))
    ready = [(float(rank[k]), int(k)) for k in np.flatnonzero(chosen) if waits[k] == 0]
    heapq.heapify(ready)
    order = []
    while ready:
        _, k = heapq.heappop(ready)
        order.append(k)
        for then in after.get(k, []):
            waits[then] -= 1
            if waits[then] == 0:
                heapq.heappush(ready, (float(rank[then]), then))
    return order
