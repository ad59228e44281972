"""The sample farm is what its README says, is marked as invented, and can be made again."""

import re
import subprocess
import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
from shapely import box

from mapper.carried import carried
from mapper.farm.crs import Grid
from mapper.farm.layers import check_layer
from mapper.farm.limits import LIMIT_KINDS
from mapper.files.limits import read_limits
from mapper.files.toml import read_toml

SAMPLE = carried("sample_data")
# Numbers that the Australian Communications and Media Authority keeps for fiction (mobile). From memory.
FICTION = {"0491 570 006", "0491 570 110", "0491 570 156", "0491 570 157", "0491 570 158", "0491 570 159"}


@pytest.fixture(scope="module")
def paddocks() -> gpd.GeoDataFrame:
    return gpd.read_file(SAMPLE / "boundaries.gpkg").set_index("paddock")


@pytest.fixture(scope="module")
def assets() -> gpd.GeoDataFrame:
    return gpd.read_file(SAMPLE / "assets.gpkg")


def _log_1() -> pd.DataFrame:
    log = pd.read_csv(SAMPLE / "harvester_1.csv", dtype={"Remark": str})
    return pd.DataFrame(
        {
            "t": pd.to_datetime(log["Time (UTC)"]),
            "lat": log["Latitude (deg)"],
            "lon": log["Longitude (deg)"],
            "down": log["Header down"] == 1,
            "flow": log["Grain flow (kg/s)"],
        }
    )


def _log_2() -> pd.DataFrame:
    log = pd.read_csv(SAMPLE / "harvester_2.csv", sep=";", decimal=",", dtype={"Remark": str})
    local = pd.to_datetime(log["Date"] + " " + log["LocalTime"], format="%d/%m/%Y %H:%M:%S")
    return pd.DataFrame(
        {
            "t": local.dt.tz_localize("Australia/Melbourne").dt.tz_convert("UTC"),
            "lat": log["GPS_Lat"],
            "lon": log["GPS_Lon"],
            "down": log["WorkCode"] == 10,
            "flow": log["DryYield_tha"],
        }
    )


@pytest.fixture(scope="module")
def logs() -> dict[str, pd.DataFrame]:
    found = {"harvester_1": _log_1(), "harvester_2": _log_2()}
    for log in found.values():
        log["x"], log["y"] = Grid(rasterio_crs()).from_lonlat(log["lon"].to_numpy(), log["lat"].to_numpy())
    return found


def rasterio_crs():
    from pyproj import CRS

    return CRS.from_epsg(7854)


def test_the_whole_is_small_and_marked_as_invented():
    files = [f for f in SAMPLE.rglob("*") if f.is_file() and "__pycache__" not in f.parts]
    assert sum(f.stat().st_size for f in files) < 10_000_000
    for name in ("README.txt", "farm.toml", "limits.toml", "harvester_1.csv", "harvester_2.csv"):
        assert "invented" in (SAMPLE / name).read_text(encoding="utf-8")[:500], name
    for name in ("elevation.tif", "backdrop.tif"):
        with rasterio.open(SAMPLE / name) as raster:
            assert "invented" in raster.tags()["TIFFTAG_IMAGEDESCRIPTION"]
    toml = read_toml(SAMPLE / "farm.toml")
    assert toml["invented"] is True and "invented" in toml["name"]


def test_every_file_that_the_farm_names_is_there():
    toml = read_toml(SAMPLE / "farm.toml")
    named = [v for k, v in toml.items() if isinstance(v, str) and "." in v and (k not in ("name", "in_charge"))]
    assert len(named) >= 8
    for name in [*named, *toml["logs"]]:
        assert (SAMPLE / name).is_file(), name
    machines = {h["machine"] for h in toml["harvesters"]}
    assert machines == {Path(log).stem for log in toml["logs"]}


def test_six_paddocks_of_odd_shapes_on_about_500_ha(paddocks):
    ha = paddocks.area / 10_000
    assert len(paddocks) == 6
    assert 480 < ha.sum() < 520
    assert (ha < 10).sum() == 1
    assert len(paddocks.loc["Lane Paddock"].geometry.geoms) == 2
    assert len(paddocks.loc["Dam Paddock"].geometry.interiors) == 1
    assert paddocks.is_valid.all()
    # The creek side: over half of the corners turn by less than ten degrees each.
    corners = np.diff(np.array(paddocks.loc["Creek Flat"].geometry.exterior.coords), axis=0)
    course = np.degrees(np.unwrap(np.arctan2(*corners.T)))
    assert (np.abs(np.diff(course)) < 10).sum() > 60
    check_layer("paddocks", gpd.GeoDataFrame(paddocks.reset_index()))


