"""Snapping: the nearest corner, fence or asset to a place, with a name for it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from mapper.window.edits import rings_of

if TYPE_CHECKING:
    from mapper.farm.farm import Farm

Point = tuple[float, float]


@dataclass(frozen=True)
class Snap:
    """Where a place snaps to, and what to call it."""

    x: float
    y: float
    words: str


class Snapper:
    """Corners, fences and assets of a farm as arrays, ready to be asked at every move of the pointer."""

    def __init__(self, farm: "Farm | None", leave_out: str = "") -> None:
        starts: list[Point] = []
        ends: list[Point] = []
        self._names: list[str] = []
        self._spots: list[Point] = []
        self._spot_names: list[str] = []
        if farm is not None:
            for row in farm.paddocks.itertuples():
                if row.paddock == leave_out:
                    continue
                for ring in (r for part in rings_of(row.geometry) for r in part):
                    starts += ring
                    ends += [*ring[1:], ring[0]]
                    self._names += [str(row.paddock)] * len(ring)
            for row in farm.assets.itertuples():
                if row.geometry.geom_type == "Point":
                    self._spots.append((row.geometry.x, row.geometry.y))
                    self._spot_names.append(str(row.name or row.kind))
                elif row.geometry.geom_type == "LineString":
                    line = [(x, y) for x, y, *_ in row.geometry.coords]
                    starts += line[:-1]
                    ends += line[1:]
                    self._names += [str(row.name or row.kind)] * (len(line) - 1)
        self._a, self._b = np.array(starts).reshape(-1, 2), np.array(ends).reshape(-1, 2)
        self._s = np.array(self._spots).reshape(-1, 2)

    def find(self, x: float, y: float, within_m: float) -> Snap | None:
        """Return what (x, y) snaps to within a distance: corners first, then assets, then fences."""
        at = np.array([x, y])
        if len(self._a):
            away = np.hypot(*(self._a - at).T)
            k = int(np.argmin(away))
            if away[k] <= within_m:
                return Snap(float(self._a[k, 0]), float(self._a[k, 1]), f"snaps to {self._names[k]} corner")
        if len(self._s):
            away = np.hypot(*(self._s - at).T)
            k = int(np.argmin(away))
            if away[k] <= within_m:
                return Snap(float(self._s[k, 0]), float(self._s[k, 1]), f"snaps to {self._spot_names[k]}")
        if len(self._a):
            along = self._b - self._a
            part = np.clip(((at - self._a) * along).sum(1) / np.maximum((along**2).sum(1), 1e-9), 0, 1)
            foot = self._a + part[:, None] * along
            away = np.hypot(*(foot - at).T)
            k = int(np.argmin(away))
            if away[k] <= within_m:
                return Snap(float(foot[k, 0]), float(foot[k, 1]), f"snaps to {self._names[k]} fence")
        return None


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
