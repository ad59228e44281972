import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mapper.weather.moisture import (
    days_known,
    days_since_soak,
    dead_grass_moisture,
    ffmc_hourly,
    surface_moisture,
)  # fmt: skip
from tests.weather.hourly import forecast


def test_dead_grass_leans_dry_outside_its_range():
    wet, dry = dead_grass_moisture(-10, 100), dead_grass_moisture(45, 2)
    assert wet.value == 24
    assert wet.outside
    assert 0 <= dry.value < 2
    assert dry.outside
    assert np.isnan(dead_grass_moisture(np.nan, 40).value)


@given(st.floats(0, 101), st.floats(-5, 45), st.floats(0, 100), st.floats(0, 80), st.floats(0, 30))
def test_the_hourly_code_stays_a_code_and_rain_never_dries(code, temp, rh, wind, rain):
    dry = ffmc_hourly(code, temp, rh, wind, 0.0)
    wet = ffmc_hourly(code, temp, rh, wind, rain)
    assert 0 <= wet <= 101
    assert wet <= dry + 1e-6


def test_surface_follows_the_air_and_remembers_rain():
    rain = np.zeros(48)
    rain[10] = 8.0
    wetted = surface_moisture(forecast(rain_mm=rain))
    dry = surface_moisture(forecast())
    assert wetted[10] > dry[10] + 20
    # Memory: a day of 20 degC and 40 % later it has come down, and not yet all the way.
    assert dry[34] < wetted[34] < 0.7 * wetted[10]
    damp = surface_moisture(forecast(rh_pct=90.0, temp_c=10.0))
    assert damp[-1] > 15 > dry[-1]


def test_a_gap_is_not_known_and_time_goes_on():
    temp = np.full(48, 20.0)
    temp[5] = np.nan
    got = surface_moisture(forecast(temp_c=temp))
    assert np.isnan(got[5])
    assert np.isfinite(got[6:]).all()


def test_days_since_soak():
    rain = np.zeros(96)
    rain[10], rain[20] = 6.0, 5.0
    table = forecast(96, rain_mm=rain)
    times = table["time_utc"]
    # 11 mm fell within 24 h, so the soaking is complete at hour 20.
    assert days_since_soak(table, times[44].to_pydatetime(), 10) == pytest.approx(1.0)
    assert days_since_soak(table, times[19].to_pydatetime(), 10) == np.inf
    assert days_since_soak(table, times[20], 10) == 0
    assert days_since_soak(table, times[44], 12) == np.inf
    np.testing.assert_allclose(days_since_soak(table, times, 5)[[10, 22]], [0, 2 / 24])
    # The same drops two days apart soak nothing.
    apart = np.zeros(96)
    apart[10], apart[60] = 6.0, 5.0
    assert days_since_soak(forecast(96, rain_mm=apart), times[70], 10) == np.inf
    assert days_known(table, times[48]) == pytest.approx(2.0)


def test_days_since_soak_in_other_time_units():
    table = forecast(rain_mm=1.0)
    coarse = table.assign(time_utc=table["time_utc"].astype("datetime64[s, UTC]"))
    at = pd.Timestamp("2026-04-18T06:00Z")
    assert days_since_soak(coarse, at, 10) == days_since_soak(table, at, 10) == 0