def test_the_shapefile_holds_the_same_boundaries(paddocks):
    other = gpd.read_file(SAMPLE / "boundaries.shp").set_index("paddock")
    assert other.crs.to_epsg() == 7854
    assert all(other.geometry[n].symmetric_difference(paddocks.geometry[n]).area < 1 for n in paddocks.index)
    assert all(len(c) <= 10 for c in other.columns)


def test_assets_stand_where_they_should(paddocks, assets):
    check_layer("assets", assets)
    kinds = assets["kind"].value_counts()
    wanted = "house shed haystack power_line pole road track trees tree vineyard water gate bare green"
    for kind in wanted.split():
        assert kinds.get(kind, 0) >= 1, kind
    farm = paddocks.union_all()
    poles = assets[assets["kind"] == "pole"]
    assert poles.within(farm).sum() >= 10
    assert assets.loc[assets["kind"] == "power_line"].crosses(farm).all()
    for kind in ("road", "house", "shed", "vineyard", "bare", "green", "haystack"):
        assert not assets.loc[assets["kind"] == kind].intersects(farm).any(), kind
    trees = assets[assets["kind"] == "trees"]
    assert trees.intersection(farm).area.sum() < 1
    # Fire wind blows from the north-west that evening: the vines lie some 3 km off on the other side.
    vines = assets.loc[assets["kind"] == "vineyard"].union_all()
    creek = paddocks.loc["Creek Flat"].geometry
    assert 2000 < vines.distance(creek) < 4000
    away = np.subtract(vines.centroid.coords[0], creek.centroid.coords[0])
    assert 100 < np.degrees(np.arctan2(*away)) < 170
    assert set(assets.loc[assets["kind"] == "gate", "name"]) == {f"G{i}" for i in range(1, 11)}
    assert assets.loc[assets["kind"] == "water", "water_l"].gt(0).all()


def test_four_neighbours_with_parcels_and_phones_from_the_range_for_fiction(paddocks, assets):
    neighbours = gpd.read_file(SAMPLE / "neighbours.gpkg")
    check_layer("neighbours", neighbours)
    assert len(neighbours) == 4
    assert set(neighbours["phone"]) <= FICTION
    assert neighbours["name"].str.contains("invented").all()
    assert neighbours.intersection(paddocks.union_all()).area.sum() < 1
    houses = assets[(assets["kind"] == "house") & (assets["neighbour"] != "")].set_index("neighbour")
    parcels = neighbours.set_index("neighbour")
    assert all(parcels.geometry[n].contains(h) for n, h in houses.geometry.items())


def test_some_breaks_are_too_narrow_and_the_creek_side_has_none(paddocks):
    breaks = gpd.read_file(SAMPLE / "breaks.gpkg")
    check_layer("breaks_there", breaks)
    wanted = read_limits(SAMPLE / "limits.toml").value("break_edge")
    edge = breaks[breaks.length > 400]
    assert (edge["width_m"] < wanted).any() and (edge["width_m"] >= wanted).any()
    creek = paddocks.loc["Creek Flat"].geometry
    west, south, east, _ = creek.bounds
    bank = creek.exterior.intersection(box(west + 60, south - 1, east - 130, south + 300))
    guarded = bank.intersection(breaks.buffer(15).union_all())
    assert bank.length > 1500
    assert guarded.length < 0.1 * bank.length


def test_logs_are_at_one_hertz_over_every_paddock_but_one(logs, paddocks):
    for log in logs.values():
        step = log["t"].diff().dt.total_seconds().dropna()
        assert (step == 1).mean() > 0.99
        assert (step >= 0).all()
    x, y = (np.concatenate([log[c] for log in logs.values()]) for c in ("x", "y"))
    fixes = gpd.GeoSeries(gpd.points_from_xy(x, y), crs=7854)
    tree = fixes.sindex
    count = {n: len(tree.query(g, predicate="contains")) for n, g in paddocks.geometry.items()}
    for name, area in paddocks.area.items():
        # A 12.2 m header at up to 3 m/s leaves at least 200 fixes a hectare; 13.7 m some 240 to 320.
        fixes_a_ha = count[name] / (area / 10_000)
        assert (fixes_a_ha < 1) if name == "Back Block" else (fixes_a_ha > 200), name


