"""Forecasts in JSON of several shapes, all made up here. Knot 1.852 km/h and mile 1.609344 km by definition."""

import json
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from mapper.farm.errors import FileError
from mapper.files.forecast import read_forecast, read_issue

AT, ZONE = (141.6, -36.2), "Australia/Melbourne"
HOURS = ["2026-04-18T18:00", "2026-04-18T19:00"]


def read(tmp_path, data, zone=ZONE):
    path = tmp_path / "forecast.json"
    path.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
    return read_forecast(path, None, AT, zone)


def test_an_object_of_arrays_with_its_units_and_zone(tmp_path):
    table, report = read(
        tmp_path,
        {
            "timezone": "Australia/Adelaide",
            "issued_at": "2026-04-18T04:00:00Z",
            "hourly_units": {"temp": "°F", "wind_speed_10m": "kn", "wind_speed_80m": "kn", "rh": "%"},
            "hourly": {
                "time": HOURS, "temp": [68, 50], "rh": [40, 45], "wind_speed_80m": [30, 30],
                "wind_speed_10m": [10, 5], "wind_direction_10m": [310, 320], "rain_probability": [80, 80],
                "precipitation": [0, None],
            },
        },
    )  # fmt: skip
    # Adelaide is UTC+9:30 in April 2026 after the fifth.
    assert table["time_utc"].iloc[0] == pd.Timestamp("2026-04-18T08:30Z")
    assert table["temp_c"].tolist() == pytest.approx([20, 10])
    assert table["wind_km_h"].tolist() == pytest.approx([18.52, 9.26])
    assert table["rain_mm"].iloc[0] == 0
    assert np.isnan(table["rain_mm"].iloc[1])
    assert report.issued_at == datetime(2026, 4, 18, 4, tzinfo=UTC)
    assert any("Australia/Adelaide" in n for n in report.notes)


def test_an_array_of_objects_nested_and_in_kelvin(tmp_path):
    hours = [
        {"dt": 1776499200, "main": {"temp": 293.15, "temp_max": 299, "humidity": 40},
         "wind": {"speed": 5.0, "deg": 310, "gust": 8.0}, "clouds": {"all": 40}},
        {"dt": 1776502800, "main": {"temp": 292.15, "temp_max": 299, "humidity": 45},
         "wind": {"speed": 4.0, "deg": 320}, "clouds": {"all": 50}},
    ]  # fmt: skip
    table, report = read(tmp_path, {"list": hours})
    assert table["time_utc"].iloc[0] == pd.Timestamp("2026-04-18T08:00Z")
    assert table["temp_c"].tolist() == pytest.approx([20, 19])
    # No unit is named; kelvin speaks for metres a second, and it is said to be a guess.
    assert table["wind_km_h"].tolist() == pytest.approx([18.0, 14.4])
    assert any("m/s (guess" in n for n in report.notes)
    assert np.isnan(table["gust_km_h"].iloc[1])
    assert table["wind_from_deg"].tolist() == [310, 320]


def test_a_bare_array_and_days_in_a_list(tmp_path):
    def hour(at, temp):
        return {"time": at, "temp_c": temp, "humidity": 40, "wind_kph": 12, "wind_degree": 300, "feels_like_c": 1}

    bare, _ = read(tmp_path, [hour("2026-04-18 18:00", 20), hour("2026-04-18 19:00", 19)])
    assert bare["wind_km_h"].tolist() == [12, 12]
    days = {
        "days": [
            {"day": 1, "hours": [hour("2026-04-18 23:00", 20)]},
            {"day": 2, "hours": [hour("2026-04-19 00:00", 9)]},
        ]
    }
    both, _ = read(tmp_path, days)
    assert both["temp_c"].tolist() == [20, 9]


def test_rain_of_the_next_hour_belongs_to_the_line_after(tmp_path):
    def step(at, rain):
        return {"time": at, "data": {"now": {"air_temperature": 20, "wind_speed": 3, "wind_from_direction": 310,
                "relative_humidity": 40}, "next_1_hours": {"precipitation_amount": rain}}}  # fmt: skip

    data = {"meta": {"units": {"wind_speed": "m/s", "precipitation_amount": "mm"}},
            "series": [step("2026-04-18T08:00Z", 0.4), step("2026-04-18T09:00Z", 0.0)]}  # fmt: skip
    table, _ = read(tmp_path, data)
    assert table["wind_km_h"].tolist() == pytest.approx([10.8, 10.8])
    assert np.isnan(table["rain_mm"].iloc[0])
    assert table["rain_mm"].iloc[1] == pytest.approx(0.4)


def test_each_value_in_an_object_of_its_own_and_rows_under_names(tmp_path):
    own, _ = read(
        tmp_path,
        {
            "validTime": ["2026-04-18T08:00Z", "2026-04-18T09:00Z"],
            "windSpeed": {"unit": "kn", "values": [10, 5]}, "windDirection": {"unit": "deg", "values": [310, 311]},
            "temperature": {"unit": "C", "values": [20, 19]}, "relativeHumidity": {"unit": "%", "values": [40, 41]},
        },
    )  # fmt: skip
    assert own["wind_km_h"].tolist() == pytest.approx([18.52, 9.26])
    rows = {"columns": ["valid", "temp", "rh", "sknt", "drct"],
            "data": [["2026-04-18 08:00", 20, 40, 10, 310], ["2026-04-18 09:00", 19, 41, 5, 311]]}  # fmt: skip
    assert read(tmp_path, rows)[0]["wind_km_h"].tolist() == pytest.approx([18.52, 9.26])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "no JSON that can be read"),
        ('{"a": 1}', "no table of hours"),
        ("[]", "no table of hours"),
        ('[{"time": "2026-04-18T08:00Z", "temp": 20}]', "no column holds the wind speed"),
        ('{"hourly": {"time": [], "temp": []}}', "no table of hours"),
    ],
)
def test_what_is_no_forecast_is_refused_in_a_sentence(tmp_path, text, words):
    with pytest.raises(FileError, match=words):
        read(tmp_path, text)


def test_an_issue_is_kept_by_name_and_time(tmp_path):
    path = tmp_path / "monday.json"
    path.write_text(
        json.dumps(
            {"issue_time": "2026-04-18T04:10:00+10:00", "time": HOURS, "temp": [20, 19], "rh": [40, 41],
             "wind_kmh": [9, 9], "wind_dir": [310, 311]}
        ),
        encoding="utf-8",
    )  # fmt: skip
    issue, _ = read_issue(path, None, AT, ZONE)
    assert issue.issued_at == datetime(2026, 4, 17, 18, 10, tzinfo=UTC)
    assert issue.words(ZONE) == "monday.json, issued 18 Apr 04:10"
