"""Grids against published survey points.

Sources: GDA Technical Manual v2.3 p46 and Geoscience Australia, Vincenty page (second-hand); EPSG registry for codes;
"calc": pyproj, a check that nothing swaps axes or zones.
"""

import math

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from pyproj import CRS, Proj

from mapper.farm.crs import Grid, metric_crs, transformer


def dms(d, m, s):
    return math.copysign(abs(d) + m / 60 + s / 3600, d)


# Zone 55, lat, lon, easting, northing.
POINTS = {
    "Flinders Peak": (dms(-37, 57, 3.72030), dms(144, 25, 29.52440), 273741.297, 5796489.777),
    "Buninyong": (dms(-37, 39, 10.15611), dms(143, 55, 35.38393), 228854.052, 5828259.038),
    "Smeaton": (dms(-37, 17, 49.73137), dms(143, 59, 3.16717), 232681.853, 5867898.031),
    "Bellarine": (dms(-38, 9, 5.22718), dms(144, 36, 43.67715), 290769.028, 5774686.632),
    "Arthurs Seat": (dms(-38, 21, 13.12687), dms(144, 57, 2.55485), 320936.377, 5752958.469),
}


@pytest.mark.parametrize("name", POINTS)
def test_survey_points(name):
    lat, lon, east, north = POINTS[name]
    got = transformer("EPSG:7844", "EPSG:7855").transform(lon, lat)
    assert got == pytest.approx((east, north), abs=2e-3)
    # WGS 84 degrees count as GDA2020: the same numbers at the farm's door.
    grid = Grid(metric_crs(145.0, -37.0))
    assert [float(v) for v in grid.from_lonlat(lon, lat)] == pytest.approx([east, north], abs=2e-3)
    assert [float(v) for v in grid.to_lonlat(east, north)] == pytest.approx([lon, lat], abs=1e-8)


def test_flinders_peak_to_buninyong():
    """54972.271 m, 306 52 05.37 and back 127 10 25.07; on the plane 54992.279 m, grid bearing 305 17 21.18."""
    lat1, lon1, e1, n1 = POINTS["Flinders Peak"]
    lat2, lon2, e2, n2 = POINTS["Buninyong"]
    line = Geodesic(6378137.0, 1 / 298.257222101).Inverse(lat1, lon1, lat2, lon2)
    assert line["s12"] == pytest.approx(54972.271, abs=1e-3)
    true = line["azi1"] % 360
    assert true == pytest.approx(dms(306, 52, 5.37), abs=3e-6)
    assert (line["azi2"] + 180) % 360 == pytest.approx(dms(127, 10, 25.07), abs=3e-6)
    grid_bearing = math.degrees(math.atan2(e2 - e1, n2 - n1)) % 360
    assert math.hypot(e2 - e1, n2 - n1) == pytest.approx(54992.279, abs=2e-3)
    assert grid_bearing == pytest.approx(dms(305, 17, 21.18), abs=3e-6)
    # The sign: grid bearing = true bearing - convergence, to the few seconds that the line bends on the plane.
    convergence = Grid(metric_crs(145.0, -37.0)).convergence_deg(e1, n1)
    assert grid_bearing == pytest.approx(true - convergence, abs=0.01)


def test_convergence():
    """Manual: 1.58435 and 1.87867 degrees at Flinders Peak and Buninyong, magnitudes; the sign is ours.

    West of the central meridian in the south it is positive: a true bearing is larger than a grid bearing.
    """
    grid = Grid(metric_crs(145.0, -37.0))
    for name, expected in (("Flinders Peak", 1.58435), ("Buninyong", 1.87867)):
        _, _, east, north = POINTS[name]
        assert grid.convergence_deg(east, north) == pytest.approx(expected, abs=5e-5)


def test_convergence_by_walking_north():
    """A step due north on the ellipsoid has the grid bearing minus convergence (no source: geometry)."""
    grid = Grid(metric_crs(141.6, -36.2))
    e0, n0 = (float(v) for v in grid.from_lonlat(141.6, -36.2))
    e1, n1 = (float(v) for v in grid.from_lonlat(141.6, -36.19))
    bearing_of_true_north = math.degrees(math.atan2(e1 - e0, n1 - n0))
    assert bearing_of_true_north == pytest.approx(-grid.convergence_deg(e0, n0), abs=1e-3)


