"""A harvester that never was: drives a paddock, cuts, threshes, drops, and keeps a log with a log's faults.

Written apart from the program: its ground is marked by points along the cutter bar at 5 Hz, its truth is the way of
the chute.
"""

from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd
import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon

from mapper.farm.farm import Harvester

HZ = 5
STEP_M = 0.2
CELL_M = 0.25
START_S = 1_764_547_200.0  # 2025-12-01 00:00 UTC


@dataclass(frozen=True)
class Scene:
    """What is driven and how the log is kept. The straw per area is straw_t_ha at every place."""

    paddock: Polygon
    heading_deg: float = 20.0
    laps: int = 2
    overlap_m: float = 0.3
    straw_t_ha: float = 2.7
    grain_t_ha: float = 2.5
    machines: int = 1
    stops: int = 3
    every_s: float = 1.0
    noise_m: float = 0.02
    flag: bool = True
    only_down: bool = False
    clock: bool = True
    flow: bool = True
    faults: bool = False
    shuffled: bool = False
    one_name: bool = False
    road: bool = False
    late_flag_s: float = 0.0
    drift_m: float = 0.0
    round_m: float = 0.0
    mixing_s: float = 0.5
    waterway: bool = False
    whole_seconds: bool = False
    seed: int = 1
    harvester: Harvester = field(default_factory=lambda: Harvester("A", 12.0))


@dataclass(frozen=True)
class Truth:
    """Rows (lines with kg a metre), heaps (points with kg), all straw, cut area."""

    rows: list[LineString]
    kg_m: np.ndarray
    heaps: np.ndarray
    heap_kg: np.ndarray
    straw_kg: float
    cut_m2: float
    fixes: int


KITE = Polygon([(0, 60), (330, 0), (520, 260), (380, 560), (60, 480)])


def dam_and_tree(shape: Polygon) -> Polygon:
    """Return the paddock with a dam and a tree in it."""
    c = shape.centroid
    dam = affinity.scale(c.buffer(1), 45, 30)
    return shape.difference(affinity.rotate(dam, 25)).difference(shapely.Point(c.x + 120, c.y + 90).buffer(7))


def waterway(scene: Scene) -> Polygon:
    """Return a strip without crop across the paddock; the header stays down over it."""
    x0, y0, x1, y1 = scene.paddock.bounds
    return LineString([(x0, y0 + 0.35 * (y1 - y0)), (x1, y0 + 0.6 * (y1 - y0))]).buffer(9)


def drive(scene: Scene) -> tuple[pd.DataFrame, Truth]:
    """Return the log (columns of farm/tracks.py) and the truth."""
    rng = np.random.default_rng(scene.seed)
    plans = _plans(scene)
    ways = [_clocked(plan, scene, rng) for plan in plans]
    widths = _cut(ways, scene)
    logs, rows, kg_m, heaps, heap_kg, straw, area = [], [], [], [], [], 0.0, 0.0
    for k, (way, width) in enumerate(zip(ways, widths, strict=True)):
        r, m, h, hk, s, a = _truth(way, width, scene)
        rows += r
        kg_m += m
        heaps += h
        heap_kg += hk
        straw, area = straw + s, area + a
        logs.append(_log(way, width, scene, "A" if scene.one_name else "AB"[k], rng))
    log = pd.concat(logs, ignore_index=True)
    if scene.shuffled:
        log = log.sample(frac=1, random_state=scene.seed).reset_index(drop=True)
    return log, Truth(
        rows, np.array(kg_m), np.array(heaps).reshape(-1, 2), np.array(heap_kg), straw, area, len(log)
    )  # fmt: skip


def harvesters(scene: Scene) -> dict[str, Harvester]:
    """Return the settings of the machines in the log."""
    return {name: replace(scene.harvester, machine=name) for name in "AB"[: scene.machines]}


def _ring(shape: Polygon, inset: float) -> np.ndarray | None:
    inner = shape.buffer(-(inset + 7)).buffer(7)
    if inner.is_empty or inner.geom_type != "Polygon":
        return None
    return np.asarray(inner.exterior.coords)


