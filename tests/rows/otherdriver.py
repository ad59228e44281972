"""A second harvester that never was, of another mind than simulator.py and than the program: nothing is tuned to it.

It steers arcs about its front axle (the antenna sits elsewhere and swings), cuts in lands with bulb or three-point
turns, slows at the ends, stops to unload or backs off a choked header, lifts its flag early or late.
Yield varies over the paddock; straw leaves after a dead time through a first-order drum; grain has its own lag, drum
and noise. Ground is a fine grid walked at 10 Hz.
"""

from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
import pandas as pd
import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon

from mapper.farm.farm import Harvester
from mapper.rows.load import residue_to_row
from tests.rows.simulator import START_S, Truth

HZ = 10
CELL_M = 0.2
STEP_M = 0.1
DELTA = Polygon([(0, 0), (420, 40), (470, 330), (250, 300), (230, 520), (20, 470)])
BLOCK = Polygon([(0, 0), (380, -20), (400, 410), (30, 430)])


@dataclass(frozen=True)
class Driver:
    """One machine and its habits. dead_s and drum_s: straw; its mean delay is their sum. flag_*: late by so much."""

    width_m: float = 10.7
    ahead_m: float = 4.4
    behind_m: float = 2.6
    antenna_right_m: float = 0.0
    axle_ahead_m: float = 1.2
    dead_s: float = 8.0
    drum_s: float = 0.8
    flag_down_late_s: float = 0.0
    flag_up_late_s: float = 1.0
    turn: str = "bulb"
    cruise_m_s: float = 2.4
    wobble_m: float = 0.04


@dataclass(frozen=True)
class Day:
    """What is harvested and how it is logged."""

    paddock: Polygon = DELTA
    drivers: tuple[Driver, ...] = (Driver(),)
    heading_deg: float = 8.0
    laps: int = 2
    overlap_m: float = 0.25
    grain_t_ha: float = 2.2
    every_s: float = 1.0
    noise_m: float = 0.02
    drift_m: float = 0.0
    flag: bool = True
    flow: bool = True
    heading: bool = True
    width: bool = False
    only_down: bool = False
    lost: float = 0.0
    stops: int = 4
    seed: int = 11
    names: tuple[str, ...] = field(default=("Red", "Green"))


def harvesters(day: Day) -> dict[str, Harvester]:
    """Return the settings a careful owner would give."""
    return {
        name: Harvester(
            name,
            d.width_m,
            chute_behind_m=d.behind_m,
            header_ahead_m=d.ahead_m,
            antenna_right_m=d.antenna_right_m,
            threshing_delay_s=d.dead_s + d.drum_s,
        )
        for name, d in zip(day.names, day.drivers, strict=False)
    }


# A stretch of driving: poses x, y, heading (rad, from north) of the front axle every STEP_M, gear, header down, speed.
Leg = tuple[np.ndarray, np.ndarray, np.ndarray, int, bool, float]


def _arc(pose: tuple[float, float, float], bend: float, length: float, gear: int) -> np.ndarray:
    """Poses along an arc of curvature `bend`, driven forward or back."""
    s = np.arange(STEP_M, length + STEP_M / 2, STEP_M)
    h = pose[2] + gear * bend * s
    dx, dy = np.cumsum(np.sin(h)) * STEP_M * gear, np.cumsum(np.cos(h)) * STEP_M * gear
    return np.column_stack((pose[0] + dx, pose[1] + dy, h))


