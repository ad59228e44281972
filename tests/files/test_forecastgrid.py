"""Gridded forecasts at the farm's position.

Conversions by definition: 0 degC = 273.15 K, 1 m/s = 3.6 km/h. Wind blowing to the east and north by (3, -4) m/s blows
from 323.13 degrees at 5 m/s (3-4-5 triangle).
"""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from mapper.farm.errors import FileError
from mapper.files.forecast import is_forecast, read_forecast
from tests.files.gridfiles import write_grib, write_netcdf

# The cell whose middle lies at 142, -36 holds the plain values of gridfiles.
AT = (142.1, -36.2)
ZONE = "Australia/Melbourne"
AIR = {
    "u10": ("eastward_wind", "m s-1", 3.0), "v10": ("northward_wind", "m s-1", -4.0),
    "t2m": ("air_temperature", "K", 293.15), "d2m": ("dew_point_temperature", "K", 283.15),
    "tp": ("precipitation_amount", "kg m-2", [0.0, 0.4, 1.0]), "tcc": ("cloud_area_fraction", "1", 0.5),
}  # fmt: skip


def test_netcdf_parts_kelvin_and_dew_point(tmp_path):
    table, report = read_forecast(write_netcdf(tmp_path / "Gümüş.nc", AIR), None, AT, ZONE)
    assert table["time_utc"].iloc[0] == pd.Timestamp("2026-04-18T00:00Z")
    assert table["time_utc"].diff().dropna().eq(pd.Timedelta("1h")).all()
    np.testing.assert_allclose(table["wind_km_h"], 18.0, rtol=1e-6)
    np.testing.assert_allclose(table["wind_from_deg"], 323.13, atol=0.01)
    np.testing.assert_allclose(table["temp_c"], 20.0, atol=1e-4)
    # Magnus at 20 and 10 degC: 52.5 % (tables of humidity give 52 to 53).
    np.testing.assert_allclose(table["rh_pct"], 52.5, atol=0.3)
    np.testing.assert_allclose(table["rain_mm"], [0.0, 0.4, 1.0], atol=1e-6)
    np.testing.assert_allclose(table["cloud_pct"], 50.0, atol=1e-4)
    assert report.issued_at == datetime(2026, 4, 18, tzinfo=UTC)
    assert any("nearest cell" in n and "km from the farm" in n for n in report.notes)


def test_netcdf_rain_as_a_rate_in_metres_and_as_a_sum(tmp_path):
    rates = {**AIR, "tp": ("precipitation_flux", "kg m-2 s-1", 1.0 / 3600.0)}
    table, _ = read_forecast(write_netcdf(tmp_path / "a.nc", rates), None, AT, ZONE)
    np.testing.assert_allclose(table["rain_mm"], 1.0, rtol=1e-5)
    summed = {**AIR, "tp": ("precipitation_amount", "m", [0.001, 0.001, 0.003, 0.003, 0.0045])}
    table, _ = read_forecast(write_netcdf(tmp_path / "b.nc", summed, hours=range(5)), None, AT, ZONE)
    np.testing.assert_allclose(table["rain_mm"].iloc[1:], [0, 2, 0, 1.5], atol=1e-4)


def test_netcdf_longitudes_to_360_and_north_first(tmp_path):
    path = write_netcdf(tmp_path / "w.nc", AIR, lon=(253, 254, 255, 256, 257), lat=(49, 48, 47, 46))
    table, _ = read_forecast(path, None, (-105.1, 47.8), "America/Denver")
    np.testing.assert_allclose(table["temp_c"], 20.0, atol=1e-4)


def test_a_grid_elsewhere_is_refused(tmp_path):
    with pytest.raises(FileError, match="does not cover the farm"):
        read_forecast(write_netcdf(tmp_path / "a.nc", AIR), None, (20.0, 50.0), ZONE)


def test_a_cut_grid_is_refused_in_a_sentence(tmp_path):
    path = write_netcdf(tmp_path / "a.nc", AIR)
    path.write_bytes(path.read_bytes()[:40])
    with pytest.raises(FileError):
        read_forecast(path, None, AT, ZONE)


@pytest.mark.parametrize("share", [0.05, 0.3, 0.6, 0.9])
def test_half_a_classic_netcdf_is_refused_in_a_sentence(tmp_path, share):
    """Cut behind its header such a file still opens, with positions of nought."""
    from scipy.io import netcdf_file

    path = tmp_path / "a.nc"
    with netcdf_file(str(path), "w") as f:
        f.Conventions = b"CF-1.6"
        axes = {"time": "hours since 2026-04-18 00:00:00", "latitude": "degrees_north", "longitude": "degrees_east"}
        for name, values in zip(axes, (range(3), (-35.0, -36.0, -37.0), (141.0, 142.0, 143.0)), strict=True):
            f.createDimension(name, 3)
            axis = f.createVariable(name, "d", (name,))
            axis[:], axis.units, axis.standard_name = values, axes[name].encode(), name.encode()
        f.createVariable("t2m", "f", tuple(axes))[:] = 290.0
    path.write_bytes(path.read_bytes()[: int(share * path.stat().st_size)])
    with pytest.raises(FileError):
        read_forecast(path, None, AT, ZONE)