def _plans(scene: Scene) -> list[np.ndarray]:
    """Points x, y, header down (1/0), speed for each machine, the antenna's way."""
    w = scene.harvester.header_width_m
    ahead = scene.harvester.header_ahead_m
    hull = Polygon(scene.paddock.exterior)
    parts: list[list[np.ndarray]] = [[] for _ in range(scene.machines)]
    reach = 0.0
    for lap in range(scene.laps):
        ring = _ring(hull, w / 2 + lap * (w - scene.overlap_m))
        if ring is None:
            break
        # From a little before its start once round, the header over the start again at the end.
        around = shapely.get_coordinates(shapely.segmentize(LineString(np.vstack((ring, ring[1:4]))), 1.0))
        parts[lap % scene.machines].append(_leg(around, 1, 1.9))
        reach = w + lap * (w - scene.overlap_m)
    inside = hull.buffer(-reach)
    for hole in scene.paddock.interiors:
        for lap in range(2):
            ring = np.asarray(Polygon(hole).buffer(w / 2 + 1 + lap * (w - scene.overlap_m)).exterior.coords)
            parts[0].append(
                _leg(shapely.get_coordinates(shapely.segmentize(LineString(np.vstack((ring, ring[1:3]))), 1.0)), 1, 1.7)
            )
        inside = inside.difference(Polygon(hole).buffer(1 + 2 * w - scene.overlap_m))
    turned = affinity.rotate(inside, scene.heading_deg, origin=(0, 0))
    x0, y0, x1, y1 = turned.bounds
    pitch = w - scene.overlap_m
    groups: dict[int, list[tuple[float, float, float]]] = {}
    for k, x in enumerate(np.arange(x0 + pitch / 2, x1, pitch)):
        # A pass must clear what its whole width sees, so it runs over the longest of its edges and its middle.
        cuts = [
            shapely.intersection(turned, LineString([(x + s, y0 - 1), (x + s, y1 + 1)])) for s in (-w / 2.1, 0, w / 2.1)
        ]
        strip = shapely.unary_union(
            [shapely.MultiLineString([_on_axis(p, x) for p in shapely.get_parts(c)]) for c in cuts if not c.is_empty]
        )
        pieces = [
            p
            for p in shapely.get_parts(shapely.line_merge(strip) if strip.geom_type != "LineString" else strip)
            if p.length > 15
        ]
        for g, p in enumerate(sorted(pieces, key=lambda p: p.bounds[1])):
            groups.setdefault(g if len(pieces) > 1 else (-1 if k < (x1 - x0) / pitch / 2 else 99), []).append(
                (x, p.bounds[1], p.bounds[3])
            )
    for g in sorted(groups):
        passes = groups[g]
        for machine in range(scene.machines):
            own = (
                passes[machine :: scene.machines]
                if scene.machines == 1
                else np.array_split(np.array(passes), scene.machines)[machine]
            )
            up = True
            for n, (x, low, high) in enumerate(own):
                y_from, y_to = (low, high) if up else (high, low)
                sign = 1 if up else -1
                lead = np.array([[x, y_from - sign * (ahead + 8)], [x, y_from - sign * (ahead + 2)]])
                run = np.array([[x, y_from - sign * (ahead + 2)], [x, y_to - sign * (ahead - 2)]])
                out = np.array([[x, y_to - sign * (ahead - 2)], [x, y_to + sign * 4]])
                parts[machine] += [
                    _leg(_back(lead, scene), 0, 1.8),
                    _leg(_back(run, scene), 1, 2.1),
                    _leg(_back(out, scene), 0, 1.6),
                ]
                if n + 1 < len(own):
                    nx, nlow, nhigh = own[n + 1]
                    edge = max(high, nhigh) + 5 if up else min(low, nlow) - 5
                    a = np.linspace(0, np.pi, 20)
                    arc = np.column_stack(
                        (x + (nx - x) / 2 * (1 - np.cos(a)), edge + sign * abs(nx - x) / 2 * np.sin(a))
                    )
                    parts[machine].append(_leg(_back(arc, scene), 0, 1.5))
                up = not up
    return [np.vstack(p) for p in parts if p]


