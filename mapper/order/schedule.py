"""When each piece of a sequence is lit, by which crew and from which end: the compiled inner loop.

All times are seconds from one start. Kept to plain arrays so that it compiles once and is cached. `task` is the tuple
of arrays that order/sequence.py makes, in the order in which `place` unpacks it.
"""

from typing import Any

import numpy as np
from numba import njit

FAR = 1e18
# A metre of driving weighs this many seconds beside the finish; a piece left unlit weighs more than any time. Our
# choices.
DRIVE_S_M = 0.05
UNLIT_S = 1e7
_ROUNDS = 12
# Share of the moves that tie a piece to a crew and way round.
_TIES = 0.5
# Share of the moves that are short, and near.
_NEAR = 0.8


@njit(cache=True)
def place(  # pragma: no cover - compiled
    p: int, code: int, not_before: float, floor: float, outs: Any, alight: int,
    begin: Any, end: Any, orient: Any, crew: Any, free: Any, at: Any, gate_out: Any, lee_until: Any, task: Any,
) -> tuple[float, float, int, int]:  # fmt: skip
    """Return start, end, way round and crew of the earliest start of piece p; start FAR where it cannot be lit.

    code: twice the crew and the way round, or -1 where both are free. floor: nothing before it. outs: when the pieces
    lit so far are out, sorted; alight of them.
    """
    (
        ends, allowed, lighting, out, travel, gate, _, _, release, done_by, extra, crew_until, most, corner,
        ptr, down, down_share, up_share, wind, wait_out, wind_from, wind_to, window_from, window_to, lag,
        lee_ptr, lee,
    ) = task  # fmt: skip
    best_start, best_end, best_way, best_crew, best_cost = FAR, FAR, 0, 0, FAR
    earliest = max(not_before, floor, release[p])
    if gate[p] >= 0:
        earliest = max(earliest, gate_out[gate[p]])
    # In the lee of a live row nobody works: it must have burnt out.
    earliest = max(earliest, lee_until[p])
    # Nor is a row lit while a crew still works in its lee.
    for k in range(lee_ptr[p], lee_ptr[p + 1]):
        if begin[lee[k]] < FAR:
            earliest = max(earliest, end[lee[k]])
    if alight >= most:
        earliest = max(earliest, outs[alight - most])
    for c in range(free.shape[0]):
        length = lighting[c, p]
        for way in range(2):
            if not allowed[p, way] or (code >= 0 and code != 2 * c + way):
                continue
            dx, dy = abs(ends[p, way, 0] - at[c, 0]), abs(ends[p, way, 1] - at[c, 1])
            # A crew that has no place yet stands ready where it begins.
            away = 0.0 if np.isnan(at[c, 0]) else (dx + dy if corner else np.sqrt(dx * dx + dy * dy))
            t = max(free[c] + away / travel[c] + extra[p], earliest)
            # Waiting for a pair or a window may bring another wind into play: settle in a few rounds.
            settled = False
            for _ in range(_ROUNDS):
                before = t
                fits = False
                for w in range(window_from.shape[0]):
                    if max(t, window_from[w]) + length + out[p] <= window_to[w]:
                        t = max(t, window_from[w])
                        fits = True
                        break
                if not fits or t + length > done_by[p] or t + length > crew_until[c]:
                    break
                for k in range(ptr[p], ptr[p + 1]):
                    d = down[k]
                    if wind[k] >= 0 and (t + length + out[p] <= wind_from[wind[k]] or t >= wind_to[wind[k]]):
                        continue
                    if begin[d] >= FAR:
                        t = FAR
                        break
                    if wait_out[k]:
                        t = max(t, end[d] + out[d])
                        continue
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
    sequence: Any, codes: Any, noise: Any, crew_free: Any, crew_at: Any, burning: Any, task: Any,
    begin: Any, end: Any, orient: Any, crew: Any, chosen: Any,
) -> tuple[int, float, float]:  # fmt: skip
    """Light pieces and fill begin, end, orient, crew, chosen; return how many were lit, when the last is out, travel.

    sequence: pieces in order, or empty to choose as it goes: always the piece that can begin soonest, times 1 + noise.
    codes: see `place`. burning: when what is alight already is out, sorted. A
    sequence stops at the first piece that cannot be lit: what is lit is always closed downwind.
    """
    ends, out, gate, member, phase = task[0], task[3], task[5], task[6], task[7]
    corner, ptr, down, wind, wind_from = task[13], task[14], task[15], task[18], task[20]
    lee_ptr, lee = task[25], task[26]
    n = ends.shape[0]
    lee_until = np.full(n, -FAR)
    begin[:], end[:], crew[:] = FAR, FAR, -1
    free, at = crew_free.copy(), crew_at.copy()
    outs = np.empty(n + burning.shape[0])
    outs[: burning.shape[0]] = burning
    alight = burning.shape[0]
    groups, phases = 0, 0
    for p in range(n):
        groups, phases = max(groups, member[p] + 1, gate[p] + 1), max(phases, phase[p] + 1)
    gate_left, gate_out = np.zeros(groups, np.int64), np.zeros(groups)
    phase_left = np.zeros(phases + 1, np.int64)
    for p in range(n):
        phase_left[phase[p]] += 1
        if member[p] >= 0:
            gate_left[member[p]] += 1
    now = 0
    while now < phases and phase_left[now] == 0:
        now += 1
    blocked = np.full(n, -1)
    one_wind = wind_from.shape[0] <= 1
    floor, newest, last_out, driven, lit = -FAR, -FAR, 0.0, 0.0, 0
    given = sequence.shape[0] > 0
    last = sequence.shape[0] if given else n
    not_before = -FAR
    while lit < last:
        pick, pick_start, pick_end, pick_way, pick_crew, pick_cost = -1, FAR, FAR, 0, 0, FAR
        for q in range(n):
            p = sequence[lit] if given else q
            if begin[p] < FAR or phase[p] != now or (gate[p] >= 0 and gate_left[gate[p]] > 0):
                if given:
                    return lit, last_out, driven
                continue
            if blocked[p] >= 0 and begin[blocked[p]] >= FAR:
                continue
            blocked[p] = -1
            for k in range(ptr[p], ptr[p + 1]):
                if begin[down[k]] >= FAR and (one_wind or wind[k] < 0):
                    blocked[p] = down[k]
                    break
            if blocked[p] < 0:
                start, stop, way, c = place(
                    p,
                    codes[p],
                    not_before,
                    floor,
                    outs,
                    alight,
                    begin,
                    end,
                    orient,
                    crew,
                    free,
                    at,
                    gate_out,
                    lee_until,
                    task,
                )
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
            if later >= FAR:
                break
            not_before = later
            continue
        dx, dy = abs(ends[pick, pick_way, 0] - at[pick_crew, 0]), abs(ends[pick, pick_way, 1] - at[pick_crew, 1])
        driven += 0.0 if np.isnan(at[pick_crew, 0]) else (dx + dy if corner else np.sqrt(dx * dx + dy * dy))
        begin[pick], end[pick], orient[pick], crew[pick] = pick_start, pick_end, pick_way, pick_crew
        free[pick_crew] = pick_end
        at[pick_crew, 0], at[pick_crew, 1] = ends[pick, 1 - pick_way, 0], ends[pick, 1 - pick_way, 1]
        is_out = pick_end + out[pick]
        last_out, newest = max(last_out, is_out), max(newest, pick_start)
        j = alight
        while j > 0 and outs[j - 1] > is_out:
            outs[j] = outs[j - 1]
            j -= 1
        outs[j] = is_out
        alight += 1
        for k in range(lee_ptr[pick], lee_ptr[pick + 1]):
            lee_until[lee[k]] = max(lee_until[lee[k]], is_out)
        chosen[lit] = pick
        lit += 1
        if member[pick] >= 0:
            gate_left[member[pick]] -= 1
            gate_out[member[pick]] = max(gate_out[member[pick]], is_out)
        phase_left[now] -= 1
        while now < phases and phase_left[now] == 0:
            now += 1
            floor = newest
    return lit, last_out, driven