# Grain towns, GDA2020: calc.
TOWNS = [
    ("Perth", -31.9535, 115.8575, 7850, 392027.169, 6464148.693),
    ("Merredin", -31.48, 118.2792, 7850, 621508.835, 6516491.629),
    ("Geraldton", -28.7774, 114.6144, 7850, 267110.288, 6814341.242),
    ("Esperance", -33.8613, 121.8914, 7851, 397454.655, 6252669.828),
    ("Port Lincoln", -34.7263, 135.86, 7853, 578737.883, 6156971.903),
    ("Clare", -33.8331, 138.6105, 7854, 278879.674, 6253781.197),
    ("Horsham", -36.711, 142.199, 7854, 607086.949, 5936516.703),
    ("Wagga Wagga", -35.1082, 147.3598, 7855, 532789.141, 6114898.649),
    ("Dalby", -27.1817, 151.265, 7856, 328123.766, 6992250.533),
]


@pytest.mark.parametrize(("town", "lat", "lon", "epsg", "east", "north"), TOWNS)
def test_towns(town, lat, lon, epsg, east, north):
    crs = metric_crs(lon, lat)
    assert crs.to_epsg() == epsg
    assert [float(v) for v in Grid(crs).from_lonlat(lon, lat)] == pytest.approx([east, north], abs=2e-3)


def test_zone_codes():
    """EPSG registry: GDA2020 / MGA zone z is 7800 + z, central meridian 6 z - 183; zone limits in Australia."""
    for zone in range(49, 57):
        crs = metric_crs(6 * zone - 183, -30.0)
        assert crs.to_epsg() == 7800 + zone
        assert crs.name == f"GDA2020 / MGA zone {zone}"
    edges = [(119.99, 7850), (120.01, 7851), (137.99, 7853), (138.01, 7854), (143.99, 7854), (144.01, 7855)]
    assert [metric_crs(lon, -33).to_epsg() for lon, _ in edges] == [code for _, code in edges]


def test_the_datum_shift():
    """GDA94 to GDA2020 at Flinders Peak: 1.557 m toward 19.8 degrees (calc; the manual says about 1.8 m north-east)."""
    lat, lon, _, _ = POINTS["Flinders Peak"]
    east94, north94 = transformer("EPSG:4283", "EPSG:28355").transform(lon, lat)
    moved = np.array(transformer("EPSG:28355", "EPSG:7855").transform(east94, north94)) - [east94, north94]
    assert math.hypot(*moved) == pytest.approx(1.557, abs=0.01)
    true = math.degrees(math.atan2(*moved)) + Grid(metric_crs(145.0, -37.0)).convergence_deg(east94, north94)
    assert true == pytest.approx(19.8, abs=0.3)


def test_codes_of_the_older_datum():
    """EPSG registry: GDA94 / MGA zone z is 28300 + z for 48 to 58; zones 46, 47 and 59 are 6736, 6737 and 6738."""
    codes = {z: 28300 + z for z in range(48, 59)} | {46: 6736, 47: 6737, 59: 6738}
    for zone, code in codes.items():
        assert CRS.from_epsg(code).name == f"GDA94 / MGA zone {zone}"
        assert CRS.from_epsg(7800 + zone).name == f"GDA2020 / MGA zone {zone}"


def test_distances_on_the_grid_against_geographiclib():
    """Plane distance is geodesic distance times the mean point scale (Simpson), within 1 mm in 10 km."""
    geodesic = Geodesic(6378137.0, 1 / 298.257222101)
    for _, lat, lon, epsg, east, north in TOWNS:
        crs = CRS.from_epsg(epsg)
        out = geodesic.Direct(lat, lon, 57.0, 10_000.0)
        e, n = (float(v) for v in Grid(crs).from_lonlat(out["lon2"], out["lat2"]))
        half = geodesic.Direct(lat, lon, 57.0, 5_000.0)
        factors = [
            Proj(crs).get_factors(x, y).meridional_scale
            for x, y in ((lon, lat), (half["lon2"], half["lat2"]), (out["lon2"], out["lat2"]))
        ]
        mean = (factors[0] + 4 * factors[1] + factors[2]) / 6
        assert math.hypot(e - east, n - north) == pytest.approx(10_000.0 * mean, abs=2e-3)


def test_point_scale_at_the_manuals_points():
    """Manual: scale factors 1.00023056 at Flinders Peak, 1.00050567 at Buninyong, 0.99999489 at Arthurs Seat."""
    scales = {"Flinders Peak": 1.00023056, "Buninyong": 1.00050567, "Smeaton": 1.00048035, "Bellarine": 1.00013919,
              "Arthurs Seat": 0.99999489}  # fmt: skip
    for name, expected in scales.items():
        lat, lon, _, _ = POINTS[name]
        got = Proj(CRS.from_epsg(7855)).get_factors(lon, lat).meridional_scale
        assert got == pytest.approx(expected, abs=1e-8)
