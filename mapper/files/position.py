"""Where a log's fixes lie: which columns, in which grid, what was dropped or swapped; all in farm metres after."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pyproj import CRS

from mapper.farm.crs import Grid, metric_crs, transformer
from mapper.farm.errors import CrsError, FileError
from mapper.farm.ranged import Array
from mapper.files.columns import ColumnMap
from mapper.files.container import given_crs
from mapper.files.degrees import MINUTES, degrees_of
from mapper.files.logtable import LogTable
from mapper.files.numbers import numbers
from mapper.files.report import CrsKnown
from mapper.files.shapes import inside_zone
from mapper.files.unitguess import in_unit, thinned

# A fix farther than this from the middle of the log is a receiver's fault.
FAR_M = 100_000.0


@dataclass(frozen=True)
class Positions:
    """keep: rows with a position; x, y of those in metres on grid; lon, lat of the middle in degrees."""

    keep: NDArray[np.bool_]
    x: Array
    y: Array
    grid: Grid
    lon: float
    lat: float
    crs: str
    crs_known: CrsKnown
    columns: ColumnMap
    repaired: tuple[str, ...]
    notes: tuple[str, ...]


def _degrees(table: pd.DataFrame, columns: ColumnMap) -> tuple[tuple[Array, Array], list[str]]:
    """Return longitude and latitude in decimal degrees, and how they are written where that is not plain."""

    def one(meaning: str, side: str, most: float, minutes: bool = False) -> tuple[Array, str]:
        entry, letters = columns.get(meaning), columns.get(side)
        assert entry is not None
        if entry.unit == "rad":
            return in_unit(numbers(table[entry.column]), "rad", "angle"), "radians"
        return degrees_of(table[entry.column], table[letters.column] if letters else None, most, entry.column, minutes)

    lon, how_lon = one("longitude", "east_west", 180.0)
    lat, how_lat = one("latitude", "north_south", 90.0, how_lon == MINUTES)
    if how_lat == MINUTES != how_lon:
        lon, how_lon = one("longitude", "east_west", 180.0, True)
    said = dict.fromkeys(h for h in (how_lat, how_lon) if h)
    return (lon, lat), [f"positions are written as {how}." for how in said]


def read_positions(log: LogTable, columns: ColumnMap, crs: Any, grid: Grid | None, where: str) -> Positions:
    """Return the fixes' positions on the farm's grid (grid None: that of the place).

    Raises FileError where the log names no position, CrsError where its grid is not known.
    """
    repaired: list[str] = []
    notes: list[str] = []
    east, north = columns.get("longitude"), columns.get("latitude")
    degrees = east is not None and north is not None
    if not degrees:
        east, north = columns.get("easting"), columns.get("northing")
    if east is None or north is None:
        raise FileError(
            "no columns hold longitude and latitude, or easting and northing",
            where,
            "Name them in a column file and give it with --columns",
        )
    if degrees:
        (a, b), how = _degrees(log.table, columns)
        notes += how
    else:
        a, b = (in_unit(numbers(log.table[e.column]), e.unit, "length") for e in (east, north))
    source, known = _source(log, columns, crs, degrees, a, b, where)
    keep = np.isfinite(a) & np.isfinite(b) & ~((a == 0) & (b == 0))
    if not keep.any():
        raise FileError("no row holds a position", where, "Check the position columns")
    if source.is_geographic and np.median(np.abs(thinned(b[keep]))) > 90 >= np.median(np.abs(thinned(a[keep]))):
        a, b = b, a
        columns = _swapped(columns, east.meaning, north.meaning)
        repaired.append("latitude and longitude stood in each other's column; they were swapped back.")
    if source.is_geographic:
        a, b, turned = _sensible(a, b, keep, grid)
        repaired += turned
    dropped = int((~keep).sum())
    if dropped:
        repaired.append(f"{dropped} rows without a position were left out.")
    if grid is None:
        if source.is_projected and not _imperial(source):
            grid = Grid(source) if _metric_here(source, a[keep], b[keep]) else None
        if grid is None:
            lon, lat = transformer(source, "EPSG:4326").transform(np.median(a[keep]), np.median(b[keep]))
            grid = Grid(metric_crs(float(lon), float(lat)))
    mid_a, mid_b = (float(np.median(thinned(v[keep]))) for v in (a, b))
    lon, lat = transformer(source, "EPSG:4326").transform(mid_a, mid_b)
    if not (np.isfinite(lon) and np.isfinite(lat) and inside_zone(grid, float(lon), float(lat))):
        found = f"longitude {lon:.3f}, latitude {lat:.3f}" if np.isfinite(lon) else "no place on Earth"
        raise CrsError(
            f"it lies at {found}, outside the zone of the farm's grid, {grid.name}",
            where,
            "Check which columns hold its position, and which grid it is in",
        )
    x, y = transformer(source, grid.crs).transform(a[keep], b[keep])
    good = np.isfinite(x) & np.isfinite(y)
    if not good.any():
        raise CrsError(f"no position falls on {grid.name}", where, "Check longitude, latitude and the grid given")
    good &= np.hypot(x - np.median(thinned(x[good])), y - np.median(thinned(y[good]))) < FAR_M
    if not good.all():
        repaired.append(f"{int((~good).sum())} fixes far from all others were left out.")
    keep[np.flatnonzero(keep)[~good]] = False
    x, y = np.asarray(x[good], float), np.asarray(y[good], float)
    lon, lat = grid.to_lonlat(np.median(thinned(x)), np.median(thinned(y)))
    return Positions(
        keep, x, y, grid, float(lon), float(lat), str(source.name), known, columns, tuple(repaired), tuple(notes)
    )


def _sensible(a: Array, b: Array, keep: NDArray[np.bool_], grid: Grid | None) -> tuple[Array, Array, list[str]]:
    """Return longitudes and latitudes that lie where the farm lies, where they do so as radians, swapped or signed."""
    lon, lat = (float(np.median(thinned(v[keep]))) for v in (a, b))
    if abs(lon) <= np.pi and abs(lat) <= np.pi / 2:
        # Read as degrees this is the sea off Africa.
        return np.degrees(a), np.degrees(b), ["positions are in radians; they were turned to degrees."]
    if grid is None or inside_zone(grid, lon, lat):
        return a, b, []
    if abs(lon) <= 90 and inside_zone(grid, lat, lon):
        return b, a, ["latitude and longitude stood in each other's column; they were swapped back."]
    for turn_lon, turn_lat in ((1, -1), (-1, 1), (-1, -1)):
        if inside_zone(grid, turn_lon * lon, turn_lat * lat):
            said = "positions have no sign for south or west; it was put as the farm's grid lies."
            return turn_lon * a, turn_lat * b, [said]
    return a, b, []


def _imperial(crs: CRS) -> bool:
    return any(axis.unit_name not in ("metre", "meter") for axis in crs.axis_info)


def _metric_here(crs: CRS, x: Array, y: Array) -> bool:
    """Return whether a file's own grid is the metric grid of its place."""
    lon, lat = transformer(crs, "EPSG:4326").transform(np.median(x), np.median(y))
    return bool(metric_crs(float(lon), float(lat)) == crs)