@njit(cache=True)
def best_ways(order: Any, crew_free: Any, crew_at: Any, task: Any) -> Any:  # pragma: no cover - compiled
    """Return the way round of each piece that ends a sequence soonest for one crew: exact, piece by piece.

    Waits for other crews do not arise; waits for gates only shift both ways alike.
    """
    ends, allowed, lighting, travel, corner = task[0], task[1], task[2], task[4], task[13]
    n = order.shape[0]
    reach = np.full((n, 2), FAR)
    came = np.zeros((n, 2), np.int64)
    for i in range(n):
        p = order[i]
        for way in range(2):
            if not allowed[p, way]:
                continue
            for was in range(2):
                if i == 0:
                    x, y, t = crew_at[0, 0], crew_at[0, 1], 0.0
                else:
                    x, y = ends[order[i - 1], 1 - was, 0], ends[order[i - 1], 1 - was, 1]
                    t = reach[i - 1, was]
                dx, dy = abs(ends[p, way, 0] - x), abs(ends[p, way, 1] - y)
                away = 0.0 if np.isnan(x) else (dx + dy if corner else np.sqrt(dx * dx + dy * dy))
                t += away / travel[0] + lighting[0, p]
                if t < reach[i, way]:
                    reach[i, way], came[i, way] = t, was
    ways = np.full(ends.shape[0], -1)
    if n == 0:
        return ways
    way = 0 if reach[n - 1, 0] <= reach[n - 1, 1] else 1
    for i in range(n - 1, -1, -1):
        ways[order[i]] = way
        way = came[i, way]
    return ways


