"""Where a compass points on the farm's grid: the World Magnetic Model, with the day it holds for."""

from dataclasses import dataclass
from datetime import date

from mapper.farm.crs import Grid

# The models in hand, first and last year; each is good for five years (NOAA/NCEI and British Geological Survey).
_FIRST, _END = 2010, 2030


@dataclass(frozen=True)
class Norths:
    """Three norths at one place, degrees clockwise from grid north; magnetic is None where no model covers the day.

    true_deg is the grid convergence with its sign turned; model names the magnetic model, day is when it holds.
    """

    true_deg: float
    magnetic_deg: float | None
    model: str
    day: date

    @property
    def words(self) -> str:
        """One sentence for the sheet."""
        said = f"True north is {_side(self.true_deg)} of grid north"
        if self.magnetic_deg is None:
            return f"{said}; magnetic north is not known for {self.day:%Y}."
        return f"{said}; magnetic north {_side(self.magnetic_deg)} ({self.model}, {self.day:%b %Y})."


def norths(grid: Grid, east: float, north: float, day: date) -> Norths:
    """Return true and magnetic north at a place of the farm's grid, metres, at sea level.

    Declination is that of the World Magnetic Model (WMM; pygeomag); good to about 0.3 degrees away from the poles, and
    local iron is not in it.
    """
    from pygeomag import GeoMag

    turn = grid.convergence_deg(east, north)
    if not _FIRST <= day.year < _END:
        return Norths(-turn, None, "", day)
    model = GeoMag(base_year=day.year)
    lon, lat = grid.to_lonlat(east, north)
    at = day.year + (day.timetuple().tm_yday - 1) / 365.25
    found = model.calculate(glat=float(lat), glon=float(lon), alt=0.0, time=at)
    return Norths(-turn, None if found.in_blackout_zone else float(found.d) - turn, str(model.model), day)


def _side(angle_deg: float) -> str:
    return f"{abs(angle_deg):.1f}° {'east' if angle_deg >= 0 else 'west'}"