def _on_axis(part: LineString, x: float) -> LineString:
    return LineString([(x, part.bounds[1]), (x, part.bounds[3])])


def _back(xy: np.ndarray, scene: Scene) -> np.ndarray:
    return shapely.get_coordinates(affinity.rotate(LineString(xy), -scene.heading_deg, origin=(0, 0)))


def _leg(xy: np.ndarray, down: int, speed: float) -> np.ndarray:
    return np.column_stack((xy, np.full(len(xy), down), np.full(len(xy), speed)))


@dataclass(frozen=True)
class _Way:
    t: np.ndarray
    x: np.ndarray
    y: np.ndarray
    h: np.ndarray
    down: np.ndarray
    v: np.ndarray


def _clocked(plan: np.ndarray, scene: Scene, rng: np.random.Generator) -> _Way:
    if scene.road:
        far = np.array([[plan[0, 0] - 400, plan[0, 1] - 30, 0, 7.5], [plan[0, 0] - 40, plan[0, 1] - 20, 0, 7.5]])
        plan = np.vstack((far, plan))
    d = np.r_[0, np.cumsum(np.hypot(np.diff(plan[:, 0]), np.diff(plan[:, 1])))]
    keep = np.r_[True, np.diff(d) > 1e-9]
    plan, d = plan[keep], d[keep]
    s = np.arange(0, d[-1], STEP_M)
    at = np.minimum(np.searchsorted(d, s, "right"), len(d) - 1)
    x, y = np.interp(s, d, plan[:, 0]), np.interp(s, d, plan[:, 1])
    kernel = np.hanning(31) / np.hanning(31).sum()  # a machine rounds a corner within some metres
    x, y = (np.r_[p[:15], np.convolve(p, kernel, "valid"), p[-15:]] for p in (x, y))
    h = np.arctan2(np.gradient(x), np.gradient(y))
    slow = np.exp(
        0.08
        * np.convolve(
            rng.normal(size=len(s) + 1000), np.hanning(1001) / np.sqrt((np.hanning(1001) ** 2).sum()), "valid"
        )[: len(s)]
    )
    v = plan[at, 3] * slow
    down = plan[at, 2]
    cutting = np.flatnonzero(down == 1)
    wait = np.zeros(len(s))
    for k in np.sort(rng.choice(cutting[len(cutting) // 10 :], scene.stops, replace=False)):
        near = np.abs(s - s[k])
        v = np.where(near < 6, np.minimum(v, np.sqrt(2 * 0.5 * near) + 0.15), v)
        wait[k] += rng.uniform(20, 60)
    v = np.convolve(np.r_[np.full(10, v[0]), v, np.full(10, v[-1])], np.ones(21) / 21, "valid")
    v = np.where(wait > 0, 0.15, v)
    when = np.cumsum(STEP_M / v) + np.r_[0, np.cumsum(wait)[:-1]]
    t = np.arange(when[0], when[-1], 1 / HZ)
    # While it waits the way stands still.
    stay = np.sort(np.r_[when, when[wait > 0] + wait[wait > 0]])
    s_at = np.sort(np.r_[s, s[wait > 0]])
    where = np.interp(t, stay, s_at)
    hx, hy = np.interp(where, s, np.sin(h)), np.interp(where, s, np.cos(h))
    moved = np.gradient(where, 1 / HZ)
    return _Way(
        t,
        np.interp(where, s, x),
        np.interp(where, s, y),
        np.arctan2(hx, hy),
        np.round(np.interp(where, s, down)),
        moved,
    )


def _cut(ways: list[_Way], scene: Scene) -> list[np.ndarray]:
    """Width (m) that each moment cuts, over all machines in time order."""
    w, ahead = scene.harvester.header_width_m, scene.harvester.header_ahead_m
    x0, y0, x1, y1 = scene.paddock.bounds
    nx, ny = int((x1 - x0) / CELL_M) + 1, int((y1 - y0) / CELL_M) + 1
    gx, gy = np.meshgrid(x0 + (np.arange(nx) + 0.5) * CELL_M, y0 + (np.arange(ny) + 0.5) * CELL_M)
    crop = scene.paddock.difference(waterway(scene)) if scene.waterway else scene.paddock
    shapely.prepare(crop)
    standing = shapely.contains_xy(crop, gx.ravel(), gy.ravel())
    across = (np.arange(int(w / 0.2)) + 0.5) * 0.2 - w / 2
    widths = [np.zeros(len(way.t)) for way in ways]
    events = sorted(
        (way.t[i], k, i) for k, way in enumerate(ways) for i in np.flatnonzero((way.down == 1) & (way.v > 0.02))
    )
    late: list[tuple[float, np.ndarray]] = []
    cells: dict[int, np.ndarray] = {}
    for k, way in enumerate(ways):
        bx, by = way.x + ahead * np.sin(way.h), way.y + ahead * np.cos(way.h)
        px = bx[:, None] + across[None, :] * np.cos(way.h)[:, None]
        py = by[:, None] - across[None, :] * np.sin(way.h)[:, None]
        i, j = ((px - x0) / CELL_M).astype(int), ((py - y0) / CELL_M).astype(int)
        ok = (i >= 0) & (i < nx) & (j >= 0) & (j < ny) & (px >= x0) & (py >= y0)
        cells[k] = np.where(ok, j * nx + i, -1)
    done = 0
    for t, k, i in events:
        while done < len(late) and late[done][0] < t - 3:
            standing[late[done][1]] = False
            done += 1
        c = cells[k][i]
        c = c[c >= 0]
        widths[k][i] = 0.2 * np.count_nonzero(standing[c])
        late.append((t, np.unique(np.r_[c, c - 1, c + 1, c - nx, c + nx].clip(0, nx * ny - 1))))
    return widths


def _truth(way: _Way, width: np.ndarray, scene: Scene) -> tuple[list, list, list, list, float, float]:
    width = np.where(width >= 1.0, width, 0.0)
    kg = width * np.maximum(way.v, 0) / HZ * scene.straw_t_ha / 10
    late = round(scene.harvester.threshing_delay_s * HZ)
    falls = np.r_[np.zeros(late), kg][: len(kg)]
    if scene.mixing_s:
        taps = np.exp(-0.5 * (np.arange(-15 * HZ, 15 * HZ + 1) / HZ / scene.mixing_s) ** 2)
        falls = np.convolve(falls, taps / taps.sum(), "same")
    behind = scene.harvester.chute_behind_m
    cx, cy = way.x - behind * np.sin(way.h), way.y - behind * np.cos(way.h)
    stands = way.v < 0.25
    step = np.hypot(np.gradient(cx), np.gradient(cy))
    usual = scene.straw_t_ha * scene.harvester.header_width_m / 10
    lies = (falls > 0.1 * usual * np.maximum(step, 0.03)) | (stands & (falls > 0))
    inside = shapely.contains_xy(scene.paddock, cx, cy)
    lies &= inside
    rows, kg_m = [], []
    # A hole in the straw shorter than 2 m of way is no end of a row.
    edge = np.flatnonzero(np.diff(np.r_[0, lies.astype(int), 0]))
    runs = list(zip(edge[::2], edge[1::2], strict=True))
    along = np.r_[0, np.cumsum(np.hypot(np.diff(cx), np.diff(cy)))]
    merged: list[list[int]] = []
    for a, b in runs:
        if merged and along[a] - along[merged[-1][1] - 1] < 2 and inside[merged[-1][1] - 1 : a + 1].all():
            merged[-1][1] = b
        else:
            merged.append([a, b])
    for a, b in merged:
        xy = np.column_stack((cx[a:b], cy[a:b]))
        xy = xy[np.r_[True, np.hypot(*np.diff(xy, axis=0).T) > 1e-6]]
        if len(xy) > 1 and (line := LineString(xy)).length >= 2:
            rows.append(line)
            kg_m.append(float(falls[a:b][~stands[a:b]].sum() / line.length))
    heaps, heap_kg = [], []
    edge = np.flatnonzero(np.diff(np.r_[0, stands.astype(int), 0]))
    for a, b in zip(edge[::2], edge[1::2], strict=True):
        if falls[a:b].sum() > 5 and inside[a]:
            heaps.append((cx[a:b].mean(), cy[a:b].mean()))
            heap_kg.append(float(falls[a:b].sum()))
    return rows, kg_m, heaps, heap_kg, float(kg.sum()), float((width * np.maximum(way.v, 0)).sum() / HZ)


def _log(way: _Way, width: np.ndarray, scene: Scene, name: str, rng: np.random.Generator) -> pd.DataFrame:
    rate = width * np.maximum(way.v, 0) * scene.grain_t_ha / 10
    lag = 11 * HZ
    slow = np.exp(-np.arange(0, 15 * HZ) / (3.0 * HZ))
    mixed = np.convolve(np.r_[np.zeros(lag - 3 * HZ), rate], slow / slow.sum())[: len(rate)]
    down = np.roll(way.down, int(scene.late_flag_s * HZ))
    at = np.arange(int(rng.integers(HZ)), len(way.t), int(scene.every_s * HZ))
    n = len(at)
    x, y = way.x[at] + rng.normal(0, scene.noise_m, n), way.y[at] + rng.normal(0, scene.noise_m, n)
    t = START_S + way.t[at] + 0.0
    log = pd.DataFrame(
        {
            "t_s": np.round(t, 2),
            "x": x,
            "y": y,
            "speed_m_s": np.maximum(way.v[at] + rng.normal(0, 0.03, n), 0),
            "heading_deg": np.degrees(way.h[at]) % 360,
            "header_down": (down[at] if scene.flag else np.full(n, -1)).astype("int8"),
            "width_m": np.full(n, np.nan),
            "flow_kg_s": mixed[at] * (1 + rng.normal(0, 0.03, n)) if scene.flow else np.full(n, np.nan),
            "yield_t_ha": np.full(n, np.nan),
            "machine": name,
        }
    )
    if scene.drift_m:
        k = scene.every_s / 300.0
        for axis in "xy":
            walk = np.zeros(n)
            for i, shock in enumerate(rng.normal(0, scene.drift_m * np.sqrt(2 * k), n)):
                walk[i] = walk[i - 1] * (1 - k) + shock
            log[axis] += walk
    if scene.round_m:
        log[["x", "y"]] = (log[["x", "y"]] / scene.round_m).round() * scene.round_m
    if scene.whole_seconds:
        log["t_s"] = log["t_s"].round()
    if scene.faults:
        keep = rng.random(n) > 0.01
        for k in rng.integers(0, n, max(2, n // 2500)):
            keep[k : k + int(rng.integers(4, 12))] = False
        wild = rng.random(n) < 0.003
        angle, off = rng.uniform(0, 2 * np.pi, n), rng.uniform(5, 200, n)
        log.loc[wild, "x"] += (off * np.cos(angle))[wild]
        log.loc[wild, "y"] += (off * np.sin(angle))[wild]
        log.loc[n // 2 :, "t_s"] -= 40.0
        twice = rng.random(n) < 0.005
        log = pd.concat([log[keep], log[keep & twice]]).sort_index(kind="stable").reset_index(drop=True)
    if scene.only_down:
        log = log[log["header_down"] == 1].reset_index(drop=True)
        log["header_down"] = np.full(len(log), -1, "int8")
    if not scene.clock:
        log["t_s"] = np.nan
    return log
