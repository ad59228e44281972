import numpy as np
import pandas as pd
import pytest
import shapely

from mapper.farm.layers import check_layer, empty_layer, make_layer
from mapper.farm.limits import LocalLimits
from mapper.fire.breach import width_for
from mapper.ground.guard import guard_paddock
from tests.farms import EAST, GRID, NORTH, box, evening_forecast, limits, small_farm
from tests.ground.test_edges import WINDOW

SHAPE = box(0, 0, 400, 300)


def guard(limit_set, breaks=None, assets=None, shape=SHAPE, forecast=None):
    paddock = pd.Series(
        {"paddock": "P", "stubble_t_ha": 2.0, "curing_pct": 100.0, "cut_height_m": 0.2, "geometry": shape}
    )
    crs = GRID.crs
    return guard_paddock(
        paddock,
        evening_forecast() if forecast is None else forecast,
        (),
        (WINDOW,),
        empty_layer("breaks_there", crs) if breaks is None else breaks,
        empty_layer("assets", crs) if assets is None else assets,
        empty_layer("neighbours", crs),
        limit_set,
        crs,
    )


def breaks_there(*rows):
    lines = [shapely.LineString([(EAST + x, NORTH + y) for x, y in xy]) for _, xy in rows]
    return make_layer(
        "breaks_there", {"width_m": [w for w, _ in rows], "made_by": ["grader"] * len(rows)}, lines, GRID.crs
    )


def without(*keys):
    return LocalLimits({k: v for k, v in limits().limits.items() if k not in keys})


WEST = (6.0, [(-3, -3), (-3, 303)])


def test_a_narrow_break_is_told_with_the_limit():
    made = guard(limits(break_edge=10, breach_chance=0.5), breaks_there(WEST))
    west = made.breaks[made.breaks["side"] == "West edge"].iloc[0]
    assert (west["present_m"], west["wanted_m"], west["short_m"]) == (6.0, 10.0, 4.0)
    assert west["wanted_by"].startswith("local limit")
    assert west["todo"] == "widen by 4 m along 300 m (grader)"
    said = next(r for r in made.remarks if r.text.startswith("West break"))
    assert said.text == (
        "West break is 6 m along 300 m. Your local limit is 10 m. "
        "To make good: 0.12 ha, about 10 min with the 3 m blade."
    )
    assert said.level == "stop"
    # 4 m short with a 3 m blade: two passes of 300 m at 5 km/h.
    assert (west["area_m2"], west["passes"], west["work_h"]) == (1200.0, 2.0, pytest.approx(0.12))
    assert all(r.where is not None for r in made.remarks)


def test_stretches_make_up_the_boundary_and_nothing_is_negative():
    made = guard(limits(), breaks_there(WEST))
    check_layer("breaks", made.breaks)
    assert made.breaks["length_m"].sum() == pytest.approx(SHAPE.length)
    assert made.breaks.length.sum() == pytest.approx(SHAPE.length)
    assert (made.breaks[["present_m", "wanted_m", "short_m"]] >= 0).all().all()
    assert len(made.breaks) <= 6


def test_the_width_for_the_accepted_chance_counts_where_it_is_wider():
    made = guard(limits(break_edge=3, breach_chance=0.01))
    head = next(f.value for f in made.figures if "head fire" in f.name)
    east = made.breaks[made.breaks["side"] == "East edge"].iloc[0]
    assert east["wanted_m"] == np.ceil(width_for(0.01, head).value)
    assert "Wilson 1988" in east["wanted_by"]


def test_a_wider_local_limit_wins_over_the_equation():
    made = guard(limits(break_edge=20, breach_chance=0.01))
    assert (made.breaks["wanted_m"] == 20).all()
    assert made.breaks["wanted_by"].str.startswith("local limit").all()


def test_a_limit_nobody_typed_in_is_not_known():
    made = guard(without("break_edge", "breach_chance"))
    assert made.breaks["wanted_m"].isna().all() and made.breaks["short_m"].isna().all()
    assert any("not known" in r.text for r in made.remarks)


def test_trees_close_by_ask_for_more():
    tree = make_layer("assets", {"asset": ["T"], "kind": ["tree"], "name": ["T1"]},
                      [shapely.Point(EAST + 410, NORTH + 150)], GRID.crs)  # fmt: skip
    made = guard(limits(break_edge=3, break_tree=0), assets=tree)
    plain = guard(limits(break_edge=3, break_tree=0))
    wide, narrow = (m.breaks.loc[m.breaks["side"] == "East edge", "wanted_m"].item() for m in (made, plain))
    assert wide > 1.8 * narrow


def test_rings_are_wanted_round_what_stands_inside():
    things = make_layer(
        "assets",
        {"asset": ["T", "S", "F"], "kind": ["tree", "haystack", "tree"], "name": ["T1", "Stack", "Far tree"]},
        [shapely.Point(EAST + x, NORTH + y) for x, y in ((100, 100), (-8, 150), (-50, 150))],
        GRID.crs,
    )
    ring = [(100 + 6 * np.sin(t), 100 + 6 * np.cos(t)) for t in np.linspace(0, 2 * np.pi, 30)]
    made = guard(limits(), breaks_there((4.0, ring)), things)
    rings = made.breaks[made.breaks["side"].str.startswith("Ring")].set_index("guards")
    assert set(rings.index) == {"T1", "Stack"}
    assert (rings.loc["T1", "present_m"], rings.loc["T1", "short_m"]) == (4.0, 0.0)
    assert rings.loc["Stack", "todo"] == "make a bare ring of 20 m"
    assert "Ring round Stack is not there. Your local limit is 20 m." in [r.text for r in made.remarks]


def test_bare_fallow_beside_the_edge_is_a_break():
    fallow = make_layer(
        "assets", {"asset": ["F"], "kind": ["bare"], "name": ["Fallow"]}, [box(400, 0, 30, 300)], GRID.crs
    )
    made = guard(limits(), assets=fallow)
    east = made.breaks[made.breaks["side"] == "East edge"].iloc[0]
    assert east["present_m"] == pytest.approx(30, abs=0.5) and east["short_m"] == 0


def test_a_road_counts_as_wide_as_taken_and_a_line_that_crosses_does_not():
    farm = small_farm()
    made = guard(limits(), assets=farm.assets)
    south = made.breaks[made.breaks["side"] == "South edge"]
    assert south["present_m"].max() == 0  # 15 m away: stubble lies between
    crossing = guard(limits(), breaks_there((10.0, [(-200, 150), (200, 150)])))
    west = crossing.breaks[crossing.breaks["side"] == "West edge"]
    assert west["present_m"].max() == 0


def test_care_distances_nobody_set_are_named():
    columns = {"asset": ["H"], "kind": ["house"], "name": ["House"]}
    house = make_layer("assets", columns, [shapely.Point(EAST - 300, NORTH)], GRID.crs)
    made = guard(without("care_house"), assets=house)
    assert "Care distance is not known for: house." in [r.text for r in made.remarks]
