"""Sunrise and sunset against printed tables, within two minutes.

Sources: web tables of the day, second-hand; NREL SPA worked example (Reda & Andreas 2004) for the sun's height;
"calc": the NOAA series, a second library agrees within 15 s. No official Australian April table could be had.
"""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from mapper.weather.sun import sun_altitude, sun_times

TABLE = [
    # Web tables.
    ("Australia/Sydney", 151.21, -33.87, "2006-12-22", "05:41", "20:06"),
    # Western Australia kept daylight saving in December 2006; the table is UTC+9 as printed.
    ("Australia/Perth", 115.8575, -31.9535, "2006-12-22", "06:08", "20:22"),
    ("Australia/Perth", 115.8575, -31.9535, "2006-12-03", "06:03", "20:09"),
    # calc.
    ("Australia/Perth", 115.8575, -31.9535, "2025-04-15", "06:37:18", "17:55:29"),
    ("Australia/Perth", 118.2792, -31.48, "2025-04-15", "06:27:11", "17:46:15"),
    ("Australia/Adelaide", 138.6105, -33.8331, "2025-04-15", "06:38:00", "17:52:46"),
    ("Australia/Melbourne", 142.199, -36.711, "2025-04-15", "06:56:29", "18:05:33"),
    ("Australia/Sydney", 147.3598, -35.1082, "2025-04-15", "06:34:13", "17:46:33"),
]


@pytest.mark.parametrize(("zone", "lon", "lat", "day", "rise", "fall"), TABLE)
def test_tables(zone, lon, lat, day, rise, fall):
    times = sun_times(lon, lat, date.fromisoformat(day), zone)
    for got, text in ((times.sunrise, rise), (times.sunset, fall)):
        expected = datetime.fromisoformat(f"{day}T{text}").replace(tzinfo=ZoneInfo(zone))
        assert abs((got - expected).total_seconds()) <= 120
        assert got.tzinfo is UTC
        assert got.astimezone(ZoneInfo(zone)).date().isoformat() == day


def test_height_of_the_sun():
    """Reda & Andreas (2004): 17 Oct 2003 12:30:30 UTC-7 at 39.742476, -105.1786: zenith 50.11162 (with refraction)."""
    at = datetime(2003, 10, 17, 19, 30, 30, tzinfo=UTC)
    assert 90 - sun_altitude(-105.1786, 39.742476, [at])[0] == pytest.approx(50.11, abs=0.05)


def test_almanac_example():
    """Almanac for Computers (USNO 1990): 25 June 1990, 40.9 N 74.3 W; continuing it gives 05:26 local (calc)."""
    times = sun_times(-74.3, 40.9, date(1990, 6, 25), "America/New_York")
    assert times.sunrise.astimezone(ZoneInfo("America/New_York")).strftime("%H:%M") in ("05:25", "05:26", "05:27")