def _swapped(columns: ColumnMap, east: str, north: str) -> ColumnMap:
    turn = {east: north, north: east}
    return replace(columns, entries=tuple(replace(e, meaning=turn.get(e.meaning, e.meaning)) for e in columns.entries))


def _source(
    log: LogTable, columns: ColumnMap, crs: Any, degrees: bool, a: Array, b: Array, where: str
) -> tuple[CRS, CrsKnown]:
    if log.crs is not None and (columns.get("longitude") or columns.get("easting")) is not None:
        return log.crs, log.crs_known
    told = given_crs(crs) or given_crs(columns.crs)
    looks_degrees = np.nanmedian(np.abs(thinned(a))) <= 180 and np.nanmedian(np.abs(thinned(b))) <= 180
    if told is not None and told.is_geographic == bool(looks_degrees):
        return told, "given"
    if looks_degrees:
        # A receiver's degrees are WGS 84 or within a metre or two of it; --crs says better.
        return CRS.from_epsg(4326), "guessed"
    if told is not None:
        raise CrsError(f"{told.name} is in degrees, the columns hold metres", where, "Give the projected grid as --crs")
    said = "degrees" if degrees else "metres of an unnamed grid"
    raise CrsError(f"the columns hold {said} that no grid is given for", where, "Give it with --crs, say EPSG:7854")
