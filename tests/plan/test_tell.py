"""Who must be told: adjoining, near, in smoke, authorities; by when; told, late, too long ago. Periods are invented."""

from datetime import UTC, datetime, timedelta

import pandas as pd
import pytest
import shapely

from mapper.farm.errors import SettingError
from mapper.farm.layers import empty_layer, make_layer
from mapper.farm.notices import Authority, Told
from mapper.plan.adjoin import how_it_adjoins
from mapper.plan.tell import LATE, NOBODY, NOT_TOLD, OLD, TOLD, WHEN, keys_by_name, not_told, note_told, who_to_tell
from tests.farms import EAST, GRID, NORTH, box, limits, small_farm

# Saturday 18 April 2026, 16:00 in Melbourne (UTC+10).
START = datetime(2026, 4, 18, 6, tzinfo=UTC)
BEFORE = datetime(2026, 4, 16, 2, tzinfo=UTC)
SMOKE = empty_layer("smoke", GRID.crs)


def tell(farm, start=START, now=START, smoke=SMOKE):
    burnt = farm.paddocks.union_all()
    return who_to_tell(farm, burnt, smoke, start, now).set_index("key")


def everybody_told(farm, at=BEFORE):
    for key in tell(farm).index:
        farm = note_told(farm, key, at, "Farm manager", START)
    return farm


@pytest.mark.parametrize(
    ("gap_m", "kind", "said"),
    [
        (0, None, "land adjoins the burn"),
        (25, None, "land 25 m away, as across a lane or reserve"),
        (25, "road", "land adjoins across Long Road, 25 m"),
        (120, "water", "land adjoins across Creek, 120 m"),
        (120, None, ""),
        (120, "power_line", ""),
        (500, "road", ""),
    ],
)
def test_land_adjoins_across_roads_lanes_and_water(gap_m, kind, said):
    burnt, land = box(0, 0, 400, 300), box(400 + gap_m, 0, 500, 300)
    line = shapely.LineString([(EAST + 400 + gap_m / 2, NORTH - 900), (EAST + 400 + gap_m / 2, NORTH + 900)])
    columns = {"asset": ["A"], "kind": [kind or "gate"], "name": ["Creek" if kind == "water" else "Long Road"]}
    assets = make_layer("assets", columns, [line if kind else shapely.Point(EAST, NORTH)], GRID.crs)
    assert how_it_adjoins(land, burnt, assets) == said


def test_authorities_and_who_adjoins_are_told_and_the_far_are_not():
    found = tell(small_farm())
    assert set(found.index) == {
        "authority:Fire service", "authority:Local authority or permit officer", "neighbour:N1", "asset:R1",
    }  # fmt: skip
    assert found.loc["neighbour:N1", "why"] == "land 5 m away, as across a lane or reserve"
    assert found.loc["asset:R1", "who"] == "Manager of Tank Road"
    assert (found["state"] == NOT_TOLD).all() and found["blocks"].all()


def test_a_distance_asked_for_brings_in_the_far():
    assert "neighbour:N2" in tell(small_farm(limits=limits(tell_distance=12000))).index


def test_smoke_brings_in_whoever_it_reaches():
    smoke = make_layer("smoke", {"when": ["now"], "level": ["smoke"]}, [box(-9500, 4500, 2000, 2000)], GRID.crs)
    assert tell(small_farm(), smoke=smoke).loc["neighbour:N2", "why"] == "smoke may drift there"


def test_the_period_is_counted_back_in_hours_and_in_working_days():
    hours = tell(small_farm(limits=limits(notice_hours=24)))
    assert hours.loc["neighbour:N1", "by"] == pd.Timestamp(START - timedelta(hours=24))
    # Saturday's burn, one working day: Friday lies whole in between, so by Thursday at the same hour.
    days = tell(small_farm(limits=limits(notice_hours=2, notice_days=1)))
    assert days.loc["neighbour:N1", "by"] == pd.Timestamp("2026-04-16T06:00Z")
    assert days.loc["authority:Fire service", "by"] == pd.Timestamp(START - timedelta(hours=2))
    own = small_farm(authorities=(Authority("Forest officer", "0491 570 110", "forest within 3 km", 96.0),))
    found = tell(own)
    assert found.loc["authority:Forest officer", "by"] == pd.Timestamp(START - timedelta(hours=96))
    assert "authority:Fire service" not in found.index


