import csv
import json
import sqlite3
from contextlib import closing
from datetime import date

import geopandas as gpd
import pyogrio
import pytest
import shapely

from mapper.files.outputs import LAYERS, ordered_points, summary, write_plan, write_rows
from mapper.hours.verdict import BanCheck
from mapper.plan.job import run
from mapper.plan.request import NightRequest
from mapper.rows.result import RowsResult
from tests.farms import MADE_AT, small_farm


@pytest.fixture(scope="module")
def plan():
    request = NightRequest(date(2026, 4, 18), MADE_AT, "Adviser", 3, ban=BanCheck("none", MADE_AT, "Adviser"))
    return run(small_farm(), request)[0]


@pytest.fixture(scope="module")
def folder(plan, tmp_path_factory):
    folder = tmp_path_factory.mktemp("Gümüş paddock") / "out"
    write_plan(plan, folder)
    return folder


def test_every_layer_comes_back_as_it_was(plan, folder):
    names = {n for n, _ in pyogrio.list_layers(folder / "plan.gpkg")}
    assert names == {*LAYERS, "hours"}
    for name in LAYERS:
        back, layer = gpd.read_file(folder / "plan.gpkg", layer=name), getattr(plan, name)
        assert len(back) == len(layer)
        assert set(layer.columns) <= set(back.columns)
        if len(layer):
            assert back.crs == layer.crs
            assert back.geometry.geom_equals_exact(layer.geometry.reset_index(drop=True), 1e-6).all()
    hours = pyogrio.read_dataframe(folder / "plan.gpkg", layer="hours")
    assert list(hours["verdict"]) == list(plan.hours["verdict"])


def test_summary_is_json_in_which_every_figure_has_unit_and_source(plan, folder):
    read = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    assert read == json.loads(json.dumps(summary(plan)))
    assert [o["order_no"] for o in read["order"]] == list(range(1, len(read["order"]) + 1))
    assert all(f["source"] and "unit" in f for f in read["figures"])
    assert read["caution"].startswith("This sheet is advice only")
    assert len(read["order"]) + len(read["left_unlit"]) == len(plan.pieces)


def test_the_ute_gets_the_same_points_in_three_files(plan, folder):
    points = ordered_points(plan)
    way = pyogrio.read_dataframe(folder / "order.gpx", layer="waypoints")
    assert len(way) == len(points) > 0
    # GPX keeps seven decimals of a degree: a centimetre.
    there = way.to_crs(plan.farm.grid.crs).geometry
    expected = plan.lighting_points.sort_values(["lit_at", "order_no"], kind="stable").geometry.reset_index(drop=True)
    assert there.distance(expected).max() < 0.02
    routes = pyogrio.read_dataframe(folder / "order.gpx", layer="routes")
    crews = plan.lighting_points["crew"].unique()
    assert len(routes) == len(crews) + len(plan.ways_out)
    # The order is in the route itself and in the names of its points.
    steps = pyogrio.read_dataframe(folder / "order.gpx", layer="route_points")
    first = steps[steps["route_fid"] == 0]
    assert first.sort_values("route_point_id")["name"].str.split(".").str[0].astype(int).is_monotonic_increasing
    # Read by the standard library alone, not by what wrote them.
    with (folder / "order.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    features = json.loads((folder / "order.geojson").read_text(encoding="utf-8"))["features"]
    assert len(rows) == len(features) == len(points)
    for row, feature, point in zip(rows, features, points.itertuples(), strict=True):
        assert int(row["order_no"]) == feature["properties"]["order_no"] == point.order_no
        assert feature["geometry"]["coordinates"] == pytest.approx([point.geometry.x, point.geometry.y], abs=1e-9)
        assert float(row["longitude"]) == pytest.approx(point.geometry.x, abs=1e-6)


def test_the_phone_gets_paddock_rows_points_and_ways_out(plan, folder):
    # GDAL's KML driver reads it: one layer a folder.
    names = {str(n) for n, _ in pyogrio.list_layers(folder / "order.kml")}
    assert {"Paddocks", "Rows in order", "Light here"} <= names
    rows = pyogrio.read_dataframe(folder / "order.kml", layer="Rows in order").to_crs(plan.farm.grid.crs)
    lit = plan.pieces[plan.pieces["order_no"] > 0].sort_values("order_no")
    assert rows["Name"].astype(int).tolist() == lit["order_no"].tolist()
    apart = rows.geometry.reset_index(drop=True).hausdorff_distance(lit.geometry.reset_index(drop=True))
    assert apart.max() < 0.02
    lands = pyogrio.read_dataframe(folder / "order.kml", layer="Paddocks").to_crs(plan.farm.grid.crs)
    assert lands.geometry.area.sum() == pytest.approx(plan.farm.paddocks.geometry.area.sum(), rel=1e-4)


def test_the_map_layers_are_read_by_a_plain_database_reader(plan, folder):
    # GeoPackage's own binary: a header of 8 bytes and an envelope, then WKB (OGC 12-128r18, 2.1.3).
    with closing(sqlite3.connect(folder / "plan.gpkg")) as db:
        found = db.execute("SELECT order_no, geom FROM pieces ORDER BY piece_id").fetchall()
    pieces = plan.pieces.sort_values("piece_id")
    assert [n for n, _ in found] == pieces["order_no"].tolist()
    for (_, blob), shape in zip(found, pieces.geometry, strict=True):
        assert blob[:2] == b"GP"
        skip = 8 + {0: 0, 1: 32, 2: 48, 3: 48, 4: 64}[(blob[3] >> 1) & 7]
        assert shapely.from_wkb(blob[skip:]).equals_exact(shape, 1e-6)


def test_a_failed_write_leaves_the_old_file(plan, tmp_path, monkeypatch):
    path = tmp_path / "rows.gpkg"
    write_rows(RowsResult(plan.windrows, plan.heaps), path)
    before = path.read_bytes()

    def breaks(*_, **__):
        raise OSError("disk full")

    monkeypatch.setattr(pyogrio, "write_dataframe", breaks)
    with pytest.raises(Exception, match="disk full"):
        write_rows(RowsResult(plan.windrows, plan.heaps), path)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]
