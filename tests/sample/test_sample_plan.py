"""The sample farm read and planned as a user would: what comes out fits what was put in."""

from datetime import UTC, date, datetime

import geopandas as gpd
import pytest

from mapper.carried import carried
from mapper.farm.farm import Farm
from mapper.files.farmtoml import read_farm
from mapper.hours.verdict import BanCheck
from mapper.plan.burnplan import BurnPlan
from mapper.plan.job import run
from mapper.plan.request import NightRequest


@pytest.fixture(scope="module")
def farm() -> Farm:
    return read_farm(carried("sample_data", "farm.toml"))[0]


@pytest.fixture(scope="module")
def plan(farm) -> BurnPlan:
    checked = datetime(2026, 4, 18, 4, tzinfo=UTC)
    request = NightRequest(date(2026, 4, 18), checked, "test", ban=BanCheck("none", checked, "test"))
    return run(farm, request)[0]


def test_the_farm_is_read_whole_and_known_to_be_invented(farm):
    assert farm.invented and "invented" in farm.name
    assert (len(farm.paddocks), len(farm.neighbours)) == (6, 4) and len(farm.crews) >= 2
    assert {h.machine for h in farm.harvesters} == {m for t in farm.tracks.values() for m in t["machine"].unique()}
    assert farm.forecast is not None and len(farm.forecast) == 72


def test_row_length_is_the_cut_area_over_the_width(plan, farm):
    widths = {
        "Dam Paddock": 12.2,
        "Granite Corner": 12.2,
        "Creek Flat": 13.7,
        "House Paddock": 13.7,
        "Back Block": 12.2,
    }
    km = plan.windrows.assign(km=plan.windrows.length / 1000).groupby("paddock")["km"].sum()
    areas = farm.paddocks.set_index("paddock").area
    for name, width in widths.items():
        # The script drives with 0.25 m of overlap; laps keep 0.3 m off the boundary and corners are rounded.
        assert km[name] == pytest.approx(areas[name] / (width - 0.25) / 1000, rel=0.04), name


def test_rows_come_from_the_log_but_for_the_paddock_without_one(plan):
    estimated = plan.windrows[plan.windrows["evidence"] == "estimated"]
    assert set(estimated["paddock"]) == {"Back Block"}


def test_no_row_lies_outside_the_paddocks_or_in_the_dam(plan, farm):
    outside = plan.windrows.difference(farm.paddocks.union_all().buffer(0.1)).length.sum()
    assert outside < 1.0


def test_both_machines_share_a_paddock(plan):
    lane = plan.windrows[plan.windrows["paddock"] == "Lane Paddock"]
    assert set(lane["machine"]) == {"harvester_1", "harvester_2"}


def test_saturday_evening_is_open_until_the_change_and_friday_is_not(plan, farm):
    assert len(plan.windows) == 1
    window = plan.windows[0]
    # To 23:40 in Melbourne in April (UTC+10): out by midnight less 20 min of burn-out; the change comes at 02:30.
    first_h = farm.limits.value("light_from")
    assert window.starts_at == datetime(2026, 4, 18, int(first_h) - 10, tzinfo=UTC)
    assert window.ends_at == datetime(2026, 4, 18, 13, 40, tzinfo=UTC)
    assert len(plan.changes) == 1 and plan.changes[0].at == datetime(2026, 4, 18, 16, 30, tzinfo=UTC)
    checked = datetime(2026, 4, 17, 4, tzinfo=UTC)
    friday = run(farm, NightRequest(date(2026, 4, 17), checked, "test", ban=BanCheck("none", checked, "test")))[0]
    assert friday.windows == () and not friday.go


def test_the_open_creek_side_is_found(plan):
    creek = plan.breaks[(plan.breaks["paddock"] == "Creek Flat") & (plan.breaks["present_m"] == 0)]
    assert creek[creek["side"].str.contains("South")].length_m.sum() > 1500


def test_neighbours_not_told_stand_against_it(plan):
    told = plan.tell.set_index("neighbour")["told_at"]
    assert told["N1"] and not told["N4"]
    assert any("Neighbour 4" in text for text in plan.against)
    assert isinstance(plan.pieces, gpd.GeoDataFrame) and (plan.pieces["order_no"] > 0).sum() > 50


def test_every_block_has_a_way_out_and_only_telling_and_drives_are_left_to_do(plan):
    assert len(plan.blocks) >= 3
    blocks = set(zip(plan.blocks["paddock"], plan.blocks["block"], strict=True))
    assert blocks == set(zip(plan.ways_out["paddock"], plan.ways_out["block"], strict=True))
    shut_in = [r.text for r in plan.remarks if r.step == "order" and r.level == "stop"]
    assert all("drives have no way out" in text for text in shut_in)
    assert all("told" in text or text in shut_in for text in plan.against)
