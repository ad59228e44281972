from datetime import UTC, datetime, timedelta

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.layers import empty_layer, make_layer
from mapper.order.danger import Spread
from mapper.order.wayground import Safe, safe_ground, way_ground
from mapper.order.ways_out import Stand, way_out
from mapper.weather.wind import WindChange
from tests.farms import GRID

# The rules checked are our own reading of trade practice; no published source.
PADDOCK = shapely.box(0, 0, 800, 600)
WEST, EAST, NORTH = (
    Safe(name, shapely.box(*xy))
    for name, xy in (("west", (-8, 0, 0, 600)), ("east", (800, 0, 808, 600)), ("north", (0, 600, 800, 608)))
)
LIVE = (shapely.LineString([(412, 10), (412, 590)]),)
DONE = datetime(2026, 4, 18, 10, tzinfo=UTC)


def things(*rows):
    kinds, names, shapes = zip(*rows, strict=True) if rows else ((), (), ())
    if not rows:
        return empty_layer("assets", GRID.crs)
    return make_layer(
        "assets", {"asset": list(names), "kind": list(kinds), "name": list(names)}, list(shapes), GRID.crs
    )


def buffers(*shapes):
    if not shapes:
        return empty_layer("buffers", GRID.crs)
    columns = {"kind": ["power_line"] * len(shapes), "purpose": ["no burn"] * len(shapes)}
    return make_layer("buffers", columns, list(shapes), GRID.crs)


def go(*safe, to_deg=90.0, change=None, live=LIVE, assets=None, strips=None, start=(400, 300), sigma=15.0):
    ground = way_ground(PADDOCK, safe, things() if assets is None else assets, buffers() if strips is None else strips)
    return way_out(Stand(DONE, shapely.Point(start), tuple(live)), ground, Spread(to_deg, sigma), change)


def change(to_from_deg, hours_later):
    return WindChange(DONE + timedelta(hours=hours_later), 270.0, to_from_deg, 8.0, 15.0, 60.0)


def test_upwind_or_across_and_never_downwind():
    assert go(WEST, EAST).to == "west"
    assert go(NORTH).to == "north"
    assert go(EAST) is None


def test_never_across_a_live_row_but_round_it():
    # Wind from the east: the row is alight between the crew and the safe ground upwind of it.
    assert go(EAST, to_deg=270.0, live=(shapely.LineString([(412, -60), (412, 660)]),)) is None
    found = go(WEST, to_deg=90.0, live=(shapely.LineString([(380, 250), (380, 350)]),), start=(300, 300))
    assert found.to == "west"


@settings(max_examples=15, deadline=None)
@given(st.floats(0, 359), st.floats(5, 25))
def test_no_way_crosses_fire_or_ends_in_its_lee(to_deg, sigma):
    row = shapely.LineString([(412, 150), (412, 450)])
    found = go(WEST, EAST, NORTH, to_deg=to_deg, sigma=sigma, live=(row,))
    if found is not None:
        assert not found.line.intersects(row)
        end = np.array(found.line.coords[-1])
        for off in np.linspace(-2, 2, 9) * sigma:
            heading = np.radians(to_deg + off)
            run = shapely.LineString([end, end - 480 * np.array([np.sin(heading), np.cos(heading)])])
            assert not run.intersects(row)


def test_the_way_keeps_to_bare_ground_where_that_is_cheaper():
    lane = Safe("lane", shapely.box(0, 296, 400, 304))
    found = go(lane, WEST, start=(300, 340))
    assert found.to == "lane" and found.line.length < 60


def test_never_through_water_or_a_strip_under_wires():
    dam = things(("water", "Dam", shapely.box(100, -100, 200, 550)))
    around = go(WEST, assets=dam)
    assert around is None or around.line.distance(dam.geometry.iloc[0]) > 0
    assert around.line.length > 450
    wall = buffers(shapely.box(100, -100, 150, 700))
    assert go(WEST, strips=wall) is None


def test_a_way_that_holds_after_the_change_is_taken_before_a_shorter_one():
    live = (shapely.LineString([(412, 10), (412, 310)]),)
    # Wind from the west, then from the south: the north edge lies in the lee of the row after the change.
    near_north = (400, 500)
    assert go(WEST, NORTH, live=live, start=near_north).to == "north"
    found = go(WEST, NORTH, live=live, start=near_north, change=change(180.0, 3))
    assert found is None or found.until is None or found.until == DONE + timedelta(hours=1)


def test_a_way_that_fails_after_the_change_says_until_when_and_is_none_within_two_sigma_of_it():
    lee = Safe("north", shapely.box(380, 600, 440, 608))
    found = go(lee, change=change(180.0, 3))
    assert found.until == DONE + timedelta(hours=1)
    # Two sigma is two hours: with the change an hour and a half away it may have come.
    assert go(lee, change=change(180.0, 1.5)) is None
    # From the row's south end the west is clear under both winds.
    assert go(WEST, start=(400, 5), change=change(180.0, 1.5)).until is None


def test_safe_ground_is_roads_bare_ground_and_wide_breaks_but_no_gate_and_no_exposed_edge():
    assets = things(
        ("gate", "G1", shapely.Point(-5, 100)),
        ("road", "Tank Road", shapely.LineString([(-20, -30), (900, -30)])),
        ("green", "Lucerne", shapely.box(800, 0, 900, 600)),
    )
    lines = [[(0, 600), (800, 600)], [(0, 0), (0, 600)], [(50, 50), (60, 50)], [(0, 0), (800, 0)]]
    breaks = make_layer(
        "breaks",
        {"side": ["North edge", "West edge", "Ring round T", "South edge"], "present_m": [10.0, 6.0, 10.0, 10.0]},
        [shapely.LineString(xy) for xy in lines],
        GRID.crs,
    )
    edges = make_layer(
        "edges",
        {"edge_id": ["1", "2"], "label": ["downwind", "upwind"], "label_after": ["", ""]},
        [shapely.LineString(lines[3]), shapely.LineString(lines[0])],
        GRID.crs,
    )
    names = [s.name for s in safe_ground(PADDOCK, assets, breaks, edges, 8.0)]
    assert names == ["Tank Road", "Lucerne", "10 m break, north edge"]
