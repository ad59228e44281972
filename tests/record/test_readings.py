import numpy as np
import pytest

from mapper.record.entry import Entry
from mapper.record.readings import against_limits, readings_table
from tests.farms import limits
from tests.record.nights import at, night

CALM = {"temp_c": 18.0, "rh_pct": 50.0, "wind_km_h": 8.0}


def reading(minutes: float = 30, **body) -> Entry:
    return Entry(f"r{minutes}", "reading", "Crew 1", at(minutes), at(minutes), {**CALM, **body})


def test_a_reading_inside_every_limit_carries_on():
    held = against_limits(CALM, limits(wind_max=20.0))
    assert held.carry_on
    assert held.why == ()


def test_a_wind_at_2_m_is_held_against_a_limit_at_10_m_on_the_safe_side():
    # 1 / 0.651: the largest of the supported ratios between 2 and 10 m (weather/wind.py).
    assert against_limits({**CALM, "wind_km_h": 12.9}, limits(wind_max=20.0)).carry_on
    held = against_limits({**CALM, "wind_km_h": 13.2}, limits(wind_max=20.0))
    assert not held.carry_on
    assert "Wind 20 km/h at 10 m: outside your limit 20" in held.why[0]
    assert held.why[0].endswith("Stop and hold.")
    at_ten = against_limits({**CALM, "wind_km_h": 19.0, "height_m": 10.0}, limits(wind_max=20.0))
    assert at_ten.carry_on


def test_each_limit_broken_is_named():
    held = against_limits({**CALM, "temp_c": 41.0, "rh_pct": 9.0}, limits(temperature_max=30.0, humidity_min=25.0))
    assert [w.split()[0] for w in held.why][:2] == ["Air", "Humidity"]


def test_readings_stand_beside_the_forecast_of_their_hour():
    record = night(reading(30), reading(5000))
    table = readings_table(record)
    first, later = table.iloc[0], table.iloc[1]
    hour = record.hours.set_index("time_utc").loc[at(30)]
    assert first["wind_km_h_forecast"] == hour["wind_km_h"]
    assert first["wind_10m_km_h"] == pytest.approx(8 / 0.651, rel=0.01)
    # No forecast within half an hour: nothing is made up.
    assert np.isnan(later["wind_km_h_forecast"])
    assert "says nothing of this moment" in later["words"]
