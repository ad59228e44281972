"""Where the map looks: the one link between the farm's metres and a painter's pixels."""

import math
from dataclasses import dataclass, replace

import numpy as np

from mapper.farm.ranged import Array

SCREEN_PX_PER_MM = 96.0 / 25.4


@dataclass(frozen=True)
class View:
    """A look at the map.

    centre: easting, northing in the middle, metres. px_per_m: scale in the painter's units. size: width, height in the
    painter's units. turn_deg: the map is turned clockwise by this, so grid north stands turn_deg right of up. ratio:
    device pixels per painter unit (fineness only). px_per_mm: size of marks and type, painter units per mm of paper.
    """

    centre: tuple[float, float]
    px_per_m: float
    size: tuple[float, float]
    turn_deg: float = 0.0
    ratio: float = 1.0
    px_per_mm: float = SCREEN_PX_PER_MM

    def __post_init__(self) -> None:
        if not (self.px_per_m > 0 and self.px_per_mm > 0 and self.ratio > 0 and min(self.size) > 0):
            raise ValueError("a view needs a positive scale, size and ratio")

    @property
    def _turn(self) -> tuple[float, float]:
        turn = math.radians(self.turn_deg)
        return math.cos(turn), math.sin(turn)

    @property
    def scale(self) -> float:
        """The scale's number: 5000 for 1:5,000 at the size that marks are drawn for."""
        return 1000.0 * self.px_per_mm / self.px_per_m

    def to_px(self, x_m: Array, y_m: Array) -> tuple[Array, Array]:
        """Return painter x, y for easting, northing (arrays of one shape)."""
        cos, sin = self._turn
        east = (np.asarray(x_m, dtype=float) - self.centre[0]) * self.px_per_m
        north = (np.asarray(y_m, dtype=float) - self.centre[1]) * self.px_per_m
        return self.size[0] / 2 + east * cos + north * sin, self.size[1] / 2 + east * sin - north * cos

    def from_px(self, x_px: Array, y_px: Array) -> tuple[Array, Array]:
        """Return easting, northing in metres for painter x, y."""
        cos, sin = self._turn
        right = (np.asarray(x_px, dtype=float) - self.size[0] / 2) / self.px_per_m
        down = (np.asarray(y_px, dtype=float) - self.size[1] / 2) / self.px_per_m
        return self.centre[0] + right * cos + down * sin, self.centre[1] + right * sin - down * cos

    def points(self, xy_m: Array) -> Array:
        """Return painter positions (n, 2) for positions (n, 2) in metres."""
        return np.column_stack(self.to_px(xy_m[:, 0], xy_m[:, 1]))

    def bounds(self, margin_px: float = 0.0) -> tuple[float, float, float, float]:
        """Return west, south, east, north of the box that covers all the view shows."""
        w, h = self.size
        x, y = self.from_px(
            np.array([-margin_px, w + margin_px, w + margin_px, -margin_px]),
            np.array([-margin_px, -margin_px, h + margin_px, h + margin_px]),
        )
        return float(x.min()), float(y.min()), float(x.max()), float(y.max())

    def screen_bearing(self, grid_deg: float) -> float:
        """Return a grid bearing as degrees clockwise from the top of the picture."""
        return (grid_deg + self.turn_deg) % 360.0

    def mm(self, mm: float) -> float:
        """Return painter units for a length on paper."""
        return mm * self.px_per_mm

    def moved(self, right_px: float, down_px: float) -> "View":
        """Return the view after the picture was dragged by so many painter units."""
        x, y = self.from_px(np.array(self.size[0] / 2 - right_px), np.array(self.size[1] / 2 - down_px))
        return replace(self, centre=(float(x), float(y)))

    def zoomed(self, factor: float, at_px: tuple[float, float]) -> "View":
        """Return the view enlarged by factor, the place under at_px kept where it is."""
        x, y = self.from_px(np.array(at_px[0]), np.array(at_px[1]))
        larger = replace(self, px_per_m=self.px_per_m * factor)
        x_px, y_px = larger.to_px(x, y)
        return larger.moved(at_px[0] - float(x_px), at_px[1] - float(y_px))

    def affine_from(self, older: "View") -> tuple[float, float, float, float, float, float]:
        """Return m11, m12, m21, m22, dx, dy (Qt's order) that lays a picture of an older view into this one."""
        x, y = self.to_px(*older.from_px(np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])))
        return (
            float(x[1] - x[0]), float(y[1] - y[0]), float(x[2] - x[0]), float(y[2] - y[0]), float(x[0]), float(y[0]),
        )  # fmt: skip


def fit_view(
    bounds: tuple[float, float, float, float],
    size: tuple[float, float],
    margin_px: float = 0.0,
    turn_deg: float = 0.0,
    ratio: float = 1.0,
    px_per_mm: float = SCREEN_PX_PER_MM,
) -> View:
    """Return the closest view that shows the whole box west, south, east, north."""
    west, south, east, north = bounds
    centre = ((west + east) / 2, (south + north) / 2)
    flat = View(centre, 1.0, size, turn_deg, ratio, px_per_mm)
    x, y = flat.to_px(np.array([west, east, east, west]), np.array([south, south, north, north]))
    free = (max(size[0] - 2 * margin_px, 1.0), max(size[1] - 2 * margin_px, 1.0))
    px_per_m = min(free[0] / max(float(np.ptp(x)), 1.0), free[1] / max(float(np.ptp(y)), 1.0))
    return replace(flat, px_per_m=px_per_m)
