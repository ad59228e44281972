"""Snapping: the nearest corner, thing, fence or right angle to a place, with a name for it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from mapper.window.shapes import Point, right_angle, square_to

if TYPE_CHECKING:
    from mapper.farm.farm import Farm


@dataclass(frozen=True)
class Snap:
    """Where a place snaps to, and what to call it."""

    x: float
    y: float
    words: str


class Snapper:
    """Corners, fences and things of a farm as arrays, ready to be asked at every move of the pointer.

    leave_out: a paddock, or the row of another layer as (layer, row), that is being changed itself.
    """

    def __init__(self, farm: "Farm | None", leave_out: object = "") -> None:
        self._starts: list[Point] = []
        self._ends: list[Point] = []
        self._names: list[tuple[str, str]] = []
        self._spots: list[Point] = []
        self._spot_names: list[str] = []
        if farm is not None:
            for row in farm.paddocks.itertuples():
                if row.paddock != leave_out:
                    self._take(row.geometry, str(row.paddock), "fence")
            for layer, word in (("assets", "edge"), ("breaks_there", "line"), ("neighbours", "boundary")):
                for k, row in enumerate(getattr(farm, layer).itertuples()):
                    if (layer, k) != leave_out:
                        self._take(row.geometry, _called(row, layer), word)
        self._a = np.array(self._starts).reshape(-1, 2)
        self._b = np.array(self._ends).reshape(-1, 2)
        self._s = np.array(self._spots).reshape(-1, 2)

    def _take(self, shape: Any, name: str, word: str) -> None:
        from mapper.window.things import paths_of

        if shape.geom_type == "Point":
            self._spots.append((shape.x, shape.y))
            self._spot_names.append(name)
            return
        paths, closed = paths_of(shape)
        for ring in (r for part in paths for r in part):
            ends = [*ring[1:], ring[0]] if closed else [*ring[1:], ring[-1]]
            self._starts += ring
            self._ends += ends
            self._names += [(name, word if closed else "line")] * len(ring)

    def find(self, x: float, y: float, within_m: float, drawn: Sequence[Point] = ()) -> Snap | None:
        """Return what (x, y) snaps to within a distance: corners first, then things, right angles, fences.

        drawn: the corners set so far. The first of them and right angles to their sides count too.
        """
        at = np.array([x, y])
        if len(drawn) > 2 and np.hypot(*(np.array(drawn[0]) - at)) <= within_m:
            return Snap(*drawn[0], "closes on the first corner")
        corners = [f"{name} corner" for name, _ in self._names]
        for points, names in ((self._a, corners), (self._s, self._spot_names)):
            k, away = _nearest(points, at)
            if away <= within_m:
                return Snap(float(points[k, 0]), float(points[k, 1]), f"snaps to {names[k]}")
        angle = right_angle(drawn, (x, y), within_m)
        fence = self._fence(at, within_m, drawn)
        if fence is not None and "right angle" in fence.words:
            return fence
        if angle is not None:
            return Snap(angle.x, angle.y, angle.words)
        return fence

    def _fence(self, at: Any, within_m: float, drawn: Sequence[Point]) -> Snap | None:
        if not len(self._a):
            return None
        along = self._b - self._a
        part = np.clip(((at - self._a) * along).sum(1) / np.maximum((along**2).sum(1), 1e-9), 0, 1)
        foot = self._a + part[:, None] * along
        k, away = _nearest(foot, at)
        if away > within_m:
            return None
        name, word = self._names[k]
        if drawn:
            a, b = (tuple(map(float, ends[k])) for ends in (self._a, self._b))
            square = square_to(a, b, drawn[-1])  # type: ignore[arg-type]
            if square is not None and _apart(square, drawn[-1]) > within_m >= _apart(square, at):
                return Snap(*square, f"right angle to {name} {word}")
        return Snap(float(foot[k, 0]), float(foot[k, 1]), f"snaps to {name} {word}")


def _apart(a: Any, b: Any) -> float:
    return float(np.hypot(a[0] - b[0], a[1] - b[1]))


def _nearest(points: Any, at: Any) -> tuple[int, float]:
    if not len(points):
        return -1, float("inf")
    away = np.hypot(*(points - at).T)
    k = int(np.argmin(away))
    return k, float(away[k])


def _called(row: Any, layer: str) -> str:
    if layer == "breaks_there":
        return "firebreak"
    return str(row.name or (row.kind.replace("_", " ") if layer == "assets" else "neighbour"))


def bearing_deg(a: Point, b: Point) -> float:
    """Return the grid bearing from a to b, degrees clockwise from grid north."""
    return float(np.degrees(np.arctan2(b[0] - a[0], b[1] - a[1])) % 360)


def ring_area_m2(corners: list[Point]) -> float:
    """Return the area inside the corners (0 for fewer than three)."""
    if len(corners) < 3:
        return 0.0
    x, y = np.array(corners).T
    x, y = x - x[0], y - y[0]
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2)


def squared(corners: list[Point], to: Point) -> Point:
    """Return the place nearest `to` that makes a right angle (or runs straight on) at the last corner."""
    if len(corners) < 2:
        return to
    (ax, ay), (bx, by) = corners[-2], corners[-1]
    along = np.array([bx - ax, by - ay]) / max(np.hypot(bx - ax, by - ay), 1e-9)
    across = np.array([-along[1], along[0]])
    wanted = np.array([to[0] - bx, to[1] - by])
    best = max((along, across), key=lambda d: abs(float(wanted @ d)))
    foot = np.array([bx, by]) + best * float(wanted @ best)
    return float(foot[0]), float(foot[1])
