"""Forecasts of several makes, all made up here, read to one table."""

import numpy as np
import pandas as pd
import pytest

from mapper.farm.crs import Grid, metric_crs
from mapper.farm.errors import FileError
from mapper.files.columns import ColumnEntry, ColumnMap
from mapper.files.forecast import read_forecast

AT = (141.6, -36.2)
GRID = Grid(metric_crs(*AT))
ZONE = "Australia/Melbourne"


def _write(tmp_path, text):
    folder = tmp_path / "Gümüş paddock"
    folder.mkdir(exist_ok=True)
    path = folder / "forecast.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_knots_fahrenheit_and_compass_words(tmp_path):
    path = _write(
        tmp_path,
        "Time (UTC),Temp (F),RH %,Wind (kn),Gust (kn),Wind Dir,Cloud (oktas)\n"
        "2026-04-18T06:00Z,68,40,10,20,NNW,4\n2026-04-18T07:00Z,50,45,5,10,E,8\n",
    )
    table, report = read_forecast(path, None, AT, ZONE)
    assert table["temp_c"].tolist() == pytest.approx([20.0, 10.0])
    assert table["wind_km_h"].tolist() == pytest.approx([18.52, 9.26])  # the knot is 1,852 m an hour by definition
    assert table["wind_from_deg"].tolist() == [337.5, 90.0]
    assert table["cloud_pct"].tolist() == [50.0, 100.0]
    assert table["rain_mm"].isna().all()
    assert any("rain" in n and "not known" in n for n in report.notes)


def test_decimal_comma_and_local_time_in_two_columns(tmp_path):
    path = _write(
        tmp_path,
        "Date;Time;Temperature;Humidity;Wind speed (m/s);Wind direction;Rain\n"
        "18/04/2026;18:00;20,5;40;2,5;350;0,2\n18/04/2026;19:00;19,0;45;3,0;355;0,0\n",
    )
    table, report = read_forecast(path, None, AT, ZONE)
    # Victoria keeps standard time (UTC+10) from the first Sunday of April.
    assert table["time_utc"].iloc[0] == pd.Timestamp("2026-04-18T08:00Z")
    assert table["temp_c"].tolist() == [20.5, 19.0]
    assert table["wind_km_h"].tolist() == pytest.approx([9.0, 10.8])
    assert any(ZONE in n for n in report.notes)


def test_direction_is_turned_by_the_convergence(tmp_path):
    path = _write(tmp_path, "time,temp,rh,wind,winddir\n2026-04-18T08:00+10:00,20,40,10,0\n")
    table, report = read_forecast(path, GRID, AT, ZONE)
    # Convergence on a sphere: tan c = tan(lon - lon0) sin(lat) (Snyder 1987, Map Projections, transverse Mercator).
    convergence = np.degrees(np.arctan(np.tan(np.radians(141.6 - 141.0)) * np.sin(np.radians(-36.2))))
    assert table["wind_from_deg"].iloc[0] == pytest.approx(-convergence % 360, abs=0.01)
    assert any("grid north" in n for n in report.notes)


def test_the_hour_that_stands_twice(tmp_path):
    # Victoria, 5 April 2026: clocks go back from 03:00 to 02:00 (IANA time zone database).
    path = _write(
        tmp_path,
        "time,temp,rh,wind,winddir\n"
        + "".join(f"2026-04-05 {h}:00,20,40,10,0\n" for h in ("00", "01", "02", "02", "03", "04")),
    )
    table, report = read_forecast(path, None, AT, ZONE)
    assert table["time_utc"].diff().dropna().unique().tolist() == [pd.Timedelta("1h")]
    assert table["time_utc"].iloc[0] == pd.Timestamp("2026-04-04T13:00Z")
    assert any("twice" in n for n in report.notes)


