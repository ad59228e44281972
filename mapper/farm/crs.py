"""The one place that picks a metric grid and builds transformers.

Inside the program everything is metres in one projected grid per farm; longitude and latitude exist only at the door.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from pyproj import CRS, Proj, Transformer
from pyproj.aoi import AreaOfInterest
from pyproj.database import query_utm_crs_info

from mapper.farm.errors import CrsError
from mapper.farm.ranged import Array

# Standard MGA2020: EPSG:7846 is zone 46 ... EPSG:7859 is zone 59 (GDA2020 technical manual).
_MGA_FIRST, _MGA_LAST = 46, 59
# Mainland Australia, Tasmania and the near islands; elsewhere WGS 84 / UTM.
_AUSTRALIA = (108.0, -45.0, 156.0, -9.0)


def metric_crs(lon: float, lat: float) -> CRS:
    """Return the metric grid for a place: MGA2020 in Australia, WGS 84 / UTM elsewhere.

    Parameters are degrees, longitude first. Raises CrsError where the pair is not a place on Earth.
    """
    if not (np.isfinite(lon) and np.isfinite(lat) and -180 <= lon <= 180 and -80 <= lat <= 84):
        raise CrsError(
            f"longitude {lon:g}, latitude {lat:g} is not a farm's position",
            todo="Check that longitude comes first and that the file names its grid",
        )
    west, south, east, north = _AUSTRALIA
    zone = int((lon + 180) // 6) + 1
    if west <= lon <= east and south <= lat <= north and _MGA_FIRST <= zone <= _MGA_LAST:
        return CRS.from_epsg(7800 + zone)
    found = query_utm_crs_info("WGS 84", AreaOfInterest(lon, lat, lon, lat))
    if not found:
        raise CrsError(f"no metric grid covers longitude {lon:g}, latitude {lat:g}")
    return CRS.from_epsg(int(found[0].code))


@lru_cache(maxsize=64)
def _transformer(source_wkt: str, target_wkt: str) -> Transformer:
    return Transformer.from_crs(CRS(source_wkt), CRS(target_wkt), always_xy=True)


def transformer(source: Any, target: Any) -> Transformer:
    """Return a transformer between two CRS (anything pyproj accepts), x or longitude first."""
    return _transformer(CRS.from_user_input(source).to_wkt(), CRS.from_user_input(target).to_wkt())


@dataclass(frozen=True)
class Grid:
    """A farm's metric grid. crs is projected in metres, axes east and north."""

    crs: CRS

    def __post_init__(self) -> None:
        if not self.crs.is_projected:
            raise CrsError(f"{self.crs.name} is not a metric grid", todo="Give a projected grid, for example EPSG:7854")

    def from_lonlat(self, lon: Any, lat: Any) -> tuple[Array, Array]:
        """Return easting, northing in metres for WGS 84 degrees (scalars or arrays of one shape)."""
        e, n = transformer("EPSG:4326", self.crs).transform(lon, lat)
        if not np.all(np.isfinite(e) | ~np.isfinite(np.asarray(lon, dtype=float))):
            raise CrsError(
                f"a position does not fall on {self.crs.name}", todo="Check longitude, latitude and their order"
            )
        return e, n

    def to_lonlat(self, e: Any, n: Any) -> tuple[Array, Array]:
        """Return WGS 84 longitude, latitude in degrees for easting, northing in metres."""
        lon, lat = transformer(self.crs, "EPSG:4326").transform(e, n)
        return lon, lat

    def convergence_deg(self, e: float, n: float) -> float:
        """Return grid convergence in degrees: grid bearing = true bearing - convergence."""
        lon, lat = self.to_lonlat(e, n)
        return float(Proj(self.crs).get_factors(float(lon), float(lat)).meridian_convergence)

    @property
    def name(self) -> str:
        """The grid's name for paper, for example "GDA2020 / MGA zone 54"."""
        return str(self.crs.name)
