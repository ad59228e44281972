"""A meter's readings beside the forecast: at its own height, at its own moment."""

import numpy as np
import pandas as pd
import pytest

from mapper.farm.errors import LayerError
from mapper.weather.readings import add_reading, against_forecast, make_readings
from mapper.weather.wind import turn_deg
from tests.weather.hourly import forecast

AT = pd.Timestamp("2026-04-17T07:30Z")


def beside(table=None, **reading):
    table = forecast() if table is None else table
    return against_forecast(table, make_readings({"time_utc": [AT], **{k: [v] for k, v in reading.items()}})).iloc[0]


def test_a_reading_that_agrees():
    # 12 km/h at 10 m is 7.8 to 9.6 km/h at 2 m.
    found = beside(wind_km_h=9.0, temp_c=20.5, rh_pct=42.0, wind_from_deg=310.0)
    assert (found["wind_low_km_h"], found["wind_high_km_h"]) == pytest.approx((7.81, 9.6), abs=0.02)
    assert found["wind_km_h_off"] == 0
    assert not found["differs"]
    assert found["words"] == "The reading agrees with the forecast."


def test_a_reading_that_differs_says_how():
    found = beside(wind_km_h=16.0, temp_c=24.0, rh_pct=28.0, wind_from_deg=230.0)
    assert found["differs"]
    assert found["words"] == (
        "Read temperature 24 degC, forecast 20; humidity 28 %, forecast 40; wind 16 km/h at 2 m, where the forecast "
        "gives 8 to 10; wind from SW, forecast NW."
    )
    assert found["wind_km_h_off"] == pytest.approx(6.4, abs=0.01)


def test_the_forecast_is_met_at_the_moment_of_the_reading():
    table = forecast(temp_c=np.arange(48.0))
    assert beside(table, temp_c=5.0)["temp_c_forecast"] == pytest.approx(5.5)
    turning = forecast(wind_from_deg=np.where(np.arange(48) < 6, 350.0, 10.0))
    assert abs(float(turn_deg(beside(turning)["wind_from_deg_forecast"], 0.0))) < 1e-6


def test_between_lines_far_apart_and_outside_nothing_is_known():
    gap = forecast().drop(index=[5, 6]).reset_index(drop=True)
    for table in (gap, forecast(3), forecast(start="2026-05-01T00:00")):
        found = beside(table, wind_km_h=9.0)
        assert np.isnan(found["wind_km_h_forecast"])
        assert not found["differs"]
        assert found["words"] == "The forecast says nothing of this moment."


def test_light_air_says_nothing_of_direction():
    assert not beside(wind_km_h=4.0, wind_from_deg=120.0, temp_c=20.0)["differs"]


def test_readings_come_one_by_one_and_stay_in_order():
    readings = add_reading(None, time_utc=AT, wind_km_h=9.0)
    readings = add_reading(readings, time_utc=AT - pd.Timedelta("1h"), temp_c=21.0, by="the boss")
    assert readings["time_utc"].is_monotonic_increasing
    assert readings["by"].tolist() == ["the boss", ""]
    assert readings["height_m"].tolist() == [2.0, 2.0]
    assert len(against_forecast(forecast(), readings)) == 2


@pytest.mark.parametrize(
    ("wrong", "says"), [({"rh_pct": 120.0}, "rh_pct 120 cannot be"), ({"height_m": 99.0}, "height 99 m")]
)
def test_what_cannot_be_is_refused(wrong, says):
    with pytest.raises(LayerError, match=says):
        add_reading(None, time_utc=AT, **wrong)
