"""Shapes made fit for a layer: valid, flat, of the right kind, on the farm's grid; every change said."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS

from mapper.farm.crs import Grid, metric_crs, transformer
from mapper.farm.errors import CrsError

# Farther than this from the middle of the others a shape is not of the same farm.
_FAR_M = 100_000.0
# A closed line whose ends meet within this counts as a paddock's boundary walked round.
_CLOSE_M = 0.5
# Corners nearer than a millimetre are one corner.
_SAME_POINT_M = 0.001


@dataclass
class Mended:
    """Shapes with their row in the file, and what was done to them."""

    shapes: NDArray[Any]
    row: NDArray[np.int64]
    repaired: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def keep(self, which: NDArray[np.bool_]) -> None:
        """Drop the shapes that are not marked."""
        self.shapes, self.row = self.shapes[which], self.row[which]


def _count(n: int, word: str) -> str:
    return f"{n} {word}" if n == 1 else f"{n} {word}s"


def drop_empty(mended: Mended) -> None:
    """Leave out features without a shape or with a position that is no number."""
    has = ~(shapely.is_missing(mended.shapes) | shapely.is_empty(mended.shapes))
    finite = np.isfinite(shapely.bounds(mended.shapes)).all(axis=1)
    if (~has).any():
        mended.refused.append(f"{_count(int((~has).sum()), 'feature')} without a shape.")
    if (has & ~finite).any():
        mended.refused.append(f"{_count(int((has & ~finite).sum()), 'feature')} with a position that is no number.")
    mended.keep(has & finite)
    mended.shapes = shapely.force_2d(mended.shapes)


def unswap(mended: Mended, crs: CRS, grid: Grid | None) -> None:
    """Turn latitude, longitude into longitude, latitude where the numbers leave no doubt."""
    if not crs.is_geographic or len(mended.shapes) == 0:
        return
    x0, y0, x1, y1 = shapely.total_bounds(mended.shapes)
    beyond = max(abs(y0), abs(y1)) > 90 >= max(abs(x0), abs(x1))
    if not beyond and grid is not None and max(abs(x0), abs(x1)) <= 90:
        as_is, swapped = (inside_zone(grid, lon, lat) for lon, lat in ((x0, y0), (y0, x0)))
        beyond = swapped and not as_is
    if beyond:
        mended.shapes = shapely.transform(mended.shapes, lambda c: c[:, ::-1])
        mended.repaired.append("latitude stood before longitude; the two were swapped back.")


def inside_zone(grid: Grid, lon: float, lat: float) -> bool:
    """Return whether a place in degrees lies in a grid's zone, with some room round it."""
    area = grid.crs.area_of_use
    # Farms on a zone's rim keep one grid; three degrees beyond it are another farm.
    return area is None or (area.west - 3 <= lon <= area.east + 3 and area.south <= lat <= area.north)


def to_grid(mended: Mended, crs: CRS, grid: Grid | None, where: str) -> Grid:
    """Bring shapes onto the farm's grid (picked from their place where there is none yet).

    Shapes far from the middle of the others are refused. Raises CrsError where none lands on the grid.
    """
    if grid is None:
        x, y = _middle(mended.shapes)
        lon, lat = transformer(crs, "EPSG:4326").transform(x, y)
        grid = Grid(metric_crs(float(lon), float(lat)))
    elif not inside_zone(grid, *(float(v) for v in transformer(crs, "EPSG:4326").transform(*_middle(mended.shapes)))):
        raise CrsError(f"it lies outside the zone of the farm's grid, {grid.name}", where, "Check which grid it is in")
    turn = transformer(crs, grid.crs)
    on_grid = shapely.transform(mended.shapes, lambda c: np.column_stack(turn.transform(c[:, 0], c[:, 1])))
    bounds = shapely.bounds(on_grid)
    finite = np.isfinite(bounds).all(axis=1)
    x, y = (bounds[:, 0] + bounds[:, 2]) / 2, (bounds[:, 1] + bounds[:, 3]) / 2
    if not finite.any():
        raise CrsError(f"no position falls on {grid.name}", where, "Check which grid the file is in; give it as --crs")
    off = np.hypot(x - np.median(x[finite]), y - np.median(y[finite]))
    near = finite & (off <= _FAR_M)
    if (~near).any():
        mended.refused.append(
            f"{_count(int((~near).sum()), 'feature')} over {_FAR_M / 1000:g} km from the rest: another farm or zone."
        )
    mended.shapes = on_grid
    mended.keep(near)
    geographic = crs.geodetic_crs.name if crs.geodetic_crs is not None else crs.name
    own = grid.crs.geodetic_crs.name if grid.crs.geodetic_crs is not None else ""
    if geographic != own:
        mended.notes.append(f"positions turned from {geographic} to {own}.")
    return grid


def _middle(shapes: NDArray[Any]) -> tuple[float, float]:
    bounds = shapely.bounds(shapes)
    return float(np.median(bounds[:, [0, 2]])), float(np.median(bounds[:, [1, 3]]))


def close_lines(mended: Mended) -> None:
    """Take lines that end where they begin as areas, and say so."""
    types = shapely.get_type_id(mended.shapes)
    is_line = (types == 1) | (types == 5)
    lines = np.full(len(types), None, object)
    lines[is_line] = shapely.line_merge(mended.shapes[is_line])
    ends = shapely.distance(shapely.get_point(lines, 0), shapely.get_point(lines, -1))
    closed = is_line & (shapely.get_type_id(lines) == 1) & (ends <= _CLOSE_M) & (shapely.get_num_points(lines) >= 4)
    if closed.any():
        areas = [_ring(line) for line in lines[closed]]
        mended.shapes = mended.shapes.copy()
        mended.shapes[closed] = areas
        mended.notes.append(f"{_count(int(closed.sum()), 'closed line')} taken as a boundary.")


def _ring(line: Any) -> Any:
    corners = shapely.get_coordinates(line)
    corners[-1] = corners[0]
    return shapely.polygons(corners)


def make_valid(mended: Mended, names: list[str]) -> None:
    """Mend areas whose outline crosses itself and say by how many hectares they changed. names: one per shape."""
    area = shapely.get_dimensions(mended.shapes) == 2
    bad = area & ~shapely.is_valid(mended.shapes)
    shapes = mended.shapes.copy()
    for i in np.flatnonzero(bad):
        why = shapely.is_valid_reason(shapes[i]).split("[")[0].lower()
        before = shapely.area(shapes[i])
        shapes[i] = areas_of(shapely.make_valid(shapes[i]))
        change = (shapely.area(shapes[i]) - before) / 10_000
        mended.repaired.append(f"{names[i]}: {why} mended, {change:+.2f} ha.")
    shapes[area] = shapely.set_precision(shapes[area], _SAME_POINT_M)
    lost = area & (shapely.area(shapes) <= 0)
    mended.shapes = shapes
    if lost.any():
        mended.refused.append(f"{_count(int(lost.sum()), 'area')} of no size.")
        mended.keep(~lost)


def areas_of(shape: Any) -> Any:
    """Return the areas of a shape, lines and points left out."""
    parts = [p for p in shapely.get_parts(shapely.get_parts([shape])) if p.geom_type == "Polygon"]
    return parts[0] if len(parts) == 1 else shapely.multipolygons(parts)