def _dubins(a: tuple[float, float, float], b: tuple[float, float, float], radius: float) -> np.ndarray:
    """Shortest way of arcs and straights from pose to pose (headings from north)."""
    # In the usual frame: angle from east, anticlockwise.
    th0, th1 = np.pi / 2 - a[2], np.pi / 2 - b[2]
    dx, dy = (b[0] - a[0]) / radius, (b[1] - a[1]) / radius
    d, phi = np.hypot(dx, dy), np.arctan2(dy, dx)
    al, be = (th0 - phi) % (2 * np.pi), (th1 - phi) % (2 * np.pi)
    sa, sb, ca, cb, cab = np.sin(al), np.sin(be), np.cos(al), np.cos(be), np.cos(al - be)
    found: list[tuple[float, str, tuple[float, float, float]]] = []

    def add(kind: str, t: float, p: float, q: float) -> None:
        t, q = t % (2 * np.pi), q % (2 * np.pi)
        found.append((t + p + q, kind, (t, p, q)))

    p2 = 2 + d * d - 2 * cab + 2 * d * (sa - sb)
    if p2 >= 0:
        w = np.arctan2(cb - ca, d + sa - sb)
        add("LSL", -al + w, np.sqrt(p2), be - w)
    p2 = 2 + d * d - 2 * cab + 2 * d * (sb - sa)
    if p2 >= 0:
        w = np.arctan2(ca - cb, d - sa + sb)
        add("RSR", al - w, np.sqrt(p2), -be + w)
    c = (6 - d * d + 2 * cab + 2 * d * (sa - sb)) / 8
    if abs(c) <= 1:
        p = 2 * np.pi - np.arccos(c)
        t = al - np.arctan2(ca - cb, d - sa + sb) + p / 2
        add("RLR", t, p, al - be - t + p)
    c = (6 - d * d + 2 * cab + 2 * d * (sb - sa)) / 8
    if abs(c) <= 1:
        p = 2 * np.pi - np.arccos(c)
        t = -al - np.arctan2(ca - cb, d + sa - sb) + p / 2
        add("LRL", t, p, (be - al) % (2 * np.pi) - t + p)
    _, kind, parts = min(found)
    pose, out = a, []
    for turn, part in zip(kind, parts, strict=True):
        bend = {"L": -1.0, "S": 0.0, "R": 1.0}[turn] / radius
        leg = _arc(pose, bend, part * radius, 1)
        if len(leg):
            out.append(leg)
            pose = tuple(leg[-1])
    return np.vstack(out) if out else np.zeros((0, 3))


def _along(xy: np.ndarray) -> np.ndarray:
    """Poses along a line."""
    line = LineString(xy)
    p = shapely.get_coordinates(shapely.line_interpolate_point(line, np.arange(0, line.length, STEP_M)))
    kernel = np.hanning(41) / np.hanning(41).sum()
    p = np.column_stack([np.r_[c[:20], np.convolve(c, kernel, "valid"), c[-20:]] for c in p.T])
    h = np.unwrap(np.arctan2(np.gradient(p[:, 0]), np.gradient(p[:, 1])))
    return np.column_stack((p, h))


def _legs(day: Day, k: int) -> list[tuple[np.ndarray, int, bool, float]]:
    """All driving of one machine: poses, gear, header down, speed."""
    d = day.drivers[k]
    pitch = d.width_m - day.overlap_m
    reach_m = d.ahead_m - d.axle_ahead_m
    legs: list[tuple[np.ndarray, int, bool, float]] = []
    for lap in range(day.laps):
        if lap % len(day.drivers) != k:
            continue
        inner = day.paddock.buffer(-(d.width_m / 2 + lap * pitch) - 8).buffer(8)
        xy = np.asarray(inner.exterior.coords)[::-1]
        ring = _along(np.vstack((xy, xy[1:3])))
        legs.append((ring, 1, True, 0.8 * d.cruise_m_s))
    inside = day.paddock.buffer(-(d.width_m + (day.laps - 1) * pitch) + day.overlap_m)
    turned = affinity.rotate(inside, day.heading_deg, origin=(0, 0))
    x0, y0, x1, y1 = turned.bounds
    passes: list[tuple[float, float, float]] = []
    for x in np.arange(x0 + d.width_m / 2, x1 + d.width_m / 3, pitch):
        strip = turned.intersection(shapely.box(x - d.width_m / 2, y0 - 1, x + d.width_m / 2, y1 + 1))
        passes += [(x, p.bounds[1], p.bounds[3]) for p in shapely.get_parts(strip) if p.area > 60]
    # Parts of a forked paddock one after the other; each machine a share; in lands: out on the left, back on the right.
    own = sorted(np.array_split(np.array(sorted(passes)), len(day.drivers))[k].tolist(), key=lambda p: p[0])
    half = (len(own) + 1) // 2
    order = [p for pair in zip(own[:half], [*own[half:], own[-1]], strict=False) for p in pair]
    order = list(dict.fromkeys(map(tuple, order + own)))
    if d.turn == "three":
        order = [tuple(p) for p in own]
    pose, up = None, True
    for x, low, high in order:
        sign = 1 if up else -1
        start, stop = (low, high) if up else (high, low)
        h = 0.0 if up else np.pi
        begin = (x, start - sign * (reach_m + 3), h)
        if pose is not None:
            legs += [(_turned(leg, day), gear, False, v) for leg, gear, v in _turn(pose, begin, d)]
        run = _arc(begin, 0.0, abs(stop - start) + 3 + 4, 1)
        legs.append((_turned(run, day), 1, True, d.cruise_m_s))
        out = _arc(tuple(run[-1]), 0.0, 9.0, 1)
        legs.append((_turned(out, day), 1, False, 0.8 * d.cruise_m_s))
        pose, up = tuple(out[-1]), not up
    return legs


