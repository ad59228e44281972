"""What is said of edges and breaks: sides, places, gaps, the worst places, the work, few sentences."""

import numpy as np
import pandas as pd
import pytest
import shapely

from mapper.farm.layers import make_layer
from mapper.farm.limits import LocalLimits
from mapper.fire.breach import breach_chance
from mapper.ground.boundary import cut_boundary
from mapper.ground.sides import place_words, side_names
from mapper.ground.things import Things
from mapper.ground.work import work_for, work_words
from mapper.weather.wind import WindChange
from tests.farms import EAST, GRID, NORTH, box, evening_forecast, limits
from tests.ground.test_breaks import breaks_there
from tests.ground.test_edges import guarded

SHAPE = box(0, 0, 400, 300)
PADDOCK = pd.Series({"paddock": "P", "stubble_t_ha": 2.0, "curing_pct": 100.0, "cut_height_m": 0.2, "geometry": SHAPE})
NONE = Things(np.empty(0, object), np.empty(0, object), np.empty(0, object))
ALL_ROUND = [(-3, -3), (403, -3), (403, 303), (-3, 303), (-3, -3)]


def gate(*places):
    columns = {"asset": [f"G{k}" for k in range(len(places))], "kind": ["gate"] * len(places),
               "name": [f"G{k + 1}" for k in range(len(places))]}  # fmt: skip
    return make_layer("assets", columns, [shapely.Point(EAST + x, NORTH + y) for x, y in places], GRID.crs)


def texts(made, level=None):
    return [r.text for r in made.remarks if level is None or r.level == level]


def test_a_winding_side_keeps_one_name_and_a_hole_is_named_after_what_stands_in_it():
    x = np.linspace(0, 1000, 60)
    creek = np.stack([x, 25 * np.sin(x / 40)], axis=1)
    shape = shapely.Polygon([*creek, (1000, 600), (0, 600)]).difference(shapely.box(400, 250, 500, 350))
    dam = Things(np.array(["water"], object), np.array(["Dam 1"], object), np.array([shapely.box(420, 270, 480, 330)]))
    pieces = cut_boundary(shape)
    names = side_names(pieces, shape, dam)
    low = ~pieces.inside & (pieces.mids[:, 1] < 40) & (pieces.mids[:, 0] > 20) & (pieces.mids[:, 0] < 980)
    assert set(names[low]) == {"South edge"}
    assert set(names) == {"South edge", "East edge", "North edge", "West edge", "Inside edge round Dam 1"}


def test_places_are_told_from_the_gate_else_from_the_corner():
    gates = Things(np.array(["gate"], object), np.array(["G1"], object), np.array([shapely.Point(400, 0)]))
    area = shapely.box(0, 0, 400, 900)
    assert place_words(np.array([400.0, 340.0]), area, gates) == "340 m north of gate G1"
    assert place_words(np.array([400.0, 5.0]), area, gates) == "at gate G1"
    assert place_words(np.array([0.0, 780.0]), area, NONE) == "120 m south of the north-west corner"


@pytest.mark.parametrize(
    ("lines", "gap_m", "where"),
    [
        (
            [[(-3, 303), (-3, -3), (403, -3), (403, 120)], [(403, 132), (403, 303), (-3, 303)]],
            12,
            "at gate G1, east edge",
        ),
        ([[(390, 303), (-3, 303), (-3, -3), (403, -3), (403, 290)]], 20, "at the north-east corner"),
    ],
)
def test_gaps_at_a_gate_and_at_a_corner_are_found(lines, gap_m, where):
    assets = gate((400, 126)) if "gate" in where else None
    made = guarded(PADDOCK, breaks=breaks_there(*((6.0, xy) for xy in lines)), assets=assets)
    gaps = made.breaks[made.breaks["side"].str.startswith("Gap")]
    assert len(gaps) == 1 and gaps["length_m"].item() == pytest.approx(gap_m, abs=4)
    assert not made.breaks["todo"].str.startswith("make a break").any()
    said = [t for t in texts(made, "stop") if t.startswith("Gap of")]
    assert len(said) == 1 and "Close it, or draw it if it is bare." in said[0]
    assert where in said[0]
    # An escape finds the gap: its pieces are open.
    assert (made.edges["present_m"] == 0).sum() >= 1


def test_a_break_closed_all_round_has_no_gap():
    made = guarded(PADDOCK, breaks=breaks_there((8.0, ALL_ROUND)), limit_set=limits(breach_chance=0.5))
    assert not made.breaks["side"].str.startswith("Gap").any()
    assert texts(made, "stop") == texts(made, "look") == []


