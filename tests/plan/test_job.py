from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from mapper.farm.errors import SettingError, Stopped
from mapper.farm.farm import Crew
from mapper.hours.verdict import BanCheck
from mapper.plan.job import run
from mapper.plan.request import NightRequest
from mapper.plan.workings import STAGES, Workings, stale_stages
from tests.farms import MADE_AT, evening_forecast, limits, small_farm

NIGHT = NightRequest(date(2026, 4, 18), MADE_AT, "Adviser", 7, ban=BanCheck("none", MADE_AT, "Adviser"))


@pytest.fixture(scope="module")
def planned():
    farm = small_farm()
    plan, workings = run(farm, NIGHT)
    return farm, plan, workings


def test_every_row_is_lit_once_or_left_with_a_reason(planned):
    _, plan, _ = planned
    lit = plan.pieces[plan.pieces["order_no"] > 0]
    left = plan.pieces[plan.pieces["order_no"] == 0]
    assert sorted(lit["order_no"]) == list(range(1, len(lit) + 1))
    assert len(lit) > 20
    assert (left["left_reason"] != "").all()
    by_row = plan.pieces.groupby("row_id")["length_m"].sum()
    rows = plan.windrows.set_index("row_id")["length_m"]
    assert np.allclose(by_row.reindex(rows.index), rows, atol=0.5)


def test_everything_is_out_inside_the_window(planned):
    _, plan, _ = planned
    lit = plan.pieces[plan.pieces["order_no"] > 0]
    assert len(plan.windows) == 1
    assert lit["lit_at"].min() >= plan.windows[0].starts_at
    assert lit["out_at"].max() <= plan.windows[0].ends_at + timedelta(minutes=plan.farm.row_burn.burnout_min)


def test_the_neighbour_beside_the_burn_is_told_and_the_far_one_is_not(planned):
    _, plan, _ = planned
    assert "Neighbour 1" in set(plan.tell["who"])
    assert "Neighbour 2" not in set(plan.tell["who"])
    assert any("Not yet told: Neighbour 1" in t for t in plan.against)


def test_a_plan_is_a_go_only_when_all_is_known_and_told():
    farm = small_farm()
    told = farm.neighbours.assign(told_at="2026-04-17 12:00")
    plan, _ = run(farm.with_(neighbours=told), NIGHT)
    assert plan.go == (plan.against == ())
    unknown, _ = run(farm.with_(neighbours=told), replace(NIGHT, ban=BanCheck()))
    assert not unknown.go
    assert set(plan.against) < set(unknown.against)


@pytest.mark.parametrize(
    ("change", "stale"),
    [
        (lambda f: {"limits": limits(wind_max=18)}, set(STAGES) - {"rows"}),
        (lambda f: {"limits": limits(break_edge=8)}, {"ground", "order", "smoke", "escapes"}),
        (lambda f: {"crews": (Crew("1"), Crew("2"))}, {"order", "smoke", "escapes"}),
        (lambda f: {"paddocks": f.paddocks.copy()}, {"rows", "ground", "order", "smoke", "escapes"}),
        (lambda f: {"forecast": evening_forecast(10)}, set(STAGES) - {"rows"}),
        (lambda f: {"phone": "0491 570 158"}, set()),
    ],
)
def test_an_edit_makes_out_of_date_what_depends_on_it(planned, change, stale):
    farm, _, workings = planned
    assert stale_stages(farm, NIGHT, workings) == frozenset()
    assert stale_stages(farm.with_(**change(farm)), NIGHT, workings) == stale


def test_only_what_is_out_of_date_is_worked_out_again(planned):
    farm, plan, workings = planned
    again, _ = run(farm.with_(crews=(Crew("Crew 1", water_l=2000), Crew("Crew 2"))), NIGHT, workings)
    assert again.windrows is plan.windrows
    assert again.hours.equals(plan.hours) or "smoke" in again.hours
    assert set(again.pieces["crew"]) - {""} == {"Crew 1", "Crew 2"}


def test_the_same_request_makes_the_same_plan(planned):
    farm, plan, _ = planned
    again, _ = run(farm, NIGHT)
    assert again.pieces.drop(columns="geometry").equals(plan.pieces.drop(columns="geometry"))
    assert again.pieces.geometry.geom_equals(plan.pieces.geometry).all()


def test_stopping_changes_nothing(planned):
    farm, _, _ = planned
    asked = iter([False, False, True])
    with pytest.raises(Stopped):
        run(farm, NIGHT, Workings(), cancelled=lambda: next(asked, True))


def test_without_weather_there_is_no_go_and_no_lighting():
    for forecast in (None, evening_forecast().iloc[:3]):
        plan, _ = run(small_farm(forecast=forecast), NIGHT)
        assert not plan.go
        assert (plan.pieces["order_no"] == 0).all()
        assert any(r.step == "evening" and r.level == "stop" for r in plan.remarks)


def test_a_storm_leaves_every_row():
    plan, _ = run(small_farm(forecast=evening_forecast(60)), NIGHT)
    assert plan.windows == ()
    assert (plan.pieces["order_no"] == 0).all()
    assert not plan.go


def test_a_paddock_that_is_not_there_is_said():
    with pytest.raises(SettingError, match="no paddock is called 'North'"):
        run(small_farm(), replace(NIGHT, paddocks=("North",)))


def test_one_paddock_can_be_asked_for():
    plan, _ = run(small_farm(), replace(NIGHT, paddocks=("East",)))
    assert set(plan.pieces.loc[plan.pieces["order_no"] > 0, "paddock"]) == {"East"}


def test_every_figure_has_a_source(planned):
    _, plan, _ = planned
    assert plan.figures
    for figure in plan.figures:
        assert figure.source
        assert np.isfinite(figure.value)


def test_a_forecast_without_rain_is_no_go():
    dry = replace(small_farm(), forecast=evening_forecast().assign(rain_mm=np.nan))
    plan, _ = run(dry, NIGHT)
    assert plan.windows
    assert any("says nothing of rain" in text for text in plan.against)
