"""Nights and windows on invented forecasts."""

from datetime import UTC, date, datetime
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.hours.evening import OF_THE_HOUR, night_hours, windows
from mapper.hours.judge import judge_hours
from mapper.hours.verdict import BanCheck
from mapper.weather.wind import WindChange
from tests.hours.test_judge import DRY, NONE, PLACE, limits
from tests.weather.hourly import forecast

NIGHT = date(2026, 4, 17)


def evening(table=None, rules=None, ban=NONE, changes=()):
    rules = limits(light_from=16, change_margin=60) if rules is None else rules
    judged = judge_hours(forecast() if table is None else table, *PLACE, rules, ban, DRY, changes)
    return night_hours(judged, NIGHT, PLACE[2]), rules


def local(text):
    return pd.Timestamp(text, tz=PLACE[2]).tz_convert("UTC").to_pydatetime()


def test_noon_to_noon():
    night, _ = evening()
    assert len(night) == 24
    assert night["time_local"].iloc[0] == pd.Timestamp("2026-04-17 12:00", tz=PLACE[2])
    assert night["time_local"].iloc[-1] == pd.Timestamp("2026-04-18 11:00", tz=PLACE[2])


def test_the_night_the_clocks_go_back_has_25_hours():
    judged = judge_hours(forecast(72, "2026-04-03T20:00"), *PLACE, limits(), NONE)
    night = night_hours(judged, date(2026, 4, 4), PLACE[2])
    assert len(night) == 25
    assert night["time_local"].iloc[-1] == pd.Timestamp("2026-04-05 11:00", tz=PLACE[2])


def test_out_by_less_burn_out():
    night, rules = evening()
    (window,) = windows(night, (), rules, 20)
    assert window.starts_at == local("2026-04-17 16:00")
    assert window.ends_at == local("2026-04-17 23:40")
    assert window.starts_at.tzinfo is not None
    assert window.verdict == "go"
    assert "Last lighting 23:40: out by 00:00, less 20 min to burn out" in window.why


def test_a_change_ends_the_window_before_margin_and_burn_out():
    change = WindChange(local("2026-04-17 20:30"), 340, 230, 12, 20)
    night, rules = evening(changes=(change,))
    before, after = windows(night, (change,), rules, 20)
    # Two sigma, 120 min, is more than the farm's spare hour.
    assert before.ends_at == local("2026-04-17 18:10")
    assert "wind change about 20:30, less 120 min to spare and 20 min to burn out" in before.why
    # The change may be an hour late (sigma): the next window begins after it.
    assert after.starts_at == local("2026-04-17 21:30")
    assert after.ends_at == local("2026-04-17 23:40")


def test_a_change_soon_after_the_last_hour_counts_too():
    change = WindChange(local("2026-04-18 00:30"), 340, 230, 12, 20)
    night, rules = evening(changes=(change,))
    (window,) = windows(night, (change,), rules, 20)
    assert window.ends_at == local("2026-04-17 22:10")


def test_an_unknown_margin_is_an_hour_and_a_caution():
    change = WindChange(local("2026-04-17 20:30"), 340, 230, 12, 20)
    night, rules = evening(rules=limits(light_from=16), changes=(change,))
    first = windows(night, (change,), rules, 20)[0]
    assert first.ends_at == local("2026-04-17 18:10")
    assert first.verdict == "caution"
    assert "Spare time before a wind change is not known" in first.why


def test_no_go_hours_part_windows_and_rows_are_out_before_the_wind():
    wind = np.full(48, 12.0)
    wind[8] = 25.0  # 20:00 local
    night, rules = evening(forecast(wind_km_h=wind, gust_km_h=np.nan))
    first, second = windows(night, (), rules, 20)
    assert first.ends_at == local("2026-04-17 19:10")
    assert "from 20:00 on no-go or not known" in first.why
    assert second.starts_at == local("2026-04-17 21:00")


def test_nothing_is_lit_into_hours_that_nobody_knows():
    night, rules = evening(forecast(8))
    (window,) = windows(night, (), rules, 20)
    assert window.ends_at == local("2026-04-17 19:10")
    hole, rules = evening(forecast().drop(index=[7, 8, 9]).reset_index(drop=True))
    first, second = windows(hole, (), rules, 20)
    assert first.ends_at == local("2026-04-17 18:10")
    assert second.starts_at == local("2026-04-17 22:00")


def test_a_window_is_as_bad_as_its_worst_hour():
    night, rules = evening(ban=BanCheck())
    (window,) = windows(night, (), rules, 20)
    assert window.verdict == "caution"
    assert "ban check" in window.why


def test_no_window():
    night, rules = evening(ban=BanCheck("declared", datetime(2026, 4, 17, tzinfo=UTC)))
    assert windows(night, (), rules, 20) == ()
    assert windows(night.iloc[:0], (), rules, 20) == ()
    # A burn-out longer than the hours left.
    night, rules = evening()
    assert windows(night, (), rules, 600) == ()


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.floats(0, 24), max_size=3),
    st.floats(5, 200),
    st.lists(st.floats(2, 30), min_size=26, max_size=26),
)
def test_windows_never_reach_into_a_change_its_margin_or_a_no_go_hour(offsets, burnout, wind):
    start = pd.Timestamp("2026-04-17T02:00Z")
    changes = tuple(
        WindChange((start + pd.Timedelta(hours=h).floor("s")).to_pydatetime(), 340, 230, 12, 20)
        for h in sorted(offsets)
    )
    night, rules = evening(forecast(26, wind_km_h=wind, gust_km_h=np.nan), changes=changes)
    found = windows(night, changes, rules, burnout)
    for window in found:
        first, last = pd.Timestamp(window.starts_at), pd.Timestamp(window.ends_at)
        assert first < last
        for change in changes:
            out = last + pd.Timedelta(minutes=burnout + 120)
            assert out <= change.at + pd.Timedelta("1s") or first >= change.at + pd.Timedelta("1h")
        held = night[(night["time_utc"] > first - pd.Timedelta("1h")) & (night["time_utc"] < last)]
        assert "no-go" not in set(held[list(OF_THE_HOUR)].to_numpy().ravel())
        assert last + pd.Timedelta(minutes=burnout) <= local("2026-04-18 00:00") + pd.Timedelta("1s")
    assert all(a.ends_at <= b.starts_at for a, b in pairwise(found))


@pytest.mark.parametrize("zone", ["Australia/Perth", "Australia/Adelaide", "Australia/Brisbane"])
def test_other_zones(zone):
    rules = limits(light_from=16)
    judged = judge_hours(forecast(), 138.6, -33.8, zone, rules, NONE)
    night = night_hours(judged, date(2026, 4, 18), zone)
    assert night["time_local"].iloc[0].hour == 12
    for window in windows(night, (), rules, 20):
        assert pd.Timestamp(window.starts_at).tz_convert(zone).hour == 16
