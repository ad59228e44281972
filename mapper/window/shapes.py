"""Geometry of drawing, without Qt and without a farm: crossings, right angles, shared corners, sides, strips inside."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Point = tuple[float, float]
Vector = np.ndarray[Any, np.dtype[np.float64]]
# Corners nearer than this stand on one post: farms are drawn and surveyed to a few decimetres.
POST_M = 0.5
# Where a fence turns by more than this a new side begins.
TURN_DEG = 30.0


class Angle(NamedTuple):
    """A place that makes a right angle or runs straight on, and its words."""

    x: float
    y: float
    words: str


def crossings(corners: Sequence[Point], closed: bool) -> list[Point]:
    """Return the places (metres) where sides of a line, or of a ring where closed, cross or touch each other."""
    points = np.array([*corners, corners[0]] if closed and len(corners) > 2 else list(corners), float).reshape(-1, 2)
    n = len(points) - 1
    if n < 3:
        return []
    first, second = np.triu_indices(n, k=2)
    if closed:
        apart = ~((first == 0) & (second == n - 1))
        first, second = first[apart], second[apart]
    p, r = points[first], points[first + 1] - points[first]
    q, s = points[second], points[second + 1] - points[second]
    across = r[:, 0] * s[:, 1] - r[:, 1] * s[:, 0]
    off = q - p
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (off[:, 0] * s[:, 1] - off[:, 1] * s[:, 0]) / across
        beside = (off[:, 0] * r[:, 1] - off[:, 1] * r[:, 0]) / across
    hit = (across != 0) & (along >= 0) & (along <= 1) & (beside >= 0) & (beside <= 1)
    return [(float(x), float(y)) for x, y in p[hit] + along[hit, None] * r[hit]]


def right_angle(corners: Sequence[Point], to: Point, within_m: float) -> Angle | None:
    """Return the place near `to` square to the side before, straight on from it, or square to the first side."""
    if len(corners) < 2:
        return None
    last = np.array(corners[-1])
    side = _unit(np.array(corners[-1]) - np.array(corners[-2]))
    across = np.array([-side[1], side[0]])
    found = [(last, across, "right angle to the side before"), (last, side, "straight on from the side before")]
    if len(corners) > 2:
        start, first = np.array(corners[0]), _unit(np.array(corners[1]) - np.array(corners[0]))
        square = np.array([-first[1], first[0]])
        meet = _meeting(last, across, start, square)
        if meet is not None and np.hypot(*(meet - np.array(to))) <= within_m:
            return Angle(float(meet[0]), float(meet[1]), "right angles here and at the first corner")
        found.append((start, square, "right angle at the first corner"))
    best: Angle | None = None
    nearest = within_m
    for origin, way, words in found:
        foot = origin + way * float(way @ (np.array(to) - origin))
        away = float(np.hypot(*(foot - np.array(to))))
        if away <= nearest and np.hypot(*(foot - last)) > within_m:
            best, nearest = Angle(float(foot[0]), float(foot[1]), words), away
    return best


def square_to(a: Point, b: Point, start: Point) -> Point | None:
    """Return the foot of the perpendicular from a start on the side a to b; None where it lies beyond the side."""
    side = np.array(b) - np.array(a)
    part = float(side @ (np.array(start) - np.array(a))) / max(float(side @ side), 1e-12)
    if not 0 <= part <= 1:
        return None
    foot = np.array(a) + part * side
    return float(foot[0]), float(foot[1])


def ahead(start: Point, length_m: float, bearing_deg: float) -> Point:
    """Return the place so many metres from a start on a grid bearing."""
    turn = np.radians(bearing_deg)
    return float(start[0] + length_m * np.sin(turn)), float(start[1] + length_m * np.cos(turn))


def follow_corner(ring: Sequence[Point], at: Point, to: Point, sides: Sequence[Point]) -> list[Point]:
    """Return a neighbour's ring after a corner at `at` has moved to `to`.

    A corner of its own on the same post moves along. Where its fence only runs past, and a side of the moved corner
    (its far ends are `sides`) lies on that fence, it gets a corner there, unless the corner slid along the fence.
    """
    points = np.array(ring)
    away = np.hypot(*(points - at).T)
    k = int(np.argmin(away))
    if away[k] <= POST_M:
        return [*ring[:k], to, *ring[k + 1 :]]
    for k, (a, b) in enumerate(zip(ring, [*ring[1:], ring[0]], strict=True)):
        if _off(at, a, b) > POST_M or _off(to, a, b) <= POST_M:
            continue
        if any(_off(ahead_of(at, side), a, b) <= POST_M for side in sides):
            return [*ring[: k + 1], to, *ring[k + 1 :]]
    return list(ring)


def ahead_of(at: Point, side: Point, step_m: float = 2.0) -> Point:
    """Return a place a step from `at` towards another, at most half way."""
    x, y = side[0] - at[0], side[1] - at[1]
    length = max((x * x + y * y) ** 0.5, 1e-9)
    part = min(step_m / length, 0.5)
    return at[0] + part * x, at[1] + part * y


def shares_corner(ring: Sequence[Point], before: Point, at: Point, after: Point) -> int | None:
    """Return which corner of a ring stands on the post `at` between the same two posts, else None."""
    for k, corner in enumerate(ring):
        ends = {0: ring[k - 1], 1: ring[(k + 1) % len(ring)]}
        same = any(_near(ends[i], before) and _near(ends[1 - i], after) for i in ends)
        if _near(corner, at) and same:
            return k
    return None


def side_of(ring: Sequence[Point], k: int) -> list[Point]:
    """Return the whole side that the stretch from corner k to the next belongs to: it ends where the fence turns."""
    n = len(ring)

    def bends(corner: int) -> bool:
        a, b, c = (np.array(ring[i % n]) for i in (corner - 1, corner, corner + 1))
        u, v = _unit(b - a), _unit(c - b)
        return bool(np.degrees(np.arccos(np.clip(u @ v, -1, 1))) > TURN_DEG)

    first, last = k, k + 1
    while not bends(first) and last - first < n:
        first -= 1
    while not bends(last) and last - first < n:
        last += 1
    return [ring[i % n] for i in range(first, last + 1)]


def strips_inside(shape: "BaseGeometry", width_m: float, side: Sequence[Point] = ()) -> "list[BaseGeometry]":
    """Return the middle lines of a strip of a width just inside an area: along one side of it, or all the way round.

    A line stays half the width from every fence. Empty where the area is too narrow for the strip.
    """
    from shapely import LineString

    inner = shape.buffer(-width_m / 2, join_style="mitre")
    parts = [p for p in getattr(inner, "geoms", [inner]) if not p.is_empty]
    if not side:
        return [LineString(ring.coords) for p in parts for ring in (p.exterior, *p.interiors)]
    found = inner.boundary.intersection(LineString(side).buffer(width_m / 2 + 0.05, cap_style="square"))
    lines = _joined(found)
    return [max(lines, key=lambda line: line.length)] if lines else []


def _joined(lines: "BaseGeometry") -> "list[BaseGeometry]":
    from shapely import line_merge

    merged = line_merge(lines) if lines.geom_type == "MultiLineString" else lines
    return [g for g in getattr(merged, "geoms", [merged]) if g.geom_type == "LineString" and not g.is_empty]


def _unit(v: Vector) -> Vector:
    return v / max(float(np.hypot(*v)), 1e-9)


def _meeting(p: Vector, r: Vector, q: Vector, s: Vector) -> Vector | None:
    across = float(r[0] * s[1] - r[1] * s[0])
    if abs(across) < 0.1:
        return None
    off = q - p
    made: Vector = p + r * float(off[0] * s[1] - off[1] * s[0]) / across
    return made


def _near(a: Point, b: Point) -> bool:
    return bool(np.hypot(a[0] - b[0], a[1] - b[1]) <= POST_M)


def _off(at: Point, a: Point, b: Point) -> float:
    """Distance from a place to the stretch between two others."""
    side = np.array(b) - np.array(a)
    part = np.clip(side @ (np.array(at) - np.array(a)) / max(float(side @ side), 1e-12), 0, 1)
    return float(np.hypot(*(np.array(a) + part * side - np.array(at))))