def test_gaps_doubles_and_impossible_values_are_said_and_not_filled(tmp_path):
    path = _write(
        tmp_path,
        "time,temp,rh,wind,winddir\n2026-04-18T01:00Z,20,40,10,0\n2026-04-18T00:00Z,20,140,10,0\n"
        "2026-04-18T05:00Z,99,40,,0\n2026-04-18T05:00Z,21,40,,0\n",
    )
    table, report = read_forecast(path, None, AT, ZONE)
    assert len(table) == 3
    assert np.isnan(table["rh_pct"].iloc[0])
    assert np.isnan(table["wind_km_h"].iloc[2])
    assert table["temp_c"].iloc[2] == 21
    said = " ".join((*report.repaired, *report.notes))
    for word in ("order of time", "stood twice", "no weather has", "gaps in time", "not known in 1 of 3"):
        assert word in said


def test_columns_can_be_corrected(tmp_path):
    path = _write(tmp_path, "time,a,b,c,d\n2026-04-18T00:00Z,20,40,10,0\n")
    with pytest.raises(FileError, match="wind speed"):
        read_forecast(path, None, AT, ZONE)
    columns = ColumnMap(
        (
            ColumnEntry("time", "time"), ColumnEntry("temperature", "a", "C"), ColumnEntry("humidity", "b", "%"),
            ColumnEntry("wind", "c", "m/s"), ColumnEntry("wind_from", "d"),
        )
    )  # fmt: skip
    table, _ = read_forecast(path, None, AT, ZONE, columns)
    assert table["wind_km_h"].iloc[0] == pytest.approx(36.0)


@pytest.mark.parametrize("text", ["", "time,temp,rh,wind,winddir\n", "temp,rh,wind,winddir\n20,40,10,0\n"])
def test_empty_and_timeless(tmp_path, text):
    with pytest.raises(FileError, match=r"forecast\.csv"):
        read_forecast(_write(tmp_path, text), None, AT, ZONE)


def test_dates_that_read_either_way_are_said(tmp_path):
    path = _write(tmp_path, "time,temp,rh,wind,winddir\n03/04/2026 18:00,20,40,10,0\n03/04/2026 19:00,20,40,10,0\n")
    table, report = read_forecast(path, None, AT, ZONE)
    assert table["time_utc"].dt.month.tolist() == [4, 4]
    assert any("day first was taken" in n for n in report.notes)
    path = _write(tmp_path, "time,temp,rh,wind,winddir\n04/18/2026 6:00 PM,20,40,10,0\n")
    table, report = read_forecast(path, None, AT, ZONE)
    assert table["time_utc"].iloc[0] == pd.Timestamp("2026-04-18T08:00Z")
    assert not any("day first" in n for n in report.notes)


@pytest.mark.parametrize(
    ("head", "row", "km_h", "temp_c"),
    [
        ("time,wind_kn,temp_C,rh", "2026-04-18T08:00Z,10,20,40", 18.52, 20.0),
        ("time,ws_ms,t2m_K,rh", "2026-04-18T08:00Z,5,293.15,40", 18.0, 20.0),
        ("time,Wind speed (mph),Temp (F),rh", "2026-04-18T08:00Z,10,68,40", 16.09, 20.0),
        ("time,wind_speed_mps,temperature,rh", "2026-04-18T08:00Z,5,20,40", 18.0, 20.0),
        ("time,wind kmh,temp,rh", "2026-04-18T08:00Z,18,293.15,40", 18.0, 20.0),
    ],
)
def test_units_in_names_are_read(tmp_path, head, row, km_h, temp_c):
    """1 kn is 1.852 km/h, 1 mile 1.609344 km, 0 degC 273.15 K: definitions."""
    path = tmp_path / "forecast.csv"
    later = row.replace("08:00", "09:00")
    path.write_text(f"{head},wind_dir\n{row},315\n{later},315\n")
    forecast, _ = read_forecast(path, None, (141.6, -36.2), "Australia/Melbourne")
    assert forecast["wind_km_h"].iloc[0] == pytest.approx(km_h, abs=0.01)
    assert forecast["temp_c"].iloc[0] == pytest.approx(temp_c, abs=0.01)


