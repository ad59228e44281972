from datetime import datetime, timedelta

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.errors import Stopped
from mapper.farm.farm import Crew, RowBurn
from mapper.farm.layers import check_layer, make_layer
from mapper.ground.boundary import unit
from mapper.order.precedence import first_hits
from tests.farms import EAST, GRID, NORTH
from tests.order.paddocks import START, gates, layers_of, order_of, straight_rows, turned, window

GATES = gates((0, 0), (288, 0), (0, 448), (288, 448), (-20, 200), (300, 200))


def lit(order):
    return order.pieces[order.pieces["order_no"] > 0].sort_values("order_no").reset_index(drop=True)


def check_promises(order, windrows, to_deg, window_end):
    """Every piece lit once or left with a reason; numbers; lengths; times; closed downwind at any moment."""
    for name in ("pieces", "lighting_points", "blocks", "ways_out"):
        check_layer(name, getattr(order, name))
    burning, left = lit(order), order.pieces[order.pieces["order_no"] == 0]
    assert (left["left_reason"] != "").all() and (burning["left_reason"] == "").all()
    assert list(burning["order_no"]) == list(range(1, len(burning) + 1))
    assert burning["lit_at"].is_monotonic_increasing
    assert (burning["out_at"] > burning["lit_at"]).all()
    assert burning.empty or burning["out_at"].max() <= window_end
    by_row = order.pieces.groupby("row_id")["length_m"].sum()
    assert by_row.to_dict() == pytest.approx(windrows.set_index("row_id")["length_m"].to_dict(), abs=1e-6)
    assert set(order.lighting_points["piece_id"]) == set(burning["piece_id"])
    todo = order.pieces[(order.pieces["order_no"] > 0) | (order.pieces["left_reason"].str.contains("time|whole"))]
    for _, mine in todo.groupby("paddock"):
        number = mine["order_no"].replace(0, 10**9).to_numpy()
        pairs = first_hits([shapely.get_coordinates(g) for g in mine.geometry], to_deg)
        both = number[pairs.then] < 10**9
        assert (number[pairs.first][both] < number[pairs.then][both]).all()


@pytest.mark.parametrize("from_deg", [0.0, 30.0, 200.0, 270.0, 315.0])
@pytest.mark.parametrize("crews", [1, 2])
def test_a_paddock_with_laps(from_deg, crews):
    paddock = straight_rows(20, laps=2)
    order = order_of(paddock, from_deg=from_deg, crews=tuple(Crew(f"Crew {k}") for k in range(crews)), assets=GATES)
    check_promises(order, layers_of(paddock)[1], from_deg + 180, window().ends_at + timedelta(minutes=20))
    assert len(lit(order)) == len(order.pieces)


@settings(max_examples=8, deadline=None)
@given(
    st.integers(4, 14), st.integers(0, 2), st.floats(0, 359), st.floats(0, 359), st.floats(0.7, 5.0), st.integers(1, 2)
)
def test_promises_hold_for_any_paddock_wind_and_window(count, laps, turn, from_deg, hours, crews):
    paddock = turned(straight_rows(count, 250.0, laps=laps), turn)
    spans = (window(hours),)
    order = order_of(paddock, from_deg=from_deg, windows=spans, crews=tuple(Crew(str(k)) for k in range(crews)))
    check_promises(order, layers_of(paddock)[1], from_deg + 180, spans[0].ends_at + timedelta(minutes=20))


@settings(max_examples=6, deadline=None)
@given(st.floats(1, 359), st.floats(-4000, 4000), st.sampled_from([250.0, 290.0, 340.0]))
def test_turning_and_shifting_everything_keeps_the_plan(turn, shift, from_deg):
    paddock = straight_rows(10)
    plain = lit(order_of(paddock, from_deg=from_deg))
    moved = lit(order_of(turned(paddock, turn, shift, -shift), from_deg=(from_deg + turn) % 360))
    assert list(moved["row_id"]) == list(plain["row_id"])
    gap = (moved["lit_at"] - plain["lit_at"]).abs().max()
    assert gap < pd.Timedelta(seconds=1)


def test_the_same_seed_gives_the_same_plan():
    paddock = straight_rows(15, laps=1)
    one, two = (order_of(paddock, from_deg=240.0, seed=3) for _ in range(2))
    pd.testing.assert_frame_equal(
        pd.DataFrame(one.pieces.drop(columns="geometry")), two.pieces.drop(columns="geometry")
    )


def test_the_downwind_edge_rows_are_burnt_out_before_the_inside_is_lit():
    order = order_of(straight_rows(20, laps=1), from_deg=270.0)
    first = order.blocks.iloc[0]
    assert "edge rows" in first["note"]
    edge = lit(order)[lit(order)["block"] == "A"]
    inside = lit(order)[lit(order)["block"] != "A"]
    assert inside["lit_at"].min() >= edge["out_at"].max()
    x = edge.geometry.bounds
    assert (x["maxx"] > EAST + 250).all()


def test_work_runs_upwind_block_by_block():
    order = order_of(straight_rows(30, 600.0), from_deg=270.0, row_burn=RowBurn(block_min=30))
    assert list(order.blocks["block"]) == sorted(order.blocks["block"])
    east = order.blocks.geometry.centroid.x
    assert east.is_monotonic_decreasing
    assert (order.blocks["first_no"].to_numpy()[1:] == order.blocks["last_no"].to_numpy()[:-1] + 1).all()
    area = order.blocks.union_all().area
    assert area == pytest.approx(30 * 12 * 600, rel=0.05)