def test_logs_carry_the_faults_that_logs_have(logs):
    for name, log in logs.items():
        step = log["t"].diff().dt.total_seconds()
        assert ((step > 2) & (step < 30)).sum() >= 15, name
        assert (step == 0).sum() >= 10, name
        ok = log["lat"] != 0
        moved = np.hypot(log.loc[ok, "x"].diff(), log.loc[ok, "y"].diff()) / log.loc[ok, "t"].diff().dt.total_seconds()
        assert (moved > 20).sum() >= 10, name
        standing = log["down"] & (np.hypot(log["x"].diff(20), log["y"].diff(20)) < 1.5)
        assert standing.sum() > 100, name
    assert (logs["harvester_2"]["lat"] == 0).sum() == 5


def test_the_grain_signal_comes_about_eleven_seconds_late(logs):
    log = logs["harvester_1"].iloc[:60_000]
    down, flow = log["down"].to_numpy(float), log["flow"].to_numpy()
    down, flow = down - down.mean(), flow - flow.mean()
    # The header's switch itself is a second late.
    lags = [float(np.dot(down[: len(down) - k], flow[k:])) for k in range(25)]
    assert 8 <= int(np.argmax(lags)) <= 12


def test_the_forecast_spans_three_days_with_a_change_early_on_sunday():
    table = pd.read_csv(SAMPLE / "forecast.csv")
    time = pd.to_datetime(table["time"])
    assert len(table) == 72
    assert time.iloc[0] == pd.Timestamp("2026-04-17 00:00+10:00")
    assert (time.diff().dropna() == pd.Timedelta(hours=1)).all()
    evening = table[(time >= "2026-04-18 18:00+10:00") & (time <= "2026-04-18 22:00+10:00")]
    assert evening["wind_speed_10m_kmh"].between(10, 12).all()
    assert evening["wind_direction_deg"].between(300, 325).all()
    after = table[(time >= "2026-04-19 03:00+10:00") & (time <= "2026-04-19 09:00+10:00")]
    assert after["wind_direction_deg"].between(215, 240).all()


def test_the_local_limits_are_nearly_all_set_and_say_where_they_come_from():
    limits = read_limits(SAMPLE / "limits.toml")
    assert len(limits.limits) >= len(LIMIT_KINDS) - 3
    assert all(limit.source == "invented for the sample" for limit in limits.limits.values())
    assert limits.days_off == (6,)


def test_rasters_lie_under_the_farm(paddocks):
    for name in ("elevation.tif", "backdrop.tif"):
        with rasterio.open(SAMPLE / name) as raster:
            assert raster.crs.to_epsg() == 7854
            west, south, east, north = paddocks.total_bounds
            assert raster.bounds.left < west and raster.bounds.right > east
            assert raster.bounds.bottom < south and raster.bounds.top > north
    with rasterio.open(SAMPLE / "elevation.tif") as raster:
        heights = raster.read(1, masked=True)
        assert heights.mask.any() and 5 < heights.max() - heights.min() < 60


def test_anybody_can_make_it_again(tmp_path, paddocks):
    script = [sys.executable, str(SAMPLE / "make_sample.py"), "--out", str(tmp_path)]
    done = subprocess.run(script, check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    have = {f.name for f in SAMPLE.iterdir() if f.is_file() and f.suffix != ".py"}
    assert {f.name for f in tmp_path.iterdir()} == have
    again = gpd.read_file(tmp_path / "boundaries.gpkg").set_index("paddock")
    assert all(again.geometry[n].symmetric_difference(paddocks.geometry[n]).area < 0.1 for n in paddocks.index)
    assert (tmp_path / "forecast.csv").read_text() == (SAMPLE / "forecast.csv").read_text()
    for log in ("harvester_1.csv", "harvester_2.csv"):
        # Another version of the geometry library may move a fix by a millimetre, not the length of the log.
        lines, kept = ((f / log).read_text().splitlines() for f in (tmp_path, SAMPLE))
        assert lines[0] == kept[0]
        assert len(lines) == pytest.approx(len(kept), rel=0.002)


def test_names_are_plain_invented_ones(paddocks, assets):
    words = " ".join([*paddocks.index, *assets["name"]])
    assert not re.search(r"[^A-Za-z0-9 ]", words)
