"""Where the invented harvesters drove: headland laps first, then back-and-forth passes with turns."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.ops import nearest_points, substring

from making import land

OVERLAP_M = 0.25
TURN_M = 19.0  # how far the controls of a turn reach out: a turn goes three quarters of it into the headland
# Obstacles that a pass is steered round: half a header is not enough, the machine keeps this far off.
KEEP_OFF_M = 7.5


@dataclass
class Drive:
    """A machine's way: the antenna's vertices in order, the share of the header cutting, the speed wanted."""

    header_ahead_m: float
    xy: list[Any] = field(default_factory=list)
    cut: list[Any] = field(default_factory=list)
    speed: list[Any] = field(default_factory=list)
    stopped_before: list[int] = field(default_factory=list)

    def add(self, xy: Any, speed_m_s: float, cut: Any = None) -> None:
        """Go along some vertices. cut: share of the header in the crop at each, None with the header up."""
        xy = np.asarray(xy, dtype=float)
        self.xy.append(xy)
        self.cut.append(np.full(len(xy), -1.0) if cut is None else np.broadcast_to(cut, len(xy)))
        self.speed.append(np.full(len(xy), speed_m_s))

    def cut_along(self, bar: Any, speed_m_s: float, cut: Any) -> None:
        """Cut along vertices of the cutter bar's way: the antenna, whose way is kept, runs some metres behind."""
        self.add(bar - self.header_ahead_m * unit_courses(bar), speed_m_s, cut)

    def halt(self) -> None:
        """Switch off: what comes next starts somewhere else."""
        self.stopped_before.append(sum(map(len, self.xy)))

    @property
    def end(self) -> Any:
        """Where the machine stands."""
        return self.xy[-1][-1]

    @property
    def just_halted(self) -> bool:
        """Whether nothing was driven yet since the last halt."""
        return not self.xy or (bool(self.stopped_before) and self.stopped_before[-1] == sum(map(len, self.xy)))

    @property
    def course(self) -> Any:
        """The unit vector in which it last moved."""
        last = np.vstack(self.xy[-2:])[-6:] if len(self.xy[-1]) < 2 else self.xy[-1][-6:]
        step = last[-1] - last[0]
        return step / max(np.hypot(*step), 1e-9)


def unit_courses(xy: Any) -> Any:
    """Return the unit vector of travel at each vertex."""
    ahead = np.gradient(xy, axis=0)
    return ahead / np.maximum(np.hypot(*ahead.T), 1e-9)[:, None]


def dense(path: LineString, step: float = 1.0) -> Any:
    """Return points along a line about a metre apart."""
    n = max(2, int(path.length / step) + 1)
    return shapely.get_coordinates(shapely.line_interpolate_point(path, np.linspace(0, path.length, n)))