def test_directions_in_words(tmp_path):
    words = ("North", "south-west", "WNW", "Easterly", "N/E", "variable")
    rows = "".join(f"2026-04-18T{8 + k:02d}:00Z,20,40,10,{w}\n" for k, w in enumerate(words))
    table, _ = read_forecast(_write(tmp_path, "time,temp,rh,wind,winddir\n" + rows), None, AT, ZONE)
    assert table["wind_from_deg"].tolist()[:5] == [0.0, 225.0, 292.5, 90.0, 45.0]
    assert np.isnan(table["wind_from_deg"].iloc[5])


def test_wind_of_another_height_is_turned_to_ten_metres(tmp_path):
    """2 m to 10 m: at the most over 0.651, a neutral profile over ground of 0.1 m roughness (calc)."""
    low = "time,temp,rh,wind_speed_2m (km/h),wind dir\n2026-04-18T08:00Z,20,40,10,0\n"
    table, report = read_forecast(_write(tmp_path, low), None, AT, ZONE)
    assert table["wind_km_h"].iloc[0] == pytest.approx(10 / 0.651, rel=1e-3)
    assert any("wind of 2 m was turned to 10 m" in n for n in report.notes)
    both = "time,temp,rh,wind_speed_2m (km/h),wind_speed_10m (km/h),wind dir\n2026-04-18T08:00Z,20,40,10,14,0\n"
    table, _ = read_forecast(_write(tmp_path, both), None, AT, ZONE)
    assert table["wind_km_h"].iloc[0] == pytest.approx(14)


def test_missing_value_marks_are_said_and_not_weather(tmp_path):
    text = (
        "time,temp,rh,wind (km/h),wind dir,rain\n2026-04-18T08:00Z,20,40,-999,0,-9999\n2026-04-18T09:00Z,20,40,9,0,0\n"
    )
    table, report = read_forecast(_write(tmp_path, text), None, AT, ZONE)
    assert np.isnan(table["wind_km_h"].iloc[0]) and np.isnan(table["rain_mm"].iloc[0])
    assert any("1 values of wind_km_h that no weather has" in r for r in report.repaired)


@pytest.mark.parametrize(
    ("wind", "gust", "km_h", "gust_km_h", "unsaid"),
    [
        ("wind_speed", "wind_gust", 5.0, 8.0, True),
        ("wind_speed (m/s)", "wind_gust", 18.0, 28.8, False),
        ("wind_speed_kmh", "wind_gust", 5.0, 8.0, False),
    ],
)
def test_a_wind_without_a_unit_is_never_a_calm_night(tmp_path, wind, gust, km_h, gust_km_h, unsaid):
    """5 m/s read as 5 km/h would pass as calm; one wind's unit stands for the other's."""
    text = f"time,temperature,humidity,{wind},{gust},wind_direction\n2026-04-18T18:00,20,40,5,8,310\n"
    table, report = read_forecast(_write(tmp_path, text), None, AT, ZONE)
    assert table["wind_km_h"].tolist() == pytest.approx([km_h])
    assert table["gust_km_h"].tolist() == pytest.approx([gust_km_h])
    assert bool(report.unsaid) == unsaid
    assert not unsaid or "3.6 times as strong" in report.unsaid
    said = ColumnMap(tuple(e for e in columns_said(wind, gust)))
    assert not read_forecast(_write(tmp_path, text), None, AT, ZONE, said)[1].unsaid


def columns_said(wind, gust):
    taken = {"time": ("time", ""), "temperature": ("temperature", "C"), "humidity": ("humidity", "%"),
             "wind": (wind, "m/s"), "gust": (gust, "m/s"), "wind_from": ("wind_direction", "")}  # fmt: skip
    return (ColumnEntry(m, c, u) for m, (c, u) in taken.items())


def test_german_cloud_in_eighths(tmp_path):
    text = "Zeit;Temperatur (°C);Rel. Feuchte (%);Wind (kn);Windrichtung (°);Bewölkung (Achtel)\n"
    table, _ = read_forecast(_write(tmp_path, text + "18.04.2026 18:00;20,5;40;5,0;310;4\n"), None, AT, ZONE)
    assert table["cloud_pct"].tolist() == [50.0]