def test_breaks_that_lack_the_same_are_told_in_one_sentence():
    made = guarded(PADDOCK, breaks=breaks_there((6.0, ALL_ROUND)), limit_set=limits(break_edge=10, breach_chance=0.5))
    stops = texts(made, "stop")
    assert len(stops) == 1
    assert stops[0].startswith(
        "All breaks are 6 m along 1,400 m. Your local limit is 10 m. To make good: 0.56 ha, about "
    )
    west_there = [(403, -3), (403, 303), (-3, 303)]
    made = guarded(PADDOCK, breaks=breaks_there((12.0, west_there)), limit_set=limits(break_edge=10, breach_chance=0.5))
    assert texts(made, "stop")[0].startswith("South and west edges: no break along 700 m.")


def test_a_break_under_the_local_limit_is_a_stop_whoever_asks_for_more():
    # Wilson asks for more than the limit: both are named, and the limit alone decides that it is no go.
    made = guarded(PADDOCK, breaks=breaks_there((2.0, ALL_ROUND)), limit_set=limits(break_edge=4, breach_chance=0.01))
    both = next(t for t in texts(made, "stop") if "Wilson" in t)
    assert "Your local limit is 4 m; for a 1 in 100 chance of crossing (Wilson 1988) it wants" in both
    made = guarded(PADDOCK, breaks=breaks_there((4.0, ALL_ROUND)), limit_set=limits(break_edge=4, breach_chance=0.01))
    assert texts(made, "stop") == []
    assert any("Wilson" in t for t in texts(made, "look"))
    east = made.breaks[made.breaks["side"] == "East edge"].iloc[0]
    assert east["local_m"] == 4 and east["wanted_m"] == east["breach_m"] > 4


def test_the_worst_places_are_named_with_what_lies_beyond_and_how_soon():
    house = make_layer(
        "assets",
        {"asset": ["H", "G"], "kind": ["house", "gate"], "name": ["House 1", "G1"]},
        [shapely.Point(EAST + 560, NORTH + 160), shapely.Point(EAST + 400, NORTH)],
        GRID.crs,
    )
    made = guarded(PADDOCK, assets=house, breaks=breaks_there((2.0, ALL_ROUND)), forecast=evening_forecast(15, 270.0))
    worst = [r for r in made.remarks if "gets here within 30 min" in r.text]
    assert 1 <= len(worst) <= 3 and worst[0].level == "look"
    assert worst[0].text.startswith("East edge, ") and " m north of gate G1" in worst[0].text
    assert "Beyond: House 1, 160 m" in worst[0].text or "Beyond: House 1, 170 m" in worst[0].text
    assert "fire there in about" in worst[0].text
    east = made.edges.iloc[made.edges.distance(shapely.Point(EAST + 400, NORTH + 160)).argmin()]
    assert 0 < east["arrives_min"] < 60
    assert east["breach"] == pytest.approx(float(breach_chance(east["intensity_kw_m"], 2.0).value))


def test_after_the_change_has_its_own_depth_and_chance():
    forecast = evening_forecast(12, 270.0)
    forecast.loc[forecast["time_utc"] >= pd.Timestamp("2026-04-18T10:00Z"), "wind_from_deg"] = 180.0
    change = WindChange(pd.Timestamp("2026-04-18T09:30Z").to_pydatetime(), 270.0, 180.0, 12.0, 12.0, 30.0)
    edges = guarded(PADDOCK, forecast, (change,), breaks=breaks_there((2.0, ALL_ROUND))).edges
    north = edges.iloc[edges.distance(shapely.Point(EAST + 200, NORTH + 300)).argmin()]
    assert north["label_after"] == "downwind" and north["chance_after"] > 0.95
    assert north["reach_after_m"] > 100 and 0 < north["breach_after"] < 1
    west = edges.iloc[edges.distance(shapely.Point(EAST, NORTH + 150)).argmin()]
    assert west["reach_after_m"] < north["reach_after_m"]


def test_any_hour_can_be_asked_for():
    made = guarded(PADDOCK, evening_forecast(12, 270.0))
    hours = made.hours[0]
    assert len(hours.time_utc) == 48 and hours.breach.shape == (48, len(made.edges))
    named = hours.labels(pd.Timestamp("2026-04-18T09:20Z").to_pydatetime())
    assert set(named[made.edges["facing_deg"].between(89, 91)]) == {"downwind"}
    assert hours.labels(pd.Timestamp("2026-04-25T09:20Z").to_pydatetime()) is None