def test_working_days_keep_the_wall_clock_when_the_clocks_change():
    # Clocks go back on Sunday 5 April 2026: Monday 16:00 is UTC+10, Friday 16:00 UTC+11.
    monday = datetime(2026, 4, 6, 6, tzinfo=UTC)
    found = tell(small_farm(limits=limits(notice_hours=1, notice_days=1)), monday, monday)
    assert found.loc["neighbour:N1", "by"] == pd.Timestamp("2026-04-03T05:00Z")


def test_told_is_kept_with_who_and_when_and_then_nothing_stands_against():
    farm = everybody_told(small_farm())
    found = tell(farm)
    assert (found["state"] == TOLD).all() and (found["told_by"] == "Farm manager").all()
    assert not_told(found.reset_index(), farm.zone) == ()
    assert farm.neighbours["told_at"].tolist() == ["2026-04-16T02:00+00:00", ""]
    assert {t.key for t in farm.told} == {k for k in found.index if not k.startswith("neighbour")}
    taken_back = note_told(farm, "authority:Fire service", None, "", START)
    assert not_told(tell(taken_back).reset_index(), farm.zone) == ("Authorities not yet told: Fire service.",)


def test_untold_late_old_and_undated_each_say_so():
    farm = small_farm(authorities=(Authority("Fire service"),))
    cases = {
        "": (NOT_TOLD, "Not yet told: Neighbour 1"),
        "2026-04-18T02:00+00:00": (LATE, "Neighbour 1 was told 18 Apr 12:00, later than the notice asked for (17 Apr"),
        "2026-03-01 09:00": (OLD, "Told too long ago, tell again: Neighbour 1"),
        "yes": (WHEN, "Told, but when is not known: Neighbour 1"),
        "2026-04-19T02:00+00:00": (NOT_TOLD, "Not yet told: Neighbour 1"),
        "2026-04-17 12:00": (TOLD, ""),
    }  # fmt: skip
    for told_at, (state, words) in cases.items():
        mine = farm.with_(neighbours=farm.neighbours.assign(told_at=[told_at, ""]))
        found = tell(mine)
        assert found.loc["neighbour:N1", "state"] == state, told_at
        said = " ".join(not_told(found.reset_index(), farm.zone))
        assert words in said if words else "Neighbour 1" not in said, told_at


def test_no_neighbour_on_the_map_is_not_nobody_to_tell():
    farm = small_farm(neighbours=empty_layer("neighbours", GRID.crs))
    found = tell(farm)
    assert found.loc[NOBODY, "blocks"] and found.loc[NOBODY, "state"] == NOT_TOLD
    assert tell(note_told(farm, NOBODY, BEFORE, "Farm manager", START)).loc[NOBODY, "state"] == TOLD


def test_a_farm_without_limits_assets_or_neighbours_can_be_asked():
    bare = small_farm(
        assets=empty_layer("assets", GRID.crs), neighbours=empty_layer("neighbours", GRID.crs), limits=limits()
    )
    found = tell(bare, start=None)
    assert found["by"].isna().all() and len(found) == 3


@pytest.mark.parametrize(
    ("key", "at", "by", "words"),
    [("neighbour:N9", BEFORE, "me", "no such neighbour"), ("neighbour:N1", BEFORE, "", "nobody is named"),
     ("authority:Fire service", START + timedelta(days=1), "me", "not come yet")],
)  # fmt: skip
def test_a_note_that_says_nothing_is_refused(key, at, by, words):
    with pytest.raises(SettingError, match=words):
        note_told(small_farm(), key, at, by, START)


def test_a_note_survives_the_file_and_names_lead_to_keys(tmp_path):
    from mapper.files.project import open_project, save_project

    farm = everybody_told(
        small_farm(
            authorities=(Authority("Fire service", "0491 570 110", notice_hours=4.0), Authority("Permit officer"))
        )
    )
    save_project(farm, tmp_path / "farm.gpkg")
    again, _ = open_project(tmp_path / "farm.gpkg")
    assert again.told == farm.told
    assert [str(a) for a in again.authorities] == [str(a) for a in farm.authorities]
    assert Told.from_plain(farm.told[0].as_plain()) == farm.told[0]
    known = keys_by_name(farm)
    assert known["fire service"] == "authority:Fire service" and known["manager of tank road"] == "asset:R1"
    assert known["neighbour 2"] == "neighbour:N2"