def test_grib(tmp_path):
    path = write_grib(
        tmp_path / "a.grb2",
        {
            "TMP": [20.0, 19.0, 18.0], "RH": [40.0, 45.0, 50.0], "UGRD": [3.0] * 3, "VGRD": [-4.0] * 3,
            "UGRD100": [9.0] * 3, "GUST": [10.0] * 3, "TCDC": [25.0] * 3,
        },
    )  # fmt: skip
    table, report = read_forecast(path, None, AT, ZONE)
    assert table["time_utc"].iloc[0] == pd.Timestamp("2026-04-18T01:00Z")
    np.testing.assert_allclose(table["temp_c"], [20, 19, 18], atol=0.02)
    np.testing.assert_allclose(table["rh_pct"], [40, 45, 50], atol=0.1)
    np.testing.assert_allclose(table["wind_km_h"], 18.0, rtol=1e-3)
    np.testing.assert_allclose(table["wind_from_deg"], 323.13, atol=0.1)
    np.testing.assert_allclose(table["gust_km_h"], 36.0, rtol=1e-3)
    np.testing.assert_allclose(table["cloud_pct"], 25.0, atol=0.1)
    assert table["rain_mm"].isna().all()
    assert report.issued_at == datetime(2026, 4, 18, tzinfo=UTC)


def test_grib_rain_summed_since_the_start(tmp_path):
    """GRIB names sums by their hours, APCP01, APCP02 ...: each line is what fell since the line before."""
    from mapper.files.forecastgrid import Value, _wide

    values = [
        Value("precipitation", "kg/(m^2)", np.nan, 3600.0 * h, total, h) for h, total in ((1, 0.5), (2, 0.5), (3, 2.0))
    ]
    assert _wide(values)["precipitation (mm)"].tolist() == pytest.approx([0.5, 0.0, 1.5])
    hourly = [v._replace(over_h=1.0) for v in values]
    assert _wide(hourly)["precipitation (mm)"].tolist() == pytest.approx([0.5, 0.5, 2.0])


def test_cells_with_positions_of_their_own_and_two_heights(tmp_path):
    """A grid whose cells carry longitude and latitude (a weather model's own), values at 2 and 10 m."""
    from scipy.io import netcdf_file

    path = tmp_path / "model.nc"
    with netcdf_file(str(path), "w") as f:
        for name, size in (("time", 2), ("height", 2), ("y", 3), ("x", 4)):
            f.createDimension(name, size)
        for name, unit, values in (("time", "hours since 2026-04-18 00:00:00", [0, 1]), ("height", "m", [2, 10])):
            v = f.createVariable(name, "d", (name,))
            v.units = unit
            v[:] = values
        east, north = np.meshgrid([141.0, 141.5, 142.0, 142.5], [-36.5, -36.0, -35.5])
        for name, unit, values in (("lat", "degrees_north", north + 0.05 * east - 7.1), ("lon", "degrees_east", east)):
            v = f.createVariable(name, "d", ("y", "x"))
            v.units = unit
            v[:] = values
        for name, unit, low, high in (
            ("air_temperature", "K", 293.15, 290.0), ("relative_humidity", "%", 40.0, 50.0),
            ("wind_speed", "m s-1", 3.0, 5.0), ("wind_from_direction", "degree", 300.0, 310.0),
        ):  # fmt: skip
            v = f.createVariable(name, "f4", ("time", "height", "y", "x"))
            v.units, v.coordinates = unit, "lat lon"
            v[:] = np.array([low, high])[None, :, None, None] + 0.1 * np.arange(4)
    table, _ = read_forecast(path, None, (142.0, -36.0), ZONE)
    np.testing.assert_allclose(table["temp_c"], 20.2, atol=1e-3)
    np.testing.assert_allclose(table["wind_km_h"], 5.2 * 3.6, rtol=1e-5)
    np.testing.assert_allclose(table["wind_from_deg"], 310.2, rtol=1e-5)
    with pytest.raises(FileError, match="does not cover the farm"):
        read_forecast(path, None, (150.0, -30.0), ZONE)


def test_what_looks_like_a_forecast(tmp_path):
    assert is_forecast(write_netcdf(tmp_path / "a.nc", AIR))
    for name, text, looks in (
        ("a.csv", "time,temp,rh,wind,wind dir\n2026-04-18T08:00Z,20,40,9,NW\n2026-04-18T09:00Z,20,40,9,NW\n", True),
        ("b.csv", "time,lon,lat,speed\n1,141.6,-36.2,2\n2,141.6,-36.2,2\n", False),
        ("c.json", '[{"time": "2026-04-18T08:00Z", "temp": 20, "wind_speed": 3}]', True),
        ("d.json", '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"a": 1}}]}', False),
        ("e.txt", "nothing", False),
    ):
        (tmp_path / name).write_text(text)
        assert is_forecast(tmp_path / name) == looks