def test_the_work_is_passes_of_the_blade():
    set_up = limits(blade_width=3, grade_speed=5)
    assert work_for(4.0, 300.0, set_up) == (1200.0, 2.0, pytest.approx(0.12))
    assert work_for(3.0, 300.0, set_up).passes == 1
    unknown = work_for(4.0, 300.0, LocalLimits())
    assert unknown.area_m2 == 1200.0 and np.isnan(unknown.passes) and np.isnan(unknown.hours)
    assert work_words(1200.0, 0.12, set_up) == "To make good: 0.12 ha, about 10 min with the 3 m blade"
    assert work_words(300.0, float("nan"), LocalLimits()) == "To make good: 300 m²"


def test_a_straight_break_by_a_tree_is_no_ring_and_bare_ground_round_it_is():
    def ring(*more):
        columns = {
            "asset": ["T", *"B"][: 1 + len(more)],
            "kind": ["tree", "bare"][: 1 + len(more)],
            "name": ["T1", ""][: 1 + len(more)],
        }
        assets = make_layer("assets", columns, [shapely.Point(EAST + 100, NORTH + 100), *more], GRID.crs)
        made = guarded(PADDOCK, assets=assets, breaks=breaks_there((4.0, [(90, 98), (110, 98)])))
        return made.breaks[made.breaks["side"] == "Ring round T1"].iloc[0]

    assert ring()["present_m"] == 0 and ring()["area_m2"] > 0
    assert ring(box(90, 90, 20, 20))["short_m"] == 0


def test_nothing_known_beyond_and_a_fallow_is_not_what_burns_next():
    edges = guarded(PADDOCK).edges
    assert edges["beyond"].str.startswith("nothing known").all() and edges["arrives_min"].isna().all()
    fallow = make_layer(
        "assets", {"asset": ["F"], "kind": ["bare"], "name": ["Fallow"]}, [box(410, 0, 80, 300)], GRID.crs
    )
    land = make_layer("neighbours", {"neighbour": ["N"], "name": ["Neighbour 1"]}, [box(405, 0, 900, 300)], GRID.crs)
    edges = guarded(PADDOCK, assets=fallow, neighbours=land).edges
    east = edges.iloc[edges.distance(shapely.Point(EAST + 400, NORTH + 150)).argmin()]
    assert east["beyond"] == "Fallow, 10 m; land of Neighbour 1" and np.isnan(east["arrives_min"])
    edges = guarded(PADDOCK, neighbours=land).edges
    east = edges.iloc[edges.distance(shapely.Point(EAST + 400, NORTH + 150)).argmin()]
    assert east["arrives_min"] < 5


def test_a_break_without_a_width_counts_for_nothing_and_says_so():
    made = guarded(PADDOCK, breaks=breaks_there((float("nan"), ALL_ROUND), (0.0, ALL_ROUND)))
    assert "2 breaks have no width and count for nothing: measure, and type it in." in texts(made, "look")
    assert (made.edges["present_m"] == 0).all() and texts(made, "stop")


@pytest.mark.parametrize(("width_m", "outside"), [(6.0, False), (30.0, True), (1.0, True)])
def test_a_break_nobody_tried_is_flagged(width_m, outside):
    made = guarded(PADDOCK, breaks=breaks_there((width_m, ALL_ROUND)))
    figure = next(f for f in made.figures if "crosses the break at the worst place" in f.name)
    assert figure.outside is outside and 0 <= figure.value <= 1 and figure.source


@pytest.mark.parametrize(
    ("kind", "shape", "width_m"),
    [
        ("water", box(400, -50, 40, 400), 40.0),
        ("green", box(402, -50, 25, 400), 25.0),
        ("road", box(401, -50, 12, 400), 12.0),
        ("road", shapely.LineString([(EAST + 404, NORTH - 50), (EAST + 404, NORTH + 350)]), 6.0),
        ("track", shapely.MultiLineString([[(EAST + 404, NORTH - 50), (EAST + 404, NORTH + 350)]]), 3.0),
        ("crop", box(402, -50, 25, 400), 0.0),
        ("water", shapely.LineString([(EAST + 404, NORTH - 50), (EAST + 404, NORTH + 350)]), 0.0),
    ],
)
def test_what_counts_as_a_break(kind, shape, width_m):
    asset = make_layer("assets", {"asset": ["A"], "kind": [kind], "name": ["A"]}, [shape], GRID.crs)
    made = guarded(PADDOCK, assets=asset)
    east = made.breaks[made.breaks["side"] == "East edge"].iloc[0]
    assert east["present_m"] == pytest.approx(width_m, abs=0.1)
