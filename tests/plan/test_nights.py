"""The nights to come, on the small invented farm: Saturday's forecast has an evening, the next night's has none."""

from datetime import UTC, date, datetime, timedelta

import pandas as pd
import pytest

from mapper.ahead import week_lines
from mapper.cli import main
from mapper.farm.errors import Stopped
from mapper.farm.layers import empty_layer
from mapper.plan.nights import BREAK_OPEN, NOT, SUITED, TELL_FIRST, NightsRequest, hours_needed, plan_nights
from mapper.plan.tell import note_told
from tests.farms import GRID, evening_forecast, limits, small_farm

EARLY = datetime(2026, 4, 17, 1, tzinfo=UTC)
REQUEST = NightsRequest(date(2026, 4, 18), EARLY, 2)


def told(farm):
    for key in ("authority:Fire service", "authority:Local authority or permit officer", "neighbour:N1", "asset:R1"):
        farm = note_told(farm, key, EARLY - timedelta(hours=1), "Farm manager", EARLY)
    return farm


def line(plan, paddock, night):
    table = plan.table
    return table[(table["paddock"] == paddock) & (table["night"] == night)].iloc[0]


@pytest.fixture(scope="module")
def planned():
    return plan_nights(told(small_farm()), REQUEST)


def test_what_suits_is_chosen_within_the_hours(planned):
    plan, _ = planned
    assert {n.night for n in plan.nights} == {date(2026, 4, 18), date(2026, 4, 19)}
    west, east = line(plan, "West", date(2026, 4, 18)), line(plan, "East", date(2026, 4, 18))
    assert west["state"] == east["state"] == SUITED and west["chosen"] and east["chosen"]
    assert west["need_h"] + east["need_h"] <= west["there_h"]
    assert 0 <= west["risk"] < 0.05
    assert plan.table.groupby("paddock")["chosen"].sum().le(1).all()
    assert plan.bound >= plan.worth > 0


def test_a_night_without_hours_says_why():
    forecast = evening_forecast()
    forecast.loc[forecast["time_utc"] >= pd.Timestamp("2026-04-19T02:00Z"), "wind_km_h"] = 60.0
    plan, _ = plan_nights(told(small_farm(forecast=forecast)), REQUEST)
    sunday = line(plan, "West", date(2026, 4, 19))
    assert sunday["state"] == NOT and sunday["why"].startswith("not: ") and not sunday["chosen"]
    assert line(plan, "West", date(2026, 4, 18))["chosen"]


def test_who_is_to_be_told_first_is_told_by_when():
    plan, _ = plan_nights(small_farm(), REQUEST)
    west = line(plan, "West", date(2026, 4, 18))
    assert west["state"] == TELL_FIRST and west["chosen"]
    assert (
        west["why"].startswith("Tell Fire service, Local authority or permit officer")
        and "by Fri 17 Apr 16" in west["why"]
    )
    assert west["tell_by"] < pd.Timestamp("2026-04-17T08:00Z")


def test_too_late_to_tell_is_no_night():
    late = NightsRequest(date(2026, 4, 18), datetime(2026, 4, 18, 3, tzinfo=UTC), 1)
    plan, _ = plan_nights(small_farm(), late)
    west = line(plan, "West", date(2026, 4, 18))
    assert west["state"] == NOT and west["why"].startswith("not: too late to tell Fire service")
    assert not plan.table["chosen"].any()


def test_an_open_break_is_no_night_whatever_it_matters():
    farm = told(small_farm(breaks_there=empty_layer("breaks_there", GRID.crs)))
    plan, _ = plan_nights(farm, NightsRequest(date(2026, 4, 18), EARLY, 1, {"West": 100.0}))
    west = line(plan, "West", date(2026, 4, 18))
    assert west["state"] == BREAK_OPEN and "no break along" in west["why"] and not plan.table["chosen"].any()


def test_what_matters_goes_first_where_the_hours_are_short():
    farm = told(small_farm(limits=limits(light_from=20, out_by=21.6)))
    for name in ("West", "East"):
        plan, _ = plan_nights(farm, NightsRequest(date(2026, 4, 18), EARLY, 1, {name: 50.0}))
        need, there = plan.table.set_index("paddock")["need_h"], plan.table["there_h"].iloc[0]
        assert need.max() <= there < need.sum()
        assert set(plan.table.loc[plan.table["chosen"], "paddock"]) == {name}
        said = "\n".join(week_lines(plan, "Australia/Melbourne"))
        assert "suited, but others take the hours" in said


def test_more_crews_take_fewer_hours():
    farm = small_farm()
    _, workings = plan_nights(farm, NightsRequest(date(2026, 4, 18), EARLY, 1))
    rows = workings.done["rows"].output[0]
    one = hours_needed(rows, farm)
    assert hours_needed(rows, farm.with_(crews=farm.crews * 2)) == pytest.approx(one / 2)


def test_a_forecast_that_ends_is_said_and_stopping_stops():
    plan, _ = plan_nights(told(small_farm()), NightsRequest(date(2026, 4, 18), EARLY, 5))
    assert any("The forecast reaches 2 of the 5 nights" in r.text for r in plan.remarks)
    with pytest.raises(Stopped):
        plan_nights(small_farm(), REQUEST, cancelled=lambda: True)
    nothing, _ = plan_nights(small_farm(forecast=None), REQUEST)
    assert nothing.table.empty and nothing.nights == ()
    assert week_lines(nothing, "Australia/Melbourne") == ["No night to come can be looked at."]


def test_the_week_is_told_in_lines(planned):
    plan, _ = planned
    text = "\n".join(week_lines(plan, "Australia/Melbourne"))
    assert "Sat 18" in text and "* suited" in text and "Burn West (" in text


def test_a_storm_leaves_nothing_and_says_so():
    plan, _ = plan_nights(told(small_farm(forecast=evening_forecast(60))), REQUEST)
    assert not plan.table["chosen"].any()
    assert "Nothing." in "\n".join(week_lines(plan, "Australia/Melbourne"))


def test_the_commands_print_a_week_and_keep_a_note(tmp_path, capsys):
    from mapper.files.project import open_project, save_project

    home = tmp_path / "farm.gpkg"
    save_project(small_farm(), home)
    assert (
        main(["told", str(home), "Fire service", "Neighbour 1", "--at", "2026-04-17T10:00", "--by", "Farm manager"])
        == 0
    )
    farm, _ = open_project(home)
    assert [t.key for t in farm.told] == ["authority:Fire service"]
    assert farm.neighbours["told_by"].tolist() == ["Farm manager", ""]
    assert main(["told", str(home), "Nobody at all"]) == 1
    assert "nobody is called" in capsys.readouterr().err
    assert (
        main(["nights", str(home), "--from", "2026-04-18", "--nights", "1", "--out", str(tmp_path / "week.csv")]) == 0
    )
    said = capsys.readouterr().out
    assert "These nights are past: seen from noon of Sat 18 Apr 2026." in said and "Hours to light" in said
    assert len(pd.read_csv(tmp_path / "week.csv")) == 2
    assert main(["nights", str(home), "--matters", "West"]) == 1
