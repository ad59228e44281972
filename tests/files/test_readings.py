"""Readings of a hand-held meter, and the weather that a project keeps. All made up here."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from mapper.farm.errors import FileError
from mapper.farm.issues import ForecastIssue
from mapper.files.project import open_project, save_project
from mapper.files.readings import read_readings
from tests.farms import evening_forecast, small_farm

AT, ZONE = (141.6, -36.2), "Australia/Melbourne"


def written(tmp_path, text):
    path = tmp_path / "meter.csv"
    path.write_text(text, encoding="utf-8")
    return read_readings(path, None, AT, ZONE)


def test_a_meter_at_two_metres_unless_it_says_otherwise(tmp_path):
    table, report = written(
        tmp_path, "time,temp,rh,wind (kn),wind dir\n2026-04-18 18:05,19,42,5,NW\n2026-04-18 17:40,20,40,6,NW\n"
    )
    assert table["time_utc"].iloc[0] == pd.Timestamp("2026-04-18T07:40Z")
    assert table["wind_km_h"].tolist() == pytest.approx([11.112, 9.26])
    assert table["height_m"].tolist() == [2, 2]
    assert any("2 m was taken" in n for n in report.notes)
    table, _ = written(tmp_path, "time,wind (km/h),height (m),averaging (min),by\n2026-04-18 18:05,9,1.5,2,the boss\n")
    assert table[["height_m", "averaging_min", "by"]].iloc[0].tolist() == [1.5, 2, "the boss"]
    assert np.isnan(table["temp_c"].iloc[0])


def test_no_reading_in_it(tmp_path):
    with pytest.raises(FileError, match="no column holds wind or temperature"):
        written(tmp_path, "time,mood\n2026-04-18 18:05,1\n2026-04-18 18:06,2\n")


def test_a_project_keeps_issues_readings_and_the_last_soaking(tmp_path):
    readings, _ = written(tmp_path, "time,temp,wind (km/h)\n2026-04-18 18:05,19,9\n")
    old = ForecastIssue("friday.csv", evening_forecast(9.0), datetime(2026, 4, 17, 6, tzinfo=UTC))
    new = ForecastIssue("saturday.csv", evening_forecast(11.0), None, datetime(2026, 4, 18, 1, tzinfo=UTC))
    farm = small_farm(readings=readings, last_soak=datetime(2026, 3, 1, tzinfo=UTC)).with_issue(new).with_issue(old)
    save_project(farm, tmp_path / "farm.gpkg")
    back, _ = open_project(tmp_path / "farm.gpkg")
    assert [i.source for i in back.forecasts] == ["saturday.csv", "friday.csv"]
    assert back.issue is back.forecasts[1]
    assert back.issue.issued_at == old.issued_at
    assert back.forecasts[0].read_at == new.read_at
    pd.testing.assert_frame_equal(back.forecast, farm.forecast)
    pd.testing.assert_frame_equal(back.readings, farm.readings)
    assert back.last_soak == farm.last_soak
    # Typed or corrected by hand: kept, and named so.
    typed = back.with_(forecast=evening_forecast(12.0))
    save_project(typed, tmp_path / "typed.gpkg")
    again, _ = open_project(tmp_path / "typed.gpkg")
    assert again.issue.source == "typed in"
    assert len(again.forecasts) == 2
    assert again.forecast["wind_km_h"].iloc[0] == 12


def test_a_farm_toml_takes_several_forecasts_and_the_one_issued_last(tmp_path):
    from mapper.files.farmtoml import read_farm

    (tmp_path / "b.geojson").write_text(
        '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"paddock": "One"}, "geometry": '
        '{"type": "Polygon", "coordinates": [[[141.6, -36.2], [141.61, -36.2], [141.61, -36.19], [141.6, -36.2]]]}}]}'
    )
    for name, issued, wind in (("a", "2026-04-18T06:00Z", 9), ("b", "2026-04-17T06:00Z", 12)):
        (tmp_path / f"{name}.csv").write_text(
            f"issued,time,temp,rh,wind (km/h),wind dir\n{issued},2026-04-18T08:00Z,20,40,{wind},NW\n"
            f"{issued},2026-04-18T09:00Z,20,40,{wind},NW\n"
        )
    (tmp_path / "farm.toml").write_text(
        'boundaries = "b.geojson"\nforecast = ["a.csv", "b.csv"]\nlast_soak = 2026-03-28\nzone = "Australia/Sydney"\n'
    )
    farm, reports = read_farm(tmp_path / "farm.toml")
    assert farm.issue.source == "a.csv"
    assert farm.forecast["wind_km_h"].iloc[0] == 9
    assert len(farm.forecasts) == 2
    assert farm.last_soak == datetime(2026, 3, 28, 1, tzinfo=UTC)
    assert any("of 2 forecasts a.csv, issued 18 Apr 16:00 is used." in n for r in reports for n in r.notes)


def test_hours_between_lines_are_filled_in_only_where_the_farm_asks(tmp_path):
    from mapper.files.farmtoml import read_farm

    (tmp_path / "b.geojson").write_text(
        '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"paddock": "One"}, "geometry": '
        '{"type": "Polygon", "coordinates": [[[141.6, -36.2], [141.61, -36.2], [141.61, -36.19], [141.6, -36.2]]]}}]}'
    )
    (tmp_path / "f.csv").write_text(
        "time,temp,rh,wind (km/h),wind dir,rain\n"
        + "".join(f"2026-04-18T{h:02d}:00Z,20,40,{h},NW,0\n" for h in (0, 3, 6, 9))
    )
    plain = 'boundaries = "b.geojson"\nforecast = "f.csv"\n'
    (tmp_path / "farm.toml").write_text(plain)
    assert len(read_farm(tmp_path / "farm.toml")[0].forecast) == 4
    (tmp_path / "farm.toml").write_text(plain + "fill_between_h = 3\n")
    farm, reports = read_farm(tmp_path / "farm.toml")
    assert farm.forecast["wind_km_h"].tolist() == pytest.approx(list(range(10)))
    assert farm.issue.source == "f.csv, 6 hours between filled in"
    assert any("6 hours between the lines of f.csv were filled in" in n for r in reports for n in r.notes)
