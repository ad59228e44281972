from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.layers import check_layer, empty_layer, make_layer
from mapper.ground.guard import guard_paddock
from mapper.hours.verdict import Window
from mapper.weather.wind import WindChange
from tests.farms import EAST, GRID, NORTH, box, evening_forecast, limits, small_farm

WINDOW = Window(datetime(2026, 4, 18, 8, tzinfo=UTC), datetime(2026, 4, 18, 12, tzinfo=UTC), "go")


def edges_of(shape, forecast=None, changes=(), assets=None, breaks=None, neighbours=None):
    paddock = pd.Series(
        {"paddock": "P", "stubble_t_ha": 2.0, "curing_pct": 100.0, "cut_height_m": 0.2, "geometry": shape}
    )
    return guarded(paddock, forecast, changes, assets, breaks, neighbours).edges


def guarded(paddock, forecast=None, changes=(), assets=None, breaks=None, neighbours=None, limit_set=None):
    crs = GRID.crs
    return guard_paddock(
        paddock,
        evening_forecast() if forecast is None else forecast,
        changes,
        (WINDOW,),
        empty_layer("breaks_there", crs) if breaks is None else breaks,
        empty_layer("assets", crs) if assets is None else assets,
        empty_layer("neighbours", crs) if neighbours is None else neighbours,
        limit_set or limits(),
        crs,
    )


def near(edges, x, y):
    return edges.iloc[edges.distance(shapely.Point(EAST + x, NORTH + y)).argmin()]


def test_the_layer_keeps_its_contract_and_the_boundary():
    edges = edges_of(box(0, 0, 400, 300))
    check_layer("edges", edges)
    assert edges["length_m"].sum() == pytest.approx(1400)
    assert edges["breach"].between(0, 1).all() and (edges["reach_m"] >= 0).all()


def test_wind_from_the_north_west_exposes_south_and_east():
    edges = edges_of(box(0, 0, 400, 300))
    assert near(edges, 400, 150)["label"] == near(edges, 200, 0)["label"] == "downwind"
    assert near(edges, 0, 150)["label"] == near(edges, 200, 300)["label"] != "downwind"
    assert (edges["label_after"] == "").all()
    assert near(edges, 400, 150)["reach_m"] > 3 * near(edges, 0, 150)["reach_m"]


def test_a_change_names_the_edges_exposed_after_it():
    forecast = evening_forecast(from_deg=270.0)
    after = forecast["time_utc"] >= pd.Timestamp("2026-04-18T13:00Z")
    forecast.loc[after, "wind_from_deg"] = 180.0
    change = WindChange(datetime(2026, 4, 18, 12, 30, tzinfo=UTC), 270.0, 180.0, 8.0, 8.0, 30.0)
    edges = edges_of(box(0, 0, 400, 300), forecast, (change,))
    assert near(edges, 400, 150)["label"] == "downwind"
    assert near(edges, 200, 300)["label_after"] == "downwind"
    assert near(edges, 200, 0)["label_after"] == "upwind"


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 71), st.floats(-3000, 3000), st.floats(-3000, 3000))
def test_turning_or_shifting_everything_changes_nothing(step, dx, dy):
    # Whole 5-degree turns keep the headings of the fetch table; between them it is good to 1.8 %.
    turn = 5.0 * step
    shape = shapely.Polygon(
        [(EAST, NORTH), (EAST + 500, NORTH + 40), (EAST + 420, NORTH + 330), (EAST - 30, NORTH + 300)]
    )
    moved = shapely.affinity.translate(shapely.affinity.rotate(shape, -turn, origin=(EAST, NORTH)), dx, dy)
    plain = edges_of(shape, evening_forecast(from_deg=300.0))
    turned = edges_of(moved, evening_forecast(from_deg=(300.0 + turn) % 360))
    for column in ("reach_m", "chance_downwind", "intensity_kw_m", "length_m"):
        assert np.sort(turned[column]) == pytest.approx(np.sort(plain[column]), rel=1e-3, abs=1e-3), column


def test_a_break_lowers_the_chance_of_crossing():
    shape = box(0, 0, 400, 300)
    breaks = make_layer(
        "breaks_there",
        {"width_m": [8.0], "made_by": ["grader"]},
        [shapely.LineString([(EAST + 404, NORTH - 5), (EAST + 404, NORTH + 305)])],
        GRID.crs,
    )
    bare, guarded = edges_of(shape), edges_of(shape, breaks=breaks)
    assert near(bare, 400, 150)["breach"] == 1.0
    assert near(guarded, 400, 150)["breach"] < 0.01
    assert near(guarded, 200, 0)["breach"] == 1.0


def test_what_lies_beyond_is_said_in_words():
    farm = small_farm()
    edges = edges_of(box(0, 0, 400, 300), assets=farm.assets, neighbours=farm.neighbours)
    assert near(edges, 200, 0)["beyond"].startswith("Tank Road")
    assert near(edges, 200, 300)["beyond"].startswith("nothing known")
    east = edges_of(box(420, 0, 300, 300), assets=farm.assets, neighbours=farm.neighbours)
    assert near(east, 720, 200)["beyond"].endswith("land of Neighbour 1")


def test_without_a_forecast_there_are_no_edges():
    assert edges_of(box(0, 0, 400, 300), evening_forecast().iloc[:0]).empty