@njit(cache=True)
def anneal(  # pragma: no cover - compiled
    order: Any, codes: Any, best: Any, best_codes: Any, costs: Any,
    heat_from: float, heat_to: float, moves: int, seed: int, reach: int,
    crew_free: Any, crew_at: Any, burning: Any, task: Any,
    begin: Any, end: Any, orient: Any, crew: Any, chosen: Any,
) -> None:  # fmt: skip
    """Move short runs of pieces about, or tie a piece to a crew and way; worse is kept with a chance that cools down.

    order and codes are changed in place, best and best_codes hold the best so far, costs their two costs. Same seed,
    same outcome.
    """
    np.random.seed(seed)
    n = order.shape[0]
    phase = task[7]
    total = task[0].shape[0]
    noise = np.zeros(total)
    trial = np.empty(n, np.int64)
    alone = crew_free.shape[0] == 1
    for m in range(moves):
        heat = heat_from * (heat_to / heat_from) ** (m / max(moves, 1))
        tied, was = -1, -1
        if not alone and np.random.random() < _TIES:
            tied = order[np.random.randint(n)]
            was = codes[tied]
            codes[tied] = np.random.randint(-1, 2 * crew_free.shape[0])
            if codes[tied] == was:
                continue
            trial[:] = order
        elif not _moved(order, trial, phase, reach):
            continue
        if alone:
            codes = best_ways(trial, crew_free, crew_at, task)
        lit, last_out, driven = run_sequence(
            trial, codes, noise, crew_free, crew_at, burning, task, begin, end, orient, crew, chosen
        )
        cost = (total - lit) * UNLIT_S + last_out + DRIVE_S_M * driven
        if cost < costs[0] or np.random.random() < np.exp((costs[0] - cost) / heat):
            costs[0] = cost
            order[:] = trial
            if cost < costs[1]:
                costs[1] = cost
                best[:], best_codes[:] = trial, codes
        elif tied >= 0:
            codes[tied] = was


@njit(cache=True)
def _moved(order: Any, trial: Any, phase: Any, reach: int) -> bool:  # pragma: no cover - compiled
    """Fill trial with the order after a short run of pieces was put somewhere near; False where nothing changes."""
    n = order.shape[0]
    # Mostly a few pieces a little way; now and then a long run, or far.
    longest = min(6, n - 1) if np.random.random() < _NEAR else n - 1
    length = 1 + np.random.randint(longest)
    a = np.random.randint(n - length + 1)
    far = reach if np.random.random() < _NEAR else n
    to = min(max(a + np.random.randint(-far, far + 1), 0), n - length)
    turned = np.random.random() < 0.5
    same_phase = phase[order[a]] == phase[order[a + length - 1]] and phase[order[a]] == phase[order[to]]
    if not same_phase or (to == a and not (turned and length > 1)):
        return False
    k = 0
    for j in range(n):
        if j < a or j >= a + length:
            if k == to:
                k += length
            trial[k] = order[j]
            k += 1
    for j in range(length):
        trial[to + j] = order[a + length - 1 - j] if turned else order[a + j]
    return True