def test_lines_run_as_the_crew_works_and_points_follow():
    order = order_of(straight_rows(6), from_deg=0.0)
    for piece in lit(order).itertuples():
        points = order.lighting_points[order.lighting_points["piece_id"] == piece.piece_id]
        along = [piece.geometry.project(p) for p in points.geometry]
        assert along == sorted(along) and along[0] == 0
        assert points["lit_at"].is_monotonic_increasing and points["lit_at"].iloc[0] == piece.lit_at
        # Wind from the north blows to the south: work begins at the south end.
        assert piece.geometry.coords[0][1] < piece.geometry.coords[-1][1]


def test_what_does_not_fit_is_left_with_the_reason():
    paddock = straight_rows(40, 800.0)
    order = order_of(paddock, from_deg=270.0, windows=(window(1.5),))
    burning, left = lit(order), order.pieces[order.pieces["order_no"] == 0]
    assert 3 < len(burning) < 40 and (left["left_reason"] == "no time left in the hours inside the local limits").all()
    assert burning.geometry.bounds["minx"].min() > left.geometry.bounds["maxx"].max()
    assert any("stay unlit" in r.text for r in order.remarks)


def test_the_downwind_paddock_is_burnt_first_and_one_too_big_is_passed_over():
    west = straight_rows(8, 200.0, name="West")
    east = turned(straight_rows(8, 200.0, name="East"), dx=500)
    order = order_of(west, east, from_deg=270.0)
    assert list(dict.fromkeys(lit(order)["paddock"])) == ["East", "West"]
    big = turned(straight_rows(60, 900.0, name="East"), dx=500)
    order = order_of(west, big, from_deg=270.0, windows=(window(1.0),))
    assert list(dict.fromkeys(lit(order)["paddock"])) == ["West"]
    left = order.pieces[order.pieces["paddock"] == "East"]
    assert (left["left_reason"] == "the whole paddock does not fit in the hours left; left for another night").all()
    assert any(r.text.startswith("Stays unlit tonight") and r.paddock == "East" for r in order.remarks)


def test_a_paddock_whose_edge_rows_alone_fit_stays_unlit():
    paddock = straight_rows(30, 1500.0, laps=2)
    order = order_of(paddock, from_deg=270.0, windows=(window(0.75),))
    burning = lit(order)
    assert burning.empty and any(r.text.startswith("Stays unlit") for r in order.remarks)
    # With more time its edge rows and a part of the inside are lit.
    longer = order_of(paddock, from_deg=270.0, windows=(window(3),))
    assert {"", "edge rows: burnt out before the inside is lit"} == set(longer.blocks["note"])


def test_what_is_not_worked_out_is_said():
    said = [r.text for r in order_of(straight_rows(5)).remarks if r.level == "note"]
    assert any("Fences and gates inside a paddock are not known" in t for t in said)


def test_no_hour_no_fire():
    order = order_of(straight_rows(5), windows=())
    assert (order.pieces["order_no"] == 0).all() and order.lighting_points.empty
    assert order.remarks[0].level == "stop"


def test_rows_under_the_wires_stay_unlit_and_it_is_said():
    line = shapely.LineString([(EAST - 50, NORTH + 200), (EAST + 400, NORTH + 200)])
    wires = make_layer("assets", {"asset": ["L"], "kind": ["power_line"], "name": ["Line 1"]}, [line], GRID.crs)
    order = order_of(straight_rows(10), assets=wires)
    left = order.pieces[order.pieces["order_no"] == 0]
    assert left["length_m"].to_numpy() == pytest.approx(np.full(10, 40.0))
    assert "10 rows stay unlit for up to 40 m each: strip under Line 1 (20 m)." in [r.text for r in order.remarks]


def test_a_block_without_a_way_out_is_a_stop():
    nothing = order_of(straight_rows(10))
    assert any(r.level == "stop" and r.text.startswith("No way out of block A") for r in nothing.remarks)
    # A gate alone is no safe ground; a break as wide as the local limit along the upwind edge is.
    gated = order_of(straight_rows(10), assets=gates((-10, 0), (-10, 400)))
    assert any(r.level == "stop" for r in gated.remarks)
    west = shapely.LineString([(EAST - 4, NORTH - 4), (EAST - 4, NORTH + 404)])
    there = make_layer("breaks_there", {"width_m": [12.0], "made_by": ["grader"]}, [west], GRID.crs)
    guarded = order_of(straight_rows(10), breaks_there=there)
    assert not [r for r in guarded.remarks if r.level == "stop"]
    assert set(guarded.ways_out["block"]) == set(guarded.blocks["block"])
    for way in guarded.ways_out.itertuples():
        a, b = np.array(way.geometry.coords[0]), np.array(way.geometry.coords[-1])
        assert (b - a) @ unit(90.0) <= 0.27 * way.geometry.length


def test_stopping_and_progress():
    seen = []
    order_of(straight_rows(5), progress=lambda done, total: seen.append((done, total)))
    assert seen
    with pytest.raises(Stopped):
        order_of(straight_rows(5), cancelled=lambda: True)


def test_times_are_inside_the_window():
    order = order_of(straight_rows(5))
    assert isinstance(START, datetime) and lit(order)["lit_at"].min() == pd.Timestamp(START)
