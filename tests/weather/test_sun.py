from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from mapper.weather.stability import still_hours
from mapper.weather.sun import HORIZON_DEG, sun_altitude, sun_times


def test_every_day_of_a_year_lands_on_its_local_day():
    zone = "Australia/Adelaide"
    for day in pd.date_range("2026-01-01", "2026-12-31", freq="5D"):
        times = sun_times(138.6, -33.8, day.date(), zone)
        rise, fall = (t.astimezone(ZoneInfo(zone)) for t in (times.sunrise, times.sunset))
        assert rise.date() == fall.date() == day.date()
        assert rise < fall


def test_the_clocks_go_back_and_the_sun_does_not_mind():
    """Daylight saving ended at Melbourne on 5 April 2026 at 03:00: wall-clock sunset falls by an hour."""
    zone = ZoneInfo("Australia/Melbourne")
    before, after = (sun_times(141.6, -36.2, date(2026, 4, d), zone.key).sunset for d in (4, 5))
    assert 86_000 < (after - before).total_seconds() < 86_400
    wall = [t.astimezone(zone) for t in (before, after)]
    assert (wall[0].hour, wall[1].hour) == (19, 18)


def test_the_sun_stands_on_the_horizon_at_its_times():
    times = sun_times(141.6, -36.2, date(2026, 4, 18), "Australia/Melbourne")
    assert np.abs(sun_altitude(141.6, -36.2, [times.sunrise, times.sunset]) - HORIZON_DEG).max() < 0.2


def test_polar_night_has_no_times():
    assert sun_times(20.0, 78.0, date(2026, 12, 21), "UTC").sunrise is None


def test_still_hours_reach_an_hour_into_the_day():
    times = sun_times(141.6, -36.2, date(2026, 4, 18), "Australia/Melbourne")
    fall, rise = pd.Timestamp(times.sunset), pd.Timestamp(times.sunrise)
    minute = pd.Timedelta("1min")
    asked = [fall - 65 * minute, fall - 55 * minute, fall + 300 * minute, rise + 55 * minute, rise + 65 * minute]
    assert still_hours(141.6, -36.2, asked).tolist() == [False, True, True, True, False]
