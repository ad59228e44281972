"""What a stop at a minute leaves, against a count made by hand from the plan's own times."""

from dataclasses import replace
from datetime import date, timedelta

import pandas as pd
import pytest

from mapper.farm.farm import Crew
from mapper.hours.verdict import BanCheck
from mapper.plan.job import run
from mapper.plan.request import NightRequest
from mapper.plan.stopnow import stop_now
from mapper.plan.worse import what_got_worse
from tests.farms import MADE_AT, limits, small_farm

NIGHT = NightRequest(date(2026, 4, 18), MADE_AT, "Adviser", 7, ban=BanCheck("none", MADE_AT, "Adviser"))


@pytest.fixture(scope="module")
def plan():
    return run(small_farm(limits=limits(patrol_min=90)), NIGHT)[0]


def lit_of(plan):
    return plan.pieces[plan.pieces["order_no"] > 0].sort_values("order_no")


def test_metres_always_add_up_and_only_grow(plan):
    lit = lit_of(plan)
    whole = lit["length_m"].sum()
    begins, ends = lit["lit_at"].min() - pd.Timedelta(minutes=5), lit["out_at"].max() + pd.Timedelta(minutes=5)
    burnt = []
    for at in pd.date_range(begins, ends, periods=12):
        found = stop_now(plan, at.floor("s").to_pydatetime())
        assert found.burnt_m + found.alight_m + found.left_m == pytest.approx(whole)
        assert set(found.left["piece_id"]) == set(lit.loc[lit["lit_at"] > at.floor("s"), "piece_id"])
        assert (found.alight["lit_at"] <= at).all() and (found.alight["out_at"] > at).all()
        burnt.append(found.burnt_m)
    assert burnt == sorted(burnt) and burnt[0] == 0 and burnt[-1] == pytest.approx(whole)


def test_a_row_begun_burns_on_to_its_end_and_is_patrolled(plan):
    # The longest piece: stopped just after its first point, fire runs its whole length at the farm's own speed.
    piece = lit_of(plan).sort_values("length_m").iloc[-1]
    found = stop_now(plan, piece["lit_at"].ceil("us").to_pydatetime())
    burn = plan.farm.row_burn
    mine = found.alight.set_index("piece_id").loc[piece["piece_id"]]
    minutes = piece["length_m"] / burn.spread_m_min + burn.burnout_min
    assert (mine["out_at"] - piece["lit_at"]).total_seconds() / 60 == pytest.approx(minutes, abs=0.02)
    assert found.out_at == found.alight["out_at"].max().floor("s").to_pydatetime()
    assert found.patrol_until == found.out_at + timedelta(minutes=90)


def test_before_and_after_and_without_a_limit(plan):
    before = stop_now(plan, lit_of(plan)["lit_at"].min().to_pydatetime() - timedelta(minutes=1))
    assert before.alight.empty and before.out_at is None and before.patrol_until is None
    after = stop_now(plan, lit_of(plan)["out_at"].max().to_pydatetime() + timedelta(minutes=1))
    assert after.left.empty and after.out_at is None and after.patrol_until is not None
    unknown = stop_now(replace(plan, farm=small_farm()), plan.windows[0].starts_at + timedelta(minutes=30))
    assert unknown.patrol_until is None and unknown.out_at is not None


def test_what_got_worse_is_said_and_nothing_else(plan):
    assert what_got_worse(plan, plan) == ()
    slow = run(small_farm(limits=limits(patrol_min=90), crews=(Crew("Crew 1", light_km_h=4),)), NIGHT)[0]
    said = what_got_worse(plan, slow)
    assert any("later than before" in t or "stays unlit" in t for t in said)
    assert not any("later than before" in t or "stays unlit" in t for t in what_got_worse(slow, plan))
