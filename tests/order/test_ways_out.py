from datetime import UTC, datetime, timedelta

import pytest
import shapely

from mapper.farm.layers import empty_layer, make_layer
from mapper.order.ways_out import Safe, safe_ground, way_out
from mapper.weather.wind import WindChange
from tests.farms import GRID

PADDOCK = shapely.box(0, 0, 800, 600)
START = shapely.Point(400, 300)
WEST, EAST, NORTH = (
    Safe(n, shapely.Point(xy)) for n, xy in (("west", (0, 300)), ("east", (800, 300)), ("north", (400, 600)))
)
LIVE = [shapely.LineString([(412, 10), (412, 590)])]
DONE = datetime(2026, 4, 18, 10, tzinfo=UTC)


def go(*safe, to_deg=90.0, change=None, live=(), assets=None, start=START):
    things = empty_layer("assets", GRID.crs) if assets is None else assets
    return way_out(start, safe, live, PADDOCK, things, to_deg, change, DONE)


def change(to_from_deg, hours_later):
    return WindChange(DONE + timedelta(hours=hours_later), 270.0, to_from_deg, 8.0, 15.0, 60.0)


def test_upwind_or_across_and_never_downwind():
    assert go(WEST, EAST).to == "west"
    assert go(NORTH).to == "north"
    assert go(EAST) is None


def test_never_across_a_live_row():
    assert go(EAST, to_deg=270.0, live=LIVE) is None
    assert go(EAST, to_deg=270.0).to == "east"


def test_never_through_water_or_trees():
    dam = make_layer(
        "assets", {"asset": ["D"], "kind": ["water"], "name": ["Dam"]}, [shapely.box(100, 200, 200, 400)], GRID.crs
    )
    assert go(WEST, assets=dam) is None
    assert go(WEST, NORTH, assets=dam).to == "north"


def test_a_way_that_holds_after_the_change_is_taken_before_a_shorter_one():
    # Wind from the west, then from the south: north is across now, downwind after the change.
    assert go(WEST, NORTH).to == "north"
    assert go(WEST, NORTH, change=change(180.0, 3)).to == "west"
    assert go(WEST, NORTH, change=change(180.0, 3)).until is None


def test_a_way_that_fails_after_the_change_says_until_when():
    found = go(NORTH, change=change(180.0, 3))
    assert found.until == DONE + timedelta(hours=1)
    assert go(NORTH, change=change(180.0, -1)) is None


def test_safe_ground_is_gates_roads_bare_ground_and_wide_breaks():
    assets = make_layer(
        "assets",
        {"asset": list("ABCD"), "kind": ["gate", "gate", "road", "green"],
         "name": ["G1", "far", "Tank Road", "Lucerne"]},
        [shapely.Point(-5, 100), shapely.Point(-500, 100), shapely.LineString([(-20, -30), (900, -30)]),
         shapely.box(800, 0, 900, 600)],
        GRID.crs,
    )  # fmt: skip
    breaks = make_layer(
        "breaks",
        {"side": ["North edge", "West edge", "Ring round T"], "present_m": [10.0, 3.0, 6.0]},
        [shapely.LineString([(0, 600), (800, 600)]), shapely.LineString([(0, 0), (0, 600)]),
         shapely.LineString([(50, 50), (60, 50)])],
        GRID.crs,
    )  # fmt: skip
    names = [s.name for s in safe_ground(PADDOCK, assets, breaks)]
    assert names == ["gate G1", "Tank Road", "Lucerne", "10 m break, north edge"]


@pytest.mark.parametrize("metres", [5.0, 11.0])
def test_a_step_away_needs_no_road(metres):
    assert go(Safe("here", shapely.Point(400 + metres, 300)), live=LIVE).to == "here"
