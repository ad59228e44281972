from datetime import UTC, datetime
from itertools import pairwise

import numpy as np
import pandas as pd

from mapper.order.winds import steady_winds
from mapper.weather.wind import WindChange
from tests.farms import evening_forecast


def test_a_steady_night_has_one_wind():
    (wind,) = steady_winds(evening_forecast(from_deg=350.0), ())
    assert abs(wind.to_deg - 170.0) < 1e-6


def test_a_change_parts_the_night_at_its_time():
    table = evening_forecast(from_deg=270.0)
    at = datetime(2026, 4, 18, 12, 30, tzinfo=UTC)
    table.loc[table["time_utc"] > pd.Timestamp(at), "wind_from_deg"] = 180.0
    before, after = steady_winds(table, (WindChange(at, 270.0, 180.0, 8.0, 8.0),))
    assert before.ends_at == after.starts_at == at
    assert np.allclose([before.to_deg, after.to_deg], [90.0, 0.0])


def test_a_long_drift_is_more_than_one_wind_and_they_meet_end_to_end():
    table = evening_forecast()
    table["wind_from_deg"] = np.linspace(300.0, 420.0, len(table)) % 360
    winds = steady_winds(table, ())
    assert len(winds) >= 3
    assert all(a.ends_at == b.starts_at for a, b in pairwise(winds))


def test_no_direction_no_wind():
    assert steady_winds(evening_forecast().assign(wind_from_deg=np.nan), ()) == ()