def turn(a: Any, a_course: Any, b: Any, b_course: Any) -> Any:
    """Return a smooth turn from one place and course to another."""
    reach = max(TURN_M, 0.35 * float(np.hypot(*(b - a))))
    t = np.linspace(0, 1, max(8, int(np.hypot(*(b - a)) + 1.5 * reach)))[1:-1, None]
    p1, p2 = a + reach * a_course, b - reach * b_course
    return (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t**2 * p2 + t**3 * b


def laps(outline: Polygon, holes: list[Polygon], width: float, n: int) -> tuple[list[LineString], Polygon]:
    """Return headland laps, outermost first, then one round each hole; and the ground left inside them."""
    rings = []
    for k in range(n):
        off = (k + 0.5) * (width - OVERLAP_M) + 0.3
        # Corners are rounded as a machine must turn.
        inner = outline.buffer(-off - 11, join_style="round").buffer(11)
        rings.append(LineString((inner.geoms[0] if hasattr(inner, "geoms") else inner).exterior.coords))
    inside = outline.buffer(-n * (width - OVERLAP_M) - 0.2, join_style="mitre")
    for hole in holes:
        rings.append(LineString(hole.buffer(width / 2 + 0.3).exterior.coords))
        inside = inside.difference(hole.buffer(width))
    return rings, inside


def passes(inside: Polygon, heading_deg: float, width: float, bend_m: float = 0.0) -> list[list[LineString]]:
    """Return passes across the ground, each a list of the parts that obstacles leave of it.

    heading_deg is from grid north. With bend_m, the passes follow a wavy guide line, each parallel to the last.
    """
    spacing = width - OVERLAP_M
    centre = inside.centroid
    turned = affinity.rotate(inside, heading_deg - 90, origin=centre)  # passes now run east
    west, south, east, north = turned.bounds
    x = np.arange(west - 400, east + 400, 8.0)
    wave = bend_m * np.sin(2 * np.pi * (x - centre.x) / 1650.0)
    guide = LineString(np.column_stack([x, np.full(len(x), (south + north) / 2) + wave]))
    reach = (north - south) / 2 + abs(bend_m)
    # The first pass follows one side, the last the other, so that no strip is left standing.
    offsets = np.append(np.arange(spacing / 2, 2 * reach - spacing / 2, spacing), 2 * reach - spacing / 2) - reach
    found = []
    for off in offsets:
        line = guide.offset_curve(off) if bend_m else affinity.translate(guide, 0, off)
        cut = line.intersection(turned)
        parts = [p for p in (cut.geoms if isinstance(cut, MultiLineString) else [cut]) if p.length > 12]
        if parts:
            parts.sort(key=lambda p: p.centroid.x)
            parts = [p if p.coords[0][0] < p.coords[-1][0] else p.reverse() for p in parts]
            found.append([affinity.rotate(p, 90 - heading_deg, origin=centre) for p in parts])
    return found


def steer_round(xy: Any, obstacles: Any) -> Any:
    """Return a pass pushed aside where a pole or lone tree stands too near, eased over some 15 m before and after."""
    xy = xy.copy()
    ahead = unit_courses(xy)
    left = np.column_stack([-ahead[:, 1], ahead[:, 0]])
    for place in obstacles:
        apart = xy - place
        nearest = int(np.argmin(np.hypot(*apart.T)))
        across = float((apart[nearest] * left[nearest]).sum())
        if abs(across) < KEEP_OFF_M and np.hypot(*apart[nearest]) < KEEP_OFF_M + 2:
            along = np.hypot(*(xy - xy[nearest]).T)
            push = (KEEP_OFF_M - abs(across)) * (1 if across >= 0 else -1)
            xy += left * (push * np.exp(-((along / 15.0) ** 2)))[:, None]
    return xy


def _by_ring(drive: Drive, ring: LineString, goal: Any, speed: float) -> None:
    """Go to a place with the header up, round by a ring, the shorter way."""
    a = ring.project(shapely.Point(drive.end))
    b = ring.project(shapely.Point(goal))
    straight = abs(b - a)
    if straight <= ring.length / 2:
        way = substring(ring, a, b)
    elif a < b:
        way = LineString([*substring(ring, a, 0).coords, *substring(ring, ring.length, b).coords])
    else:
        way = LineString([*substring(ring, a, ring.length).coords, *substring(ring, 0, b).coords])
    if way.length > 2:
        drive.add(dense(LineString([tuple(drive.end), *way.coords])), speed)


def harvest(
    drive: Drive,
    outline: Polygon,
    holes: list[Polygon],
    *,
    width: float,
    heading_deg: float,
    n_laps: int,
    speed: float,
    bend_m: float = 0.0,
    obstacles: Any = (),
    share: float = 1.0,
    done: Any = None,
) -> Any:
    """Drive one paddock (or part): laps, then passes from one side to the other. Returns the ground the passes cut.

    share: of the passes, the first ones, that this machine drives. done: ground inside that another machine has cut
    already, together with the laps.
    """
    rings, inside = laps(outline, holes, width, n_laps)
    if done is not None:
        inside = inside.difference(done.buffer(0.5)).buffer(-1).buffer(1, join_style="mitre")
    headland, hole_rings = rings[min(1, n_laps - 1)], rings[n_laps:]
    if done is None:
        for i, ring in enumerate(rings):
            path = ring
            if drive.xy and not drive.just_halted:
                start = ring.project(shapely.Point(drive.end))
                path = LineString([*substring(ring, start, ring.length).coords, *substring(ring, 0, start).coords])
            xy = steer_round(dense(path), obstacles)
            if i:
                _reach(drive, xy, rings[0], hole_rings, inside)
            drive.cut_along(xy, speed - 0.25, 1.0)
    todo = passes(inside, heading_deg, width, bend_m)
    todo = todo[: round(share * len(todo))]
    if todo and not drive.just_halted:
        first, last = (nearest_points(shapely.Point(drive.end), MultiLineString(p))[1] for p in (todo[0], todo[-1]))
        here = shapely.Point(drive.end)
        todo = todo[::-1] if here.distance(last) < here.distance(first) else todo
    standing = inside
    for line in todo:
        forward = drive.just_halted or _near_first(drive.end, line)
        for part in line if forward else [p.reverse() for p in reversed(line)]:
            xy = steer_round(dense(part), obstacles)
            if not drive.just_halted:
                _reach(drive, xy, headland, hole_rings, inside)
            drive.cut_along(xy, speed, cut_share(xy, standing, width))
        swath = MultiLineString(line).buffer(width / 2, cap_style="flat")
        standing = standing.difference(swath)
    return MultiLineString([p for line in todo for p in line]).buffer(width / 2 - OVERLAP_M, cap_style="flat")


def _near_first(here: Any, line: list[LineString]) -> bool:
    start, end = np.array(line[0].coords[0]), np.array(line[-1].coords[-1])
    return bool(np.hypot(*(start - here)) <= np.hypot(*(end - here)))


def _reach(drive: Drive, bar: Any, headland: LineString, hole_rings: list[LineString], inside: Any) -> None:
    """Get to the start of the next cut with the header up: a turn, or round a hole, or along the headland."""
    course = unit_courses(bar[:4])[0]
    goal = bar[0] - drive.header_ahead_m * course
    gap = LineString([drive.end, goal])
    if gap.length > 250 or (gap.length > 45 and not inside.buffer(4).covers(gap)):
        ends = shapely.points([drive.end, goal])
        ring = min([*hole_rings, headland], key=lambda r: float(np.sum(shapely.distance(r, ends))))
        _by_ring(drive, ring, goal, 2.4)
    drive.add(turn(drive.end, drive.course, goal, course), 1.9)


def road_trip(drive: Drive, places: list[tuple[float, float]], speed: float = 6.5) -> None:
    """Drive on the road to the next paddock with the header up."""
    drive.add(dense(LineString([tuple(drive.end), *(land.at(*p) for p in places)])), speed)


def cut_share(xy: Any, inside: Polygon, width: float) -> Any:
    """Return which share of the header meets standing crop, 0 to 1, for places on passes across `inside`."""
    ahead = unit_courses(xy)
    left = np.column_stack([-ahead[:, 1], ahead[:, 0]])
    shapely.prepare(inside)
    met = np.zeros(len(xy))
    for off in np.linspace(-0.45, 0.45, 7) * width:
        x, y = (xy + left * off).T
        met += shapely.contains_xy(inside, x, y)
    return met / 7
