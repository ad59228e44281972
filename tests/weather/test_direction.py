import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mapper.weather.wind import DirectionSpread, WindChange, chance_within, direction_spread, find_changes, turn_deg
from tests.weather.hourly import forecast
from tests.weather.test_windchange import step

ONE = DirectionSpread(np.ones(1), np.zeros(1), np.full(1, 15.0))


def test_closed_form():
    """P(|a| <= 60), sigma 15: offset 40 .9088, 75 .1587, 90 .0228 (follows from the normal)."""
    np.testing.assert_allclose(chance_within(ONE, [40, 75, 90], 60), [0.9088, 0.1587, 0.0228], atol=6e-5)


mixtures = st.lists(st.tuples(st.floats(0.05, 1), st.floats(0, 360), st.floats(1, 120)), min_size=1, max_size=3).map(
    lambda parts: DirectionSpread(
        np.array([p[0] for p in parts]) / sum(p[0] for p in parts),
        np.array([p[1] for p in parts]),
        np.array([p[2] for p in parts]),
    )
)


@given(mixtures, st.floats(0, 360), st.integers(2, 12))
def test_chances_round_the_compass_sum_to_one(spread, start, parts):
    half = 180.0 / parts
    centres = start + 2 * half * np.arange(parts)
    assert chance_within(spread, centres, half).sum() == pytest.approx(1, abs=2e-3)
    assert chance_within(spread, start, 180) == 1


@given(mixtures, st.floats(0, 360), st.floats(1, 90), st.floats(0, 360))
def test_chance_turns_with_the_compass_and_grows_with_width(spread, centre, half, by):
    turned = DirectionSpread(spread.weights, spread.means_deg + by, spread.sigmas_deg)
    here = chance_within(spread, centre, half)
    assert chance_within(turned, centre + by, half) == pytest.approx(float(here), abs=1e-9)
    assert chance_within(spread, centre, half + 5) >= here - 1e-12


def at(table, hour, minutes=0):
    return (table["time_utc"][0] + pd.Timedelta(hours=hour, minutes=minutes)).to_pydatetime()


def test_a_steady_wind_is_one_normal():
    table = forecast()
    spread = direction_spread(table, at(table, 4, 30), ())
    assert spread.weights == pytest.approx([1])
    assert spread.means_deg == pytest.approx([315])


def test_directions_meet_across_north():
    table = forecast(wind_from_deg=np.where(np.arange(48) % 2, 10.0, 350.0))
    mean = direction_spread(table, at(table, 4, 30), ()).means_deg[0]
    assert abs(turn_deg(mean, 0.0)) < 1e-6


def test_a_change_is_a_mixture_and_never_an_average():
    table = forecast(wind_from_deg=step(48, 20, 340, 230))
    changes = find_changes(table)
    middle = direction_spread(table, changes[0].at, changes)
    np.testing.assert_allclose(middle.weights, [0.5, 0.5], atol=1e-6)
    np.testing.assert_allclose(middle.means_deg, [340, 230], atol=1e-6)
    # Weight after = Phi((t - change) / sigma): an hour before it, Phi(-1).
    before = direction_spread(table, changes[0].at - pd.Timedelta("1h"), changes)
    np.testing.assert_allclose(before.weights, [0.8413, 0.1587], atol=1e-4)
    assert direction_spread(table, at(table, 5), changes).weights == pytest.approx([1])
    assert direction_spread(table, at(table, 40), changes).means_deg == pytest.approx([230])


def test_a_typed_change_that_the_table_lacks_is_believed():
    table = forecast()
    typed = (WindChange(at(table, 20), 315, 200, 12, 25),)
    np.testing.assert_allclose(direction_spread(table, at(table, 20), typed).means_deg, [315, 200])
    assert direction_spread(table, at(table, 26), typed).means_deg[-1] == pytest.approx(200)


def test_sigma_grows_with_lead_and_unstable_or_light_air():
    table = forecast(72)
    near, far = (direction_spread(table, at(table, h), ()).sigmas_deg[0] for h in (1, 60))
    assert near < far
    issued = direction_spread(table, at(table, 60), (), issued_at=at(table, 59)).sigmas_deg[0]
    assert issued == pytest.approx(near, abs=0.2)
    classes = [direction_spread(table, at(table, 1), (), stability=s).sigmas_deg[0] for s in "FEDCBA"]
    assert np.all(np.diff(classes) > 0)
    light = direction_spread(forecast(wind_km_h=3.0), at(table, 1), ()).sigmas_deg[0]
    assert light > near + 10


def test_no_direction_known_is_even_all_round():
    spread = direction_spread(forecast(wind_from_deg=np.nan), at(forecast(), 3), ())
    np.testing.assert_allclose(chance_within(spread, [0, 90, 200], 45), 0.25, atol=0.01)


def test_two_changes_keep_their_sides_apart():
    table = forecast(wind_from_deg=np.select([np.arange(48) < 15, np.arange(48) < 30], [340.0, 230.0], 120.0))
    changes = find_changes(table)
    assert len(changes) == 2
    between = direction_spread(table, at(table, 22), changes)
    assert between.weights.sum() == pytest.approx(1)
    assert between.means_deg[between.weights.argmax()] == pytest.approx(230)


def test_a_drift_long_after_a_change_is_followed():
    direction = np.concatenate([np.full(10, 340.0), np.full(6, 230.0), np.linspace(228, 120, 32)])
    table = forecast(wind_from_deg=direction)
    changes = find_changes(table)
    assert len(changes) == 1
    assert direction_spread(table, at(table, 47), changes).means_deg[-1] == pytest.approx(120)


def test_the_age_of_the_forecast_travels_with_the_hours():
    """Judged hours carry lead_h: a night cut out of a forecast knows how old it is."""
    table = forecast(72)
    night = table.assign(lead_h=np.arange(72.0) + 6).iloc[40:52].reset_index(drop=True)
    whole = direction_spread(table, at(table, 45), (), at(table, -6))
    cut = direction_spread(night, at(table, 45), ())
    assert cut.sigmas_deg[0] == pytest.approx(whole.sigmas_deg[0])
    assert direction_spread(night.drop(columns="lead_h"), at(table, 45), ()).sigmas_deg[0] < cut.sigmas_deg[0]


def test_lines_far_apart_make_a_change_less_sure():
    from mapper.weather.windchange import find_changes

    hourly = forecast(24, wind_from_deg=np.where(np.arange(24) < 12, 340.0, 230.0))
    third = hourly.iloc[::3].reset_index(drop=True)
    assert find_changes(hourly)[0].sigma_min == 60
    assert find_changes(third)[0].sigma_min == pytest.approx(np.hypot(60, 180 / np.sqrt(12)))
