"""A go, and what takes it away: an open or narrow break, a gap, somebody untold, nobody known to tell."""

from dataclasses import replace
from datetime import UTC, datetime

import pandas as pd
import pytest
import shapely

from mapper.farm.layers import empty_layer, make_layer
from mapper.hours.verdict import BanCheck
from mapper.plan.job import run
from mapper.plan.tell import note_told
from tests.farms import GRID, MADE_AT, box, small_farm
from tests.plan.test_job import NIGHT

BEFORE = datetime(2026, 4, 16, tzinfo=UTC)
ASKED = replace(NIGHT, ban=BanCheck("none", datetime(2026, 4, 18, 4, tzinfo=UTC), "Adviser"), paddocks=("West",))


def told(farm, plan):
    for key in plan.tell["key"]:
        farm = note_told(farm, key, BEFORE, "Farm manager", MADE_AT)
    return farm


@pytest.fixture(scope="module")
def good():
    """A farm whose plan for West is a go, and the workings of it."""
    farm = small_farm()
    shape = box(0, 0, 160, 120)
    farm = farm.with_(
        paddocks=farm.paddocks.iloc[:1].set_geometry([shape], crs=GRID.crs),
        neighbours=farm.neighbours.set_geometry(
            [box(165, -500, 900, 1500), farm.neighbours.geometry.iloc[1]], crs=GRID.crs
        ),
    )
    farm = farm.with_(breaks_there=ring(farm, 10.0))
    plan, workings = run(farm, ASKED)
    farm = told(farm, plan)
    plan, workings = run(farm, ASKED, workings)
    assert plan.go, plan.against
    return farm, workings


def against(good, **changes):
    farm, workings = good
    plan, _ = run(farm.with_(**changes), ASKED, workings)
    return plan.go, " ".join(plan.against)


def ring(farm, width_m, cut=None):
    """The break round West, as wide as said, without what lies in a box (offsets from the paddock's corner)."""
    west = farm.paddock("West").geometry
    line = shapely.LineString(west.buffer(5, join_style="mitre").exterior.coords)
    parts = (
        [line]
        if cut is None
        else list(shapely.get_parts(line.difference(shapely.affinity.translate(cut, *west.bounds[:2]))))
    )
    columns = {"width_m": [width_m] * len(parts), "made_by": ["grader"] * len(parts)}
    return make_layer("breaks_there", columns, parts, GRID.crs)


def test_no_break_is_no_go(good):
    go, said = against(good, breaks_there=empty_layer("breaks_there", GRID.crs))
    assert not go and "no break along" in said


def test_a_break_under_the_local_limit_is_no_go(good):
    go, said = against(good, breaks_there=ring(good[0], 3.0))
    assert not go and "breaks are 3 m along" in said and "Your local limit is 4 m; for a 5 in 100 chance" in said


def test_a_gap_of_a_few_metres_downwind_is_no_go(good):
    # Wind from the north-west: the east edge is exposed.
    go, said = against(good, breaks_there=ring(good[0], 10.0, shapely.box(155, 50, 175, 62)))
    assert not go and "Gap of 12 m in the break" in said and "east edge" in said


def test_the_whole_break_again_is_a_go(good):
    assert against(good, breaks_there=ring(good[0], 10.0))[0]


def test_an_authority_not_told_is_no_go(good):
    farm, _ = good
    go, said = against(good, told=tuple(t for t in farm.told if t.key != "authority:Fire service"))
    assert not go and "Authorities not yet told: Fire service." in said


def test_no_neighbours_on_the_map_is_no_go_until_somebody_says_who_was_told(good):
    farm, workings = good
    alone = farm.with_(neighbours=empty_layer("neighbours", GRID.crs))
    plan, workings = run(alone, ASKED, workings)
    assert not plan.go and any("Whoever adjoins" in t for t in plan.against)
    assert run(told(alone, plan), ASKED, workings)[0].go


def test_last_seasons_notice_does_not_count(good):
    farm, _ = good
    old = farm.neighbours.assign(told_at="2025-04-16T00:00+00:00")
    go, said = against(good, neighbours=old)
    assert not go and "Told too long ago, tell again: Neighbour 1." in said


def test_rows_on_the_break_are_on_the_plan(good):
    farm, workings = good
    plan, _ = run(farm, ASKED, workings)
    assert isinstance(plan.raking, pd.DataFrame) and set(plan.raking.columns) >= {"row_id", "unlit_m", "rake_m"}
