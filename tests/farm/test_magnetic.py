from datetime import date

import pytest

from mapper.farm.crs import Grid, metric_crs
from mapper.farm.magnetic import norths


def there(lon, lat, day):
    grid = Grid(metric_crs(lon, lat))
    e, n = grid.from_lonlat(lon, lat)
    found = norths(grid, float(e), float(n), day)
    return found, None if found.magnetic_deg is None else found.magnetic_deg - found.true_deg


@pytest.mark.parametrize(
    ("lon", "lat", "day", "declination"),
    [
        # Test values of the World Magnetic Model 2020 report, date 2020.0, height 0 (NOAA/NCEI and BGS; from memory).
        (0.0, 80.0, date(2020, 1, 1), -1.28),
        (120.0, 0.0, date(2020, 1, 1), 0.16),
    ],
)
def test_declination_as_published(lon, lat, day, declination):
    assert there(lon, lat, day)[1] == pytest.approx(declination, abs=0.02)


def test_grid_true_and_magnetic_are_told_apart():
    # West of its zone's middle in the south, true north lies east of grid north... the sign is that of the grid.
    grid = Grid(metric_crs(140.0, -36.0))
    e, n = grid.from_lonlat(139.0, -36.0)
    found = norths(grid, float(e), float(n), date(2026, 4, 18))
    assert found.true_deg == pytest.approx(-grid.convergence_deg(float(e), float(n)))
    assert "2026" in found.words and "WMM" in found.words and "of grid north" in found.words


def test_no_model_no_guess():
    found, _ = there(141.6, -36.2, date(2031, 1, 1))
    assert found.magnetic_deg is None and "not known for 2031" in found.words
