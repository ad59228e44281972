"""Are rows dry, and until when to wait. Soaked rows two weeks: AHRI trial 2007 (read); the rest common practice."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from mapper.hours.fuel import Fuel
from mapper.hours.rowstate import row_state
from tests.hours.test_judge import DRY, judged, limits
from tests.weather.hourly import forecast

RULES = limits(soaking_rain=10, dry_days=4)
START = pd.Timestamp("2026-04-17T02:00Z")


def state_at(table, hour, rules=RULES, fuel=DRY):
    hours = judged(table, rules, fuel=fuel)
    return row_state(hours, (START + pd.Timedelta(hours=hour)).to_pydatetime(), rules, fuel)


def test_dry_rows_say_so_with_their_doubt():
    found = state_at(forecast(72), 60)
    assert found.state == "dry"
    assert found.words == "Rows are dry."
    assert found.low_pct < found.surface_pct < found.high_pct < 15
    assert "damp from 15 %" in found.why[0]
    assert found.wait_until is None


def test_a_damp_night_dries_in_the_morning():
    """Humid to hour 18, then a dry day: wait until about then, not before."""
    humid = np.where(np.arange(72) < 18, 92.0, 35.0)
    cool = np.where(np.arange(72) < 18, 9.0, 22.0)
    found = state_at(forecast(72, rh_pct=humid, temp_c=cool), 15)
    assert found.state == "surface damp"
    wait = (pd.Timestamp(found.wait_until) - START) / pd.Timedelta("1h")
    assert 18 <= wait <= 30
    assert found.earliest <= found.wait_until <= found.latest
    assert "wait until about Sat 18 Apr" in found.words
    assert "between" in found.words


def test_rows_that_stay_damp_have_no_hour_to_wait_for():
    found = state_at(forecast(72, rh_pct=95.0, temp_c=8.0), 40)
    assert found.wait_until is None
    assert "not dry again within the hours known" in found.words


def test_soaking_rain_asks_for_days_and_packed_rows_for_two_weeks():
    rain = np.zeros(72)
    rain[4] = 14.0
    found = state_at(forecast(72, rain_mm=rain), 20)
    assert found.state == "soaked"
    days = (pd.Timestamp(found.wait_until) - START) / pd.Timedelta("1D")
    assert days == pytest.approx(4 + 4 / 24, abs=1e-6)
    latest = (pd.Timestamp(found.latest) - START) / pd.Timedelta("1D")
    assert latest == pytest.approx(14 + 4 / 24, abs=1e-6)
    assert "two weeks or more" in " ".join(found.why)
    assert found.words.startswith("Rows are soaked: wait until about Tue 21 Apr")


def test_wet_soil_under_dry_rows_is_no_stop():
    """100 mm weeks before, 10 mm ten days before, rows dry: a go (common practice, no source)."""
    fuel = Fuel(last_soak=datetime(2026, 4, 7, 2, tzinfo=UTC))
    found = state_at(forecast(72), 60, fuel=fuel)
    assert found.state == "dry"
    assert any("Damp soil under a dry row is not by itself a stop" in w for w in found.why)
    assert judged(forecast(72), RULES, fuel=fuel)["heat"].iloc[10] == "go"


def test_what_nobody_knows_is_said():
    unknown = state_at(forecast(72), 10, fuel=Fuel())
    assert any("Rain before 17 Apr 12:00 is not known" in w for w in unknown.why)
    no_limit = state_at(forecast(72), 10, rules=limits(soaking_rain=None))
    assert any("is not known" in w for w in no_limit.why)
    outside = state_at(forecast(24), 60)
    assert outside.state == "not known"
    gap = forecast(72)
    gap.loc[10, "rh_pct"] = np.nan
    assert state_at(gap, 10).state == "not known"


def test_the_surface_dries_the_same_way_from_any_start_within_a_day():
    hours = judged(forecast(48))
    width = (hours["moisture_high_pct"] - hours["moisture_low_pct"]).to_numpy()
    assert width[0] > 10
    # 2 % either way for the equation, and little of the beginning left.
    assert 4 < width[30] < 6
    assert (np.diff(width) < 1e-9).all()