def _turn(a: tuple[float, ...], b: tuple[float, ...], d: Driver) -> list[tuple[np.ndarray, int, float]]:
    side, gap = np.sign(b[0] - a[0]), abs(b[0] - a[0])
    radius = 6.5
    if d.turn == "three" and gap < 2 * radius and abs(b[1] - a[1]) < 60:
        up = 1 if np.cos(a[2]) > 0 else -1
        far = max(a[1] * up, b[1] * up + 0) * up
        first = _arc(a, 0.0, abs(far - a[1]) + STEP_M, 1)
        one = _arc(tuple(first[-1]), side * up / radius, np.pi / 2 * radius, 1)
        back = _arc(tuple(one[-1]), 0.0, 2 * radius - gap, -1)
        two = _arc(tuple(back[-1]), side * up / radius, np.pi / 2 * radius, 1)
        home = _arc(tuple(two[-1]), 0.0, abs(two[-1, 1] - b[1]) + STEP_M, 1)
        return [(first, 1, 1.8), (one, 1, 1.5), (back, -1, 1.1), (two, 1, 1.5), (home, 1, 1.8)]
    return [(_dubins(a, b, radius), 1, 1.7)]


def _turned(poses: np.ndarray, day: Day) -> np.ndarray:
    a = np.radians(day.heading_deg)
    x, y, h = poses.T
    return np.column_stack((np.cos(a) * x + np.sin(a) * y, -np.sin(a) * x + np.cos(a) * y, h + a))


@dataclass(frozen=True)
class _Drive:
    """A machine at 10 Hz: antenna x, y, body heading, signed speed, header down."""

    x: np.ndarray
    y: np.ndarray
    h: np.ndarray
    v: np.ndarray
    down: np.ndarray


def _drive(day: Day, k: int, rng: np.random.Generator) -> _Drive:
    d = day.drivers[k]
    legs = _with_stops(_legs(day, k), day, rng)
    pose = np.vstack([leg[0] for leg in legs])
    n = [len(leg[0]) for leg in legs]
    gear, down, want = (np.repeat([leg[i] for leg in legs], n).astype(float) for i in (1, 2, 3))
    wait = np.zeros(len(pose))
    ends = np.cumsum(n)[:-1]
    wait[ends[[i for i, (a, b) in enumerate(pairwise(legs)) if a[4] or a[1] != b[1]]]] = 1.5
    for end, leg in zip(ends, legs, strict=False):
        wait[end] += leg[4]
    # The crop's thickness and the driver's mood; slower into the headland.
    walk = np.convolve(rng.normal(size=len(pose) + 4000), np.hanning(4001), "valid")
    want = want * np.clip(1 + 0.12 * walk / walk.std(), 0.5, 1.4)
    v = want.copy()
    v[wait > 0] = 0.05
    for i in range(1, len(v)):
        v[i] = min(v[i], np.sqrt(v[i - 1] ** 2 + 2 * 0.6 * STEP_M))
    for i in range(len(v) - 2, -1, -1):
        v[i] = min(v[i], np.sqrt(v[i + 1] ** 2 + 2 * 0.9 * STEP_M))
    when = np.cumsum(STEP_M / v) + np.cumsum(wait)
    t = np.arange(when[0], when[-1], 1 / HZ)
    at = np.interp(t, np.sort(np.r_[when, when[wait > 0] - wait[wait > 0]]),
                   np.sort(np.r_[np.arange(len(v)), np.flatnonzero(wait > 0)]))  # fmt: skip
    i = np.minimum(np.round(at).astype(int), len(v) - 1)
    side = np.convolve(rng.normal(size=len(t) + 300), np.hanning(301), "valid")[: len(t)]
    side = d.wobble_m * side / side.std() * (down[i] > 0)
    side = np.convolve(np.r_[np.zeros(10), side, np.zeros(10)], np.ones(21) / 21, "valid")
    ax, ay, h = (np.interp(at, np.arange(len(v)), pose[:, c]) for c in range(3))
    # From the axle to the antenna: behind it, and off the centre line.
    x = ax - d.axle_ahead_m * np.sin(h) + (d.antenna_right_m + side) * np.cos(h)
    y = ay - d.axle_ahead_m * np.cos(h) - (d.antenna_right_m + side) * np.sin(h)
    speed = np.gradient(at) * STEP_M * HZ * gear[i]
    return _Drive(x, y, h, speed, down[i] > 0)


