import pandas as pd
import pytest
import shapely

from mapper.farm.layers import empty_layer, make_layer
from mapper.ground.buffers import care_buffers
from mapper.ground.raking import raking, raking_words
from tests.farms import EAST, GRID, NORTH, box, limits
from tests.ground.test_breaks import breaks_there
from tests.ground.test_edges import guarded

SHAPE = box(0, 0, 400, 300)
PADDOCKS = make_layer("paddocks", {"paddock": ["P"]}, [SHAPE], GRID.crs)
ONE = pd.Series({"paddock": "P", "stubble_t_ha": 2.0, "curing_pct": 100.0, "cut_height_m": 0.2, "geometry": SHAPE})


def rows(*xs):
    lines = [shapely.LineString([(EAST + x, NORTH), (EAST + x, NORTH + 300)]) for x in xs]
    names = [f"P-{k}" for k in range(len(xs))]
    return make_layer("windrows", {"row_id": names, "paddock": ["P"] * len(xs)}, lines, GRID.crs)


def test_rows_are_raked_back_by_what_the_break_lacks():
    breaks = guarded(ONE, breaks=breaks_there((4.0, [(-3, -3), (403, -3), (403, 303), (-3, 303), (-3, -3)])),
                     limit_set=limits(break_edge=10, breach_chance=0.5)).breaks  # fmt: skip
    windrows = rows(100, 200)
    table = raking(windrows, PADDOCKS, breaks, empty_layer("breaks_there", GRID.crs), empty_layer("buffers", GRID.crs))
    # Each row ends at the edge north and south, where 6 m are wanted and not there.
    assert table["rake_m"].tolist() == pytest.approx([6.0] * 4)
    said = raking_words(table, windrows)[0]
    assert said.text.startswith("2 rows run into ") and said.text.endswith("up to 12 m of each, 24 m in all.")


def test_under_wires_a_row_stays_and_in_a_ring_it_is_raked():
    assets = make_layer(
        "assets",
        {"asset": ["L", "T"], "kind": ["power_line", "tree"], "name": ["Line", "T1"]},
        [
            shapely.LineString([(EAST - 50, NORTH + 150), (EAST + 450, NORTH + 150)]),
            shapely.Point(EAST + 100, NORTH + 50),
        ],
        GRID.crs,
    )
    buffers = care_buffers(assets, limits(care_power_line=20, break_tree=4), GRID.crs)
    windrows = rows(100)
    nothing = empty_layer("breaks", GRID.crs), empty_layer("breaks_there", GRID.crs)
    table = raking(windrows, PADDOCKS, *nothing, buffers).set_index("against")
    assert table.loc["strip under Line", ["unlit_m", "rake_m"]].tolist() == pytest.approx([40.0, 0.0])
    assert table.loc["bare ring round T1", "rake_m"] == pytest.approx(8.0, abs=0.1)
    levels = {r.level: r.text for r in raking_words(table.reset_index(), windrows)}
    assert levels["note"] == "1 row runs into strip under Line; stays unlit: 40 m."
    assert levels["look"] == "1 row runs into bare ring round T1; rake back 8 m."


def test_ground_that_two_claim_counts_once_and_other_paddocks_rows_are_let_be():
    two = breaks_there((20.0, [(0, 150), (400, 150)]), (20.0, [(0, 155), (400, 155)]))
    windrows = rows(100)
    table = raking(windrows, PADDOCKS, empty_layer("breaks", GRID.crs), two, empty_layer("buffers", GRID.crs))
    assert table["rake_m"].sum() == pytest.approx(25.0)
    assert raking(
        windrows.iloc[:0], PADDOCKS, empty_layer("breaks", GRID.crs), two, empty_layer("buffers", GRID.crs)
    ).empty


def test_a_lap_row_in_the_strip_that_is_wanted_lies_along_it():
    breaks = guarded(ONE, limit_set=limits(break_edge=10, breach_chance=0.5)).breaks
    lap = shapely.LineString([(EAST + x, NORTH + y) for x, y in ((5, 5), (395, 5), (395, 295), (5, 295), (5, 10))])
    windrows = make_layer("windrows", {"row_id": ["P-0"], "paddock": ["P"]}, [lap], GRID.crs)
    table = raking(windrows, PADDOCKS, breaks, empty_layer("breaks_there", GRID.crs), empty_layer("buffers", GRID.crs))
    assert table["rake_m"].sum() == pytest.approx(lap.length)
    (said,) = raking_words(table, windrows)
    assert said.text.startswith("1 row lies along ") and said.text.endswith("rake it off or leave it: 1,355 m.")
