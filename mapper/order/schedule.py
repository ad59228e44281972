"""When each piece of a sequence is lit, by which crew and from which end: the compiled inner loop.

All times are seconds from one start. Kept to plain arrays so that it compiles once and is cached.
"""

from typing import Any

import numpy as np
from numba import njit

FAR = 1e18
# A metre of driving weighs this many seconds beside the finish. Our choice.
DRIVE_S_M = 0.05


@njit(cache=True)
def place(  # pragma: no cover - compiled
    p: int,
    not_before: float,
    begin: Any, end: Any, orient: Any, crew: Any,
    free: Any, at: Any,
    ends: Any, allowed: Any, lighting: Any, out: Any, travel: Any, edge: Any,
    ptr: Any, down: Any, down_share: Any, up_share: Any, wind: Any,
    wind_from: Any, wind_to: Any, window_from: Any, window_to: Any,
    lag: float, inside_from: float,
) -> tuple[float, float, int, int]:  # fmt: skip
    """Return start, end, way round and crew of the earliest start of piece p; start FAR where it cannot be lit."""
    best_start, best_end, best_way, best_crew, best_cost = FAR, FAR, 0, 0, FAR
    for c in range(free.shape[0]):
        length = lighting[c, p]
        for way in range(2):
            if not allowed[p, way]:
                continue
            dx, dy = ends[p, way, 0] - at[c, 0], ends[p, way, 1] - at[c, 1]
            # A crew that has no place yet stands ready where it begins.
            away = 0.0 if np.isnan(at[c, 0]) else np.sqrt(dx * dx + dy * dy)
            t = max(free[c] + away / travel[c], not_before)
            if not edge[p]:
                t = max(t, inside_from)
            # Waiting for a pair or a window may bring another wind into play: settle in a few rounds.
            settled = False
            for _ in range(12):
                before = t
                fits = False
                for w in range(window_from.shape[0]):
                    if max(t, window_from[w]) + length + out[p] <= window_to[w]:
                        t = max(t, window_from[w])
                        fits = True
                        break
                if not fits:
                    break
                for k in range(ptr[p], ptr[p + 1]):
                    if t + length + out[p] <= wind_from[wind[k]] or t >= wind_to[wind[k]]:
                        continue
                    d = down[k]
                    if begin[d] >= FAR:
                        t = FAR
                        break
                    if crew[d] == c:
                        t = max(t, end[d])
                        continue
                    behind = 0.0
                    for s in range(2):
                        first = down_share[k, s] if orient[d] == 0 else 1.0 - down_share[k, s]
                        then = up_share[k, s] if way == 0 else 1.0 - up_share[k, s]
                        behind = max(behind, first * (end[d] - begin[d]) - then * length)
                    t = max(t, begin[d] + behind + lag)
                settled = t == before
                if settled or t >= FAR:
                    break
            cost = t + length + DRIVE_S_M * away
            if settled and cost < best_cost - 1e-9:
                best_start, best_end, best_way, best_crew, best_cost = t, t + length, way, c, cost
    return best_start, best_end, best_way, best_crew


@njit(cache=True)
def run_sequence(  # pragma: no cover - compiled
    sequence: Any,
    noise: Any,
    crew_free: Any, crew_at: Any,
    ends: Any, allowed: Any, lighting: Any, out: Any, travel: Any, edge: Any,
    ptr: Any, down: Any, down_share: Any, up_share: Any, wind: Any,
    wind_from: Any, wind_to: Any, window_from: Any, window_to: Any,
    lag: float, begin: Any, end: Any, orient: Any, crew: Any, chosen: Any,
) -> tuple[int, float, float]:  # fmt: skip
    """Light pieces and fill begin, end, orient, crew, chosen; return how many were lit, when the last is out, travel.

    sequence: pieces in order, or empty to choose as it goes: always the piece that can begin soonest, times 1 + noise.
    A sequence stops at the first piece that cannot be lit: what is lit is always closed downwind. Edge pieces go first,
    and nothing inside is lit before they are burnt out.
    """
    n = ends.shape[0]
    begin[:], end[:], crew[:] = FAR, FAR, -1
    free, at = crew_free.copy(), crew_at.copy()
    edges_left = 0
    for p in range(n):
        edges_left += 1 if edge[p] else 0
    inside_from, last_out, driven, lit = 0.0, 0.0, 0.0, 0
    given = sequence.shape[0] > 0
    last = sequence.shape[0] if given else n
    not_before = 0.0
    while lit < last:
        pick, pick_start, pick_end, pick_way, pick_crew, pick_cost = -1, FAR, FAR, 0, 0, FAR
        for q in range(n):
            p = sequence[lit] if given else q
            if begin[p] < FAR or (edges_left > 0 and not edge[p]):
                if given:
                    return lit, last_out, driven
                continue
            start, stop, way, c = place(
                p, not_before, begin, end, orient, crew, free, at, ends, allowed, lighting, out, travel, edge,
                ptr, down, down_share, up_share, wind, wind_from, wind_to, window_from, window_to, lag, inside_from,
            )  # fmt: skip
            cost = (start - free[c]) * (1.0 + noise[p]) + 0.02 * noise[p]
            if start < FAR and cost < pick_cost:
                pick, pick_start, pick_end, pick_way, pick_crew, pick_cost = p, start, stop, way, c, cost
            if given:
                break
        if pick < 0:
            # Nothing can be lit under the wind of now: look again when the next one has come.
            later = FAR
            for w in range(wind_from.shape[0]):
                if not_before < wind_from[w] < later:
                    later = wind_from[w]
            if given or later >= FAR:
                break
            not_before = later
            continue
        dx, dy = ends[pick, pick_way, 0] - at[pick_crew, 0], ends[pick, pick_way, 1] - at[pick_crew, 1]
        driven += 0.0 if np.isnan(at[pick_crew, 0]) else np.sqrt(dx * dx + dy * dy)
        begin[pick], end[pick], orient[pick], crew[pick] = pick_start, pick_end, pick_way, pick_crew
        free[pick_crew] = pick_end
        at[pick_crew, 0], at[pick_crew, 1] = ends[pick, 1 - pick_way, 0], ends[pick, 1 - pick_way, 1]
        last_out = max(last_out, pick_end + out[pick])
        chosen[lit] = pick
        lit += 1
        if edge[pick]:
            edges_left -= 1
            inside_from = max(inside_from, pick_end + out[pick])
    return lit, last_out, driven