def _with_stops(legs: list, day: Day, rng: np.random.Generator) -> list:  # type: ignore[type-arg]
    """Break some passes: to unload standing, or for a choked header, which backs off with the header up."""
    out = [(*leg, 0.0) for leg in legs]
    long = [i for i, leg in enumerate(legs) if leg[2] and len(leg[0]) * STEP_M > 80]
    for n, i in enumerate(sorted(rng.choice(long, min(day.stops, len(long)), replace=False))[::-1]):
        poses, gear, down, v, _ = out[i]
        cut = int(len(poses) * rng.uniform(0.3, 0.7))
        first, rest = poses[:cut], poses[cut:]
        if n % 2:
            out[i : i + 1] = [(first, gear, down, v, rng.uniform(25, 80)), (rest, gear, down, v, 0.0)]
        else:
            back = int(4.5 / STEP_M)
            retreat = first[-back:][::-1]
            again = first[-back:]
            out[i : i + 1] = [
                (first, gear, down, v, 4.0),
                (retreat, -1, False, 1.0, rng.uniform(10, 30)),
                (again, 1, True, 1.2, 0.0),
                (rest, gear, down, v, 0.0),
            ]
    return out


def _grain(day: Day, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Yield at places, t/ha: two broad waves of half the mean."""
    return day.grain_t_ha * (1 + 0.25 * np.sin(x / 61) * np.cos(y / 83) + 0.15 * np.sin((x + y) / 140))


def _cut(drives: list[_Drive], day: Day) -> list[np.ndarray]:
    """Width cut at each moment of each machine, metres."""
    x0, y0, x1, y1 = day.paddock.bounds
    nx, ny = int((x1 - x0) / CELL_M) + 1, int((y1 - y0) / CELL_M) + 1
    cells = shapely.prepare(day.paddock)
    gx, gy = np.meshgrid(x0 + (np.arange(nx) + 0.5) * CELL_M, y0 + (np.arange(ny) + 0.5) * CELL_M)
    cells = shapely.contains_xy(day.paddock, gx.ravel(), gy.ravel())
    widths, place = [], []
    for k, v in enumerate(drives):
        d = day.drivers[k]
        across = (np.arange(int(d.width_m / 0.1)) + 0.5) * 0.1 - d.width_m / 2
        cx, cy = v.x - d.antenna_right_m * np.cos(v.h), v.y + d.antenna_right_m * np.sin(v.h)
        bx, by = cx + d.ahead_m * np.sin(v.h), cy + d.ahead_m * np.cos(v.h)
        px, py = bx[:, None] + across * np.cos(v.h)[:, None], by[:, None] - across * np.sin(v.h)[:, None]
        i, j = ((px - x0) / CELL_M).astype(np.int32), ((py - y0) / CELL_M).astype(np.int32)
        ok = (px >= x0) & (py >= y0) & (i < nx) & (j < ny)
        place.append(np.where(ok, j * nx + i, -1))
        widths.append(np.zeros(len(v.x)))
    taken = np.full(len(cells), 1 << 30)
    events = sorted((i, k) for k, v in enumerate(drives) for i in np.flatnonzero(v.down & (v.v > 0.02)))
    for i, k in events:
        c = place[k][i]
        c = c[c >= 0]
        c = c[cells[c]]
        # A cell counts until the bar has passed it: two seconds after it first was touched.
        fresh = taken[c] > i - 2 * HZ
        widths[k][i] = 0.1 * np.count_nonzero(fresh)
        first = c[fresh]
        taken[first] = np.minimum(taken[first], i)
    return widths


def drive(day: Day) -> tuple[pd.DataFrame, Truth]:
    """Return the log (columns of farm/tracks.py) and the truth."""
    rng = np.random.default_rng(day.seed)
    drives = [_drive(day, k, rng) for k in range(len(day.drivers))]
    widths = _cut(drives, day)
    logs, rows, kg_m, heaps, heap_kg, straw, area = [], [], [], [], [], 0.0, 0.0
    for k, v in enumerate(drives):
        d = day.drivers[k]
        w = np.where(widths[k] >= 1.0, widths[k], 0.0)
        grain = _grain(day, v.x, v.y)
        straw_t_ha = np.asarray(residue_to_row(grain, "wheat", 0.15).value)
        m2 = w * np.maximum(v.v, 0) / HZ
        kg = m2 * straw_t_ha / 10
        falls = _drum(np.r_[np.zeros(round(d.dead_s * HZ)), kg][: len(kg)], d.drum_s)
        fell = _fallen(v, falls, straw_t_ha, d, day)
        rows, kg_m, heaps, heap_kg = rows + fell[0], kg_m + fell[1], heaps + fell[2], heap_kg + fell[3]
        straw, area = straw + kg.sum(), area + m2.sum()
        logs.append(_log(day, k, v, w, m2 * grain / 10 * HZ, rng))
    log = pd.concat(logs, ignore_index=True)
    heap_at = np.array(heaps).reshape(-1, 2)
    return log, Truth(rows, np.array(kg_m), heap_at, np.array(heap_kg), float(straw), float(area), len(log))


def _drum(rate: np.ndarray, drum_s: float) -> np.ndarray:
    """First-order mixing; nothing is lost."""
    if not drum_s:
        return rate
    taps = np.exp(-np.arange(0, 8 * drum_s * HZ) / (drum_s * HZ))
    return np.convolve(rate, taps / taps.sum())[: len(rate)]


def _fallen(v: _Drive, falls: np.ndarray, straw_t_ha: np.ndarray, d: Driver, day: Day) -> tuple[list, list, list, list]:  # type: ignore[type-arg]
    cx, cy = v.x - d.antenna_right_m * np.cos(v.h), v.y + d.antenna_right_m * np.sin(v.h)
    cx, cy = cx - d.behind_m * np.sin(v.h), cy - d.behind_m * np.cos(v.h)
    step = np.hypot(np.gradient(cx), np.gradient(cy))
    stands = np.abs(v.v) < 0.25
    full = float(np.median(straw_t_ha)) * d.width_m / 10
    inside = shapely.contains_xy(day.paddock, cx, cy)
    lies = inside & ~stands & (falls > 0.1 * full * np.maximum(step, 0.01))
    along = np.r_[0, np.cumsum(np.hypot(np.diff(cx), np.diff(cy)))]
    edge = np.flatnonzero(np.diff(np.r_[0, lies.astype(int), 0]))
    runs: list[list[int]] = []
    for a, b in zip(edge[::2], edge[1::2], strict=True):
        if runs and along[a] - along[runs[-1][1] - 1] < 2 and inside[runs[-1][1] - 1 : a + 1].all():
            runs[-1][1] = b
        else:
            runs.append([a, b])
    rows, kg_m = [], []
    for a, b in runs:
        xy = np.column_stack((cx[a:b], cy[a:b]))[~stands[a:b]]
        if len(xy) > 2 and (line := LineString(xy)).length >= 2:
            rows.append(line)
            kg_m.append(float(falls[a:b][~stands[a:b]].sum() / line.length))
    heaps, heap_kg = [], []
    edge = np.flatnonzero(np.diff(np.r_[0, stands.astype(int), 0]))
    for a, b in zip(edge[::2], edge[1::2], strict=True):
        if falls[a:b].sum() > 5 and inside[a]:
            heaps.append((cx[a:b].mean(), cy[a:b].mean()))
            heap_kg.append(float(falls[a:b].sum()))
    return rows, kg_m, heaps, heap_kg


def _log(
    day: Day, k: int, v: _Drive, width: np.ndarray, grain_kg_s: np.ndarray, rng: np.random.Generator
) -> pd.DataFrame:
    d = day.drivers[k]
    at = np.arange(int(rng.integers(HZ)), len(v.x), round(day.every_s * HZ))
    n = len(at)
    flow = _drum(np.r_[np.zeros(round(7.0 * HZ)), grain_kg_s][: len(grain_kg_s)], 1.6)
    flow = flow * (1 + _drum(rng.normal(0, 0.25, len(flow)), 0.5)) + np.abs(rng.normal(0, 0.03, len(flow)))
    down = v.down.copy()
    change = np.flatnonzero(np.diff(v.down.astype(int)))
    for c in change:
        late = round((d.flag_down_late_s if v.down[c + 1] else d.flag_up_late_s) * HZ)
        a, b = (c + 1, c + 1 + late) if late >= 0 else (c + 1 + late, c + 1)
        down[max(a, 0) : max(b, 0)] = v.down[c] if late >= 0 else v.down[c + 1]
    part = d.width_m / 8
    logged_width = np.clip(np.ceil(np.roll(width, HZ // 2) / part) * part, part, d.width_m)
    nan = np.full(n, np.nan)
    log = pd.DataFrame(
        {
            "t_s": np.round(START_S + at / HZ, 1),
            "x": v.x[at] + rng.normal(0, day.noise_m, n),
            "y": v.y[at] + rng.normal(0, day.noise_m, n),
            "speed_m_s": np.round(np.abs(np.convolve(v.v, np.ones(7) / 7, "same")[at]), 2),
            "heading_deg": np.round(np.degrees(v.h[at]) % 360, 1) if day.heading else nan,
            "header_down": (down[at] if day.flag else np.full(n, -1)).astype("int8"),
            "width_m": logged_width[at] if day.width else nan,
            "flow_kg_s": np.maximum(flow[at], 0) if day.flow else nan,
            "yield_t_ha": nan,
            "machine": day.names[k],
        }
    )
    if day.drift_m:
        keep = np.exp(-day.every_s / 240.0)
        for axis in "xy":
            shock, walk = rng.normal(0, day.drift_m * np.sqrt(1 - keep**2), n), 0.0
            drift = np.zeros(n)
            for i in range(n):
                walk = keep * walk + shock[i]
                drift[i] = walk
            log[axis] += drift
    if day.lost:
        log = log[rng.random(n) > day.lost].reset_index(drop=True)
    if day.only_down:
        log = log[log["header_down"] == 1].reset_index(drop=True)
        log["header_down"] = np.full(len(log), -1, "int8")
    return log


SLOPPY = Driver(flag_down_late_s=1.5, flag_up_late_s=-0.5, turn="three", drum_s=1.5, dead_s=10.0)
DAYS: dict[str, Day] = {
    "other 1 s": Day(),
    "other, block": Day(BLOCK, heading_deg=-3.0, seed=3),
    "other, three-point turns, late flag": Day(BLOCK, (SLOPPY,), heading_deg=2.0, seed=5),
    "other, two machines": Day(drivers=(Driver(), replace(SLOPPY, antenna_right_m=0.3)), seed=7),
    "other 5 s": Day(every_s=5.0, seed=9),
    "other, no flag": Day(flag=False, seed=13),
    "other, hand-steered, width logged": Day(drivers=(Driver(wobble_m=0.3),), overlap_m=0.8, width=True, seed=15),
    "other, drift 0.5 m": Day(BLOCK, drift_m=0.5, seed=19),
    "other, no heading, 2 % lost, 2 s": Day(every_s=2.0, heading=False, lost=0.02, noise_m=0.08, seed=17),
}
