import json
from datetime import date

import geopandas as gpd
import pyogrio
import pytest

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
    assert len(pyogrio.read_dataframe(folder / "order.gpx", layer="routes")) == plan.lighting_points["crew"].nunique()
    assert len(gpd.read_file(folder / "order.geojson")) == len(points)
    assert (folder / "order.csv").read_text(encoding="utf-8").count("\n") == len(points) + 1


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
