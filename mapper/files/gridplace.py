"""Where in a grid of weather the farm lies: the cell, by a regular grid or by the cells' own positions."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from pyproj import CRS, Geod

from mapper.farm.crs import transformer
from mapper.farm.errors import FileError
from mapper.farm.ranged import Array

_GEOD = Geod(ellps="GRS80")
# A place may lie this share of a cell outside the outermost cell.
_OUTSIDE = 0.5


@dataclass(frozen=True)
class Place:
    """The cell nearest to the farm, and how far its middle is, in words."""

    row: int
    column: int
    words: str

    def values(self, data: Any) -> Array:
        """Return the cell of every band, NaN where there is none; scales are not applied."""
        from rasterio.windows import Window

        read = data.read(window=Window(self.column, self.row, 1, 1), masked=True)[:, 0, 0]
        return np.asarray(np.ma.filled(read.astype(float), np.nan))


def place_in(data: Any, lonlat: tuple[float, float], path: Path) -> Place:
    """Return the cell of an open grid nearest to longitude, latitude. Raises FileError where it does not cover it."""
    by_cells = data.tags(ns="GEOLOCATION")
    if data.transform.is_identity and by_cells:
        return _by_cells(by_cells, lonlat, path)
    if data.transform.is_identity:
        raise FileError("the grid does not say where it lies", str(path), "Save it with longitude and latitude")
    lon, lat = lonlat
    crs = CRS.from_wkt(data.crs.to_wkt()) if data.crs is not None else CRS.from_epsg(4326)
    turned = transformer("EPSG:4326", crs)
    a, b, c, d, e, f = tuple(data.transform)[:6]
    turn, start = np.array([[a, b], [d, e]]), np.array([c, f])
    if a * e == b * d:  # cells without a size: half a file
        raise FileError("the grid does not say where it lies", str(path), "Save it again, whole")
    for wrapped in (lon, lon + 360.0, lon - 360.0) if crs.is_geographic else (lon,):
        x, y = (wrapped, lat) if crs.is_geographic else turned.transform(lon, lat)
        column, row = np.linalg.solve(turn, [x - start[0], y - start[1]])
        inside = -_OUTSIDE <= column <= data.width + _OUTSIDE and -_OUTSIDE <= row <= data.height + _OUTSIDE
        if np.isfinite(column) and np.isfinite(row) and inside:
            k = int(np.clip(np.floor(column), 0, data.width - 1)), int(np.clip(np.floor(row), 0, data.height - 1))
            mx, my = start + turn @ np.add(k, 0.5)
            cell = (mx, my) if crs.is_geographic else transformer(crs, "EPSG:4326").transform(mx, my)
            return Place(k[1], k[0], _words(lonlat, (float(cell[0]), float(cell[1]))))
    raise FileError("the grid does not cover the farm", str(path), f"Farm: longitude {lon:.3f}, latitude {lat:.3f}")


def _by_cells(tags: dict[str, str], lonlat: tuple[float, float], path: Path) -> Place:
    """By the longitude and latitude that stand for each cell."""
    import rasterio

    with rasterio.open(tags["X_DATASET"]) as east, rasterio.open(tags["Y_DATASET"]) as north:
        lon, lat = (d.read(1, masked=True).astype(float).filled(np.nan) for d in (east, north))
    turn = (lon - lonlat[0] + 180.0) % 360.0 - 180.0
    away = np.hypot(turn * np.cos(np.radians(lonlat[1])), lat - lonlat[1])
    row, column = (int(k) for k in np.unravel_index(np.nanargmin(away), away.shape))
    step = np.nanmax([np.nanmax(np.abs(np.diff(lat, axis=a))) if lat.shape[a] > 1 else 0.0 for a in (0, 1)])
    if away[row, column] > 2.0 * max(step, 0.01):
        raise FileError(
            "the grid does not cover the farm",
            str(path),
            f"Farm: longitude {lonlat[0]:.3f}, latitude {lonlat[1]:.3f}",
        )
    return Place(row, column, _words(lonlat, (float(lon[row, column]), float(lat[row, column]))))


def _words(farm: tuple[float, float], cell: tuple[float, float]) -> str:
    _, _, away_m = _GEOD.inv(*farm, *cell)
    return f"weather is that of the grid's nearest cell, whose middle is {away_m / 1000:.1f} km from the farm."
