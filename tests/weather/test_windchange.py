import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.weather.wind import WindChange, find_changes, joined_changes, turn_deg
from tests.weather.hourly import forecast


def step(n, k, a, b):
    return np.where(np.arange(n) < k, float(a), float(b))


def test_a_change_is_found_where_it_stands():
    table = forecast(wind_from_deg=step(48, 20, 340, 230), wind_km_h=step(48, 20, 20, 28))
    (change,) = find_changes(table)
    assert change.at == (table["time_utc"][19] + pd.Timedelta("30min")).to_pydatetime()
    assert (change.from_deg, change.to_deg) == pytest.approx((340, 230))
    assert (change.from_km_h, change.to_km_h) == pytest.approx((20, 28))


def test_a_change_through_a_mixed_hour_is_one_change():
    direction = step(48, 20, 350, 220)
    direction[20] = 285.0
    (change,) = find_changes(forecast(wind_from_deg=direction))
    assert abs(pd.Timestamp(change.at) - pd.Timestamp("2026-04-17T22:00Z")) <= pd.Timedelta("1h")
    assert abs(turn_deg(change.to_deg, 220)) < 30


def test_a_front_spread_over_three_hours_is_found():
    direction = step(48, 20, 340, 230)
    direction[20:22] = 310.0, 265.0
    (change,) = find_changes(forecast(wind_from_deg=direction))
    assert abs(pd.Timestamp(change.at) - pd.Timestamp("2026-04-17T22:30Z")) <= pd.Timedelta("1h")


def test_an_unsteady_wind_is_hardly_ever_one():
    """Eight degrees of noise, more than a forecast's own hours have: under 1 in 50 tables of two days shows a change.

    At the table's last hour a single line speaks for what follows, so chance has its best chance there.
    """
    found = 0
    for seed in range(150):
        noise = np.random.default_rng(seed)
        wind = np.maximum(12 + noise.normal(0, 2, 48), 0)
        found += bool(find_changes(forecast(wind_from_deg=(315 + noise.normal(0, 8, 48)) % 360, wind_km_h=wind)))
    assert found <= 3


def test_a_slow_drift_is_none():
    assert find_changes(forecast(wind_from_deg=np.arange(48) * 15.0 % 360)) == ()
    assert find_changes(forecast(wind_from_deg=(300 + np.arange(48) * 5.0) % 360)) == ()


def test_light_air_wandering_is_none():
    wander = np.random.default_rng(3).uniform(0, 360, 48)
    assert find_changes(forecast(wind_from_deg=wander, wind_km_h=3.0)) == ()


def test_small_shifts_are_none():
    assert find_changes(forecast(wind_from_deg=step(48, 20, 300, 330))) == ()


def test_one_odd_hour_is_none():
    direction = np.full(48, 300.0)
    direction[20] = 220.0
    assert find_changes(forecast(wind_from_deg=direction)) == ()


def test_a_sudden_rise_is_a_change_and_the_afternoon_breeze_is_not():
    (change,) = find_changes(forecast(wind_km_h=step(48, 20, 10, 35)))
    assert change.to_km_h == pytest.approx(35)
    hours = np.arange(48)
    assert find_changes(forecast(wind_km_h=12 + 8 * np.sin(hours / 24 * 2 * np.pi))) == ()
    # A drop alone is none.
    assert find_changes(forecast(wind_km_h=step(48, 20, 35, 10))) == ()


def test_out_of_a_calm():
    (change,) = find_changes(forecast(wind_from_deg=step(48, 20, 20, 220), wind_km_h=step(48, 20, 3, 25)))
    assert change.to_deg == pytest.approx(220)


def test_gaps_and_short_tables():
    assert find_changes(forecast(1)) == ()
    direction = step(48, 20, 340, 230)
    direction[[5, 19, 33]] = np.nan
    assert len(find_changes(forecast(wind_from_deg=direction))) == 1
    # Six hours without a line: nothing is said about what lies between.
    table = forecast(wind_from_deg=step(48, 20, 340, 230)).drop(index=range(17, 23))
    assert find_changes(table) == ()


@settings(max_examples=40)
@given(st.floats(0, 359), st.floats(60, 179), st.floats(0, 359))
def test_turning_the_compass_turns_the_change(start, turn, by):
    table = forecast(24, wind_from_deg=step(24, 12, start, (start + turn) % 360))
    turned = forecast(24, wind_from_deg=(step(24, 12, start, (start + turn) % 360) + by) % 360)
    (a,), (b,) = find_changes(table), find_changes(turned)
    assert a.at == b.at
    assert abs(turn_deg(a.to_deg + by, b.to_deg)) < 1e-6


def test_typed_changes_stand_before_found_ones():
    at = pd.Timestamp("2026-04-18T10:00Z")
    found = tuple(WindChange((at + pd.Timedelta(hours=h)).to_pydatetime(), 340, 230, 15, 20) for h in (1, 9))
    typed = (WindChange(at.to_pydatetime(), 330, 220, 15, 25),)
    assert joined_changes(found, typed) == (typed[0], found[1])
