"""Any paddock: concave, with holes, in parts, tiny; with breaks, neighbours, or nothing known at all."""

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.layers import check_layer, empty_layer, make_layer
from mapper.farm.limits import LocalLimits
from mapper.ground.guard import guard_paddock
from tests.farms import EAST, GRID, NORTH, evening_forecast, limits
from tests.ground.test_edges import WINDOW


@st.composite
def paddocks(draw):
    """A star-shaped outline of 4 m to 2 km, maybe with a hole, maybe in two parts."""
    size = draw(st.sampled_from([4.0, 40.0, 400.0, 2000.0]))
    corners = draw(st.integers(3, 12))
    radius = np.array(draw(st.lists(st.floats(0.3, 1.0), min_size=corners, max_size=corners))) * size / 2
    turn = np.linspace(0, 2 * np.pi, corners, endpoint=False) + draw(st.floats(0, 6))
    shape = shapely.Polygon(np.stack([EAST + radius * np.sin(turn), NORTH + radius * np.cos(turn)], axis=1))
    if draw(st.booleans()):
        shape = shape.difference(shapely.Point(EAST, NORTH).buffer(size / 12))
    if draw(st.booleans()):
        shape = shape.union(shapely.box(EAST + size, NORTH, EAST + 1.4 * size, NORTH + 0.3 * size))
    return shape


@st.composite
def surroundings(draw, shape):
    """Breaks along part of the edge, a neighbour, a few assets; each maybe not there."""
    crs = GRID.crs
    x0, y0, x1, y1 = shape.bounds
    layers = [empty_layer(n, crs) for n in ("breaks_there", "assets", "neighbours")]
    if draw(st.booleans()):
        outline = shapely.get_parts(shape)[0].buffer(3, join_style="mitre").exterior
        share = draw(st.floats(0.2, 1.0))
        line = shapely.ops.substring(outline, 0, share, normalized=True)
        layers[0] = make_layer(
            "breaks_there", {"width_m": [draw(st.sampled_from([0.0, np.nan, 2.0, 6.0, 30.0]))]}, [line], crs
        )
    if draw(st.booleans()):
        kinds = draw(st.lists(st.sampled_from(["house", "tree", "water", "bare", "road", "crop", "gate"]), max_size=5))
        shapes = [
            shapely.LineString([(x0 - 50, y0 - 4), (x1 + 50, y0 - 4)]) if k == "road"
            else shapely.Point(x0 + 9 * n, y1 + 6) if k in ("house", "tree", "gate")
            else shapely.box(x1, y0, x1 + 20 * (n + 1), y1)
            for n, k in enumerate(kinds)
        ]  # fmt: skip
        columns = {"asset": [f"A{n}" for n in range(len(kinds))], "kind": kinds, "name": [""] * len(kinds)}
        layers[1] = make_layer("assets", columns, shapes, crs)
    if draw(st.booleans()):
        land = {"neighbour": ["N1", "N2"], "name": ["Neighbour 1", "Neighbour 2"]}
        boxes = [shapely.box(x1, y0, x1 + 500, y1), shapely.box(x0, y0 - 500, x1, y0)]
        layers[2] = make_layer("neighbours", land, boxes, crs)
    return layers


def guard(shape, layers, limit_set, forecast=None):
    paddock = pd.Series(
        {"paddock": "P", "stubble_t_ha": np.nan, "curing_pct": np.nan, "cut_height_m": np.nan, "geometry": shape}
    )
    table = evening_forecast() if forecast is None else forecast
    return guard_paddock(paddock, table, (), (WINDOW,), *layers, limit_set, GRID.crs)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_the_edge_is_whole_and_what_is_said_of_it_holds(data):
    shape = data.draw(paddocks())
    layers = data.draw(surroundings(shape))
    made = guard(shape, layers, data.draw(st.sampled_from([limits(), LocalLimits(), limits(break_edge=20)])))
    check_layer("edges", made.edges)
    check_layer("breaks", made.breaks)
    assert made.edges["length_m"].max() <= 25 + 1e-6
    around = made.breaks[~made.breaks["side"].str.startswith(("Ring", "Gap"))]
    assert around["length_m"].sum() == pytest.approx(made.edges["length_m"].sum(), rel=1e-6)
    assert made.edges["length_m"].sum() == pytest.approx(shape.length, abs=max(0.05 * shape.length, 3.0))
    for column in ("chance_downwind", "chance_flank", "breach"):
        assert made.edges[column].between(0, 1).all()
    assert (made.edges["chance_flank"] >= made.edges["chance_downwind"] - 1e-9).all()
    assert (made.edges["reach_m"] >= 0).all() and (made.edges["intensity_kw_m"] >= 0).all()
    assert not (made.breaks["short_m"] < 0).any()
    assert all(r.text and r.where is not None for r in made.remarks)
    assert len(made.remarks) <= 14


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_a_break_missing_where_fire_is_blown_is_always_a_stop(data):
    shape = data.draw(paddocks())
    made = guard(shape, data.draw(surroundings(shape)), limits())
    exposed = made.edges[made.edges["label"].isin(["downwind", "flank"])]
    if (exposed["present_m"] <= 0).any():
        assert any(r.level == "stop" for r in made.remarks)


@settings(max_examples=15, deadline=None)
@given(paddocks())
def test_wide_breaks_all_round_are_never_a_stop(shape):
    # Don't cry wolf: a bare strip of 30 m round every part and in every hole.
    band = shape.buffer(30).difference(shape)
    bare = make_layer("assets", {"asset": ["B"], "kind": ["bare"], "name": ["Fallow"]}, [band], GRID.crs)
    none = [empty_layer(n, GRID.crs) for n in ("breaks_there", "neighbours")]
    made = guard(shape, [none[0], bare, none[1]], limits(break_edge=4))
    assert [r.text for r in made.remarks if r.level == "stop"] == []


@settings(max_examples=10, deadline=None)
@given(paddocks())
def test_without_weather_breaks_are_still_held_against_the_limit(shape):
    layers = [empty_layer(n, GRID.crs) for n in ("breaks_there", "assets", "neighbours")]
    made = guard(shape, layers, limits(break_edge=4), evening_forecast().iloc[:0])
    assert made.edges.empty and made.hours == ()
    assert (made.breaks["wanted_m"] == 4).all()
    assert any(r.level == "stop" for r in made.remarks)
