"""A farm.toml and the files it names, all made up here."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely.geometry import LineString, box

from mapper.farm.errors import CrsError, FileError, SettingError
from mapper.files.farmtoml import read_farm

X0, Y0 = 554000.0, 5993000.0


@pytest.fixture
def home(tmp_path):
    folder = tmp_path / "Gümüş paddock"
    folder.mkdir()
    frame = gpd.GeoDataFrame({"name": ["Hill"]}, geometry=[box(X0, Y0, X0 + 400, Y0 + 400)], crs="EPSG:7854")
    frame.to_crs(4326).to_file(folder / "paddocks.geojson")
    n = np.arange(50)
    for name in ("red", "blue"):
        pd.DataFrame({"lon": 141.601 + n * 1e-9, "lat": -36.2 + n * 2e-5}).to_csv(folder / f"{name}.csv", index=False)
    return folder


def _toml(home, text):
    path = home / "farm.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_least_farm_takes_zone_and_limits_and_says_so(home):
    farm, reports = read_farm(_toml(home, 'boundaries = "paddocks.geojson"\n'))
    assert farm.name == "Gümüş paddock"
    assert farm.zone == "Australia/Melbourne"
    assert farm.grid.crs.to_epsg() == 7854
    assert all(limit.starting for limit in farm.limits.limits.values())
    said = " ".join(line for r in reports for line in r.lines())
    assert "no zone is named" in said
    assert "starting limits" in said


def test_harvesters_are_matched_to_their_logs(home):
    text = 'boundaries = ["paddocks.geojson"]\nzone = "Australia/Melbourne"\n'
    both = text + 'logs = ["red.csv", "blue.csv"]\n[[harvesters]]\nmachine = "Blue"\nheader_width_m = 12\n'
    farm, _ = read_farm(_toml(home, both))
    assert farm.tracks["blue"]["machine"].unique().tolist() == ["Blue"]
    assert farm.tracks["red"]["machine"].unique().tolist() == ["red"]
    one = text + 'logs = "red.csv"\nharvesters = "machines.toml"\n'
    (home / "machines.toml").write_text('[[harvesters]]\nmachine = "Any"\nheader_width_m = 9\n', encoding="utf-8")
    farm, _ = read_farm(_toml(home, one))
    assert farm.tracks["red"]["machine"].unique().tolist() == ["Any"]
    assert farm.harvesters[0].header_width_m == 9.0


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "boundaries"),
        ("boundaries = 3\n", "boundaries"),
        ('boundaries = "paddocks.geojson"\nzone = "Mars/Base"\n', "Mars/Base"),
        ('boundaries = "paddocks.geojson"\n[[crews]]\ncrew = "1"\npeople = 900\n', "people"),
        ('boundaries = "paddocks.geojson"\n[[harvesters]]\nmachine = "1"\n', "header_width_m"),
        ('boundaries = "paddocks.geojson"\n[row_burn]\nspred = 4\n', "spred"),
    ],
)
def test_what_makes_no_sense_is_said(home, text, word):
    with pytest.raises(SettingError) as caught:
        read_farm(_toml(home, text))
    assert word in str(caught.value)


def test_a_key_that_says_nothing_is_said(home):
    _, reports = read_farm(_toml(home, 'boundaries = "paddocks.geojson"\nlimts = "limits.toml"\n'))
    assert any("'limts' says nothing" in line for r in reports for line in r.lines())


def test_a_missing_file_is_named(home):
    with pytest.raises(FileError, match=r"nowhere\.gpkg"):
        read_farm(_toml(home, 'boundaries = "nowhere.gpkg"\n'))
    with pytest.raises(FileError, match=r"farm\.toml"):
        read_farm(home / "elsewhere" / "farm.toml")


def test_a_wrong_crs_is_named_where_it_is_written(home):
    with pytest.raises(CrsError, match=r"farm\.toml, crs"):
        read_farm(_toml(home, 'boundaries = "paddocks.geojson"\ncrs = "EPSG:99999"\n'))


def test_last_seasons_and_observed_rows_come_with_the_farm(home):
    line = LineString([(141.601, -36.2), (141.6012, -36.198)])
    rows = gpd.GeoDataFrame({"paddock": ["North"], "season": ["2025"]}, geometry=[line], crs=4326)
    rows.to_file(home / "rows.gpkg", layer="windrows")
    text = 'boundaries = "paddocks.geojson"\n'
    plain, _ = read_farm(_toml(home, text))
    assert plain.rows_before is None and plain.rows_seen is None
    farm, _ = read_farm(_toml(home, text + 'rows_before = "rows.gpkg"\nrows_seen = "rows.gpkg"\n'))
    assert list(farm.rows_before["season"]) == ["2025"] and farm.rows_before.crs == farm.grid.crs
    assert list(farm.rows_seen["paddock"]) == ["North"]
