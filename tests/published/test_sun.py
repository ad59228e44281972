"""Sunrise and sunset against printed tables, within two minutes.

Sources: web tables of the day, second-hand; NREL SPA worked example (Reda & Andreas 2004) for the sun's height;
"calc": the NOAA series, a second library agrees within 15 s. No official Australian April table could be had.
"""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from mapper.files.zone import zone_at
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
    ("Australia/Sydney", 151.21, -33.87, "2025-04-15", "06:17:37", "17:32:23"),
    ("Australia/Sydney", 151.21, -33.87, "2026-04-01", "07:07:00", "18:50:43"),
    # NREL SPA example: sunrise from memory; the printed sunset 17:20:19 is the day before's, this one calc.
    ("America/Denver", -105.1786, 39.742476, "2003-10-17", "07:12:43", "18:18:51"),
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


# One place in every Australian zone, and other continents; polar ones last.
PLACES = [
    (116.9, -31.7), (128.9, -31.68), (132.3, -14.5), (137.8, -34.0), (141.47, -31.95), (142.1, -35.65), (144.0, -34.9),
    (150.3, -27.5), (147.3, -42.0), (159.08, -31.55), (172.3, -43.5), (18.7, -33.3), (-60.0, -36.5), (-105.0, 47.9),
    (24.0, 50.0), (0.5, 52.0), (75.9, 30.9), (85.3, 27.7), (151.2, 59.6),
]  # fmt: skip
DAYS = [date(2026, 1, 15), date(2026, 4, 5), date(2026, 7, 20), date(2026, 10, 4)]


@pytest.mark.parametrize(("lon", "lat"), PLACES)
def test_against_a_kept_library(lon, lat):
    """pvlib's solar position (Reda & Andreas 2004): at our times the sun stands at -0.833 degrees, rising or setting.

    0.03 degrees is about 10 s. Days on which clocks change are among them. (The library's own search for sunrise takes
    the day in UTC and is up to two minutes off over Australia, so its heights are asked.)
    """
    from pvlib.solarposition import spa_python

    zone = zone_at(lon, lat)
    for day in DAYS:
        mine = sun_times(lon, lat, day, zone)
        for got, rises in ((mine.sunrise, True), (mine.sunset, False)):
            around = pd.DatetimeIndex([got, got + timedelta(minutes=2)])
            height = spa_python(around, lat, lon)["elevation"].to_numpy()
            assert height[0] == pytest.approx(-0.833, abs=0.03)
            assert (height[1] > height[0]) == rises
            assert got.astimezone(ZoneInfo(zone)).date() == day


def test_height_against_a_kept_library():
    """pvlib's solar position (Reda & Andreas 2004) at every hour of two days, north and south: 0.02 degrees."""
    from pvlib.solarposition import spa_python

    for lon, lat in ((141.6, -36.2), (-105.0, 47.9), (20.0, 78.0)):
        times = pd.date_range("2026-04-18", periods=48, freq="h", tz="UTC")
        theirs = spa_python(times, lat, lon)["elevation"].to_numpy()
        np.testing.assert_allclose(sun_altitude(lon, lat, times), theirs, atol=0.02)


def test_where_the_sun_stays_up_or_down():
    """Svalbard (78.2 N): no sunset in June, no sunrise in December (geometry: latitude over 90 less declination)."""
    for day in (date(2026, 6, 20), date(2026, 12, 20)):
        times = sun_times(15.6, 78.2, day, "Arctic/Longyearbyen")
        assert times.sunrise is None
        assert times.sunset is None
        assert times.day_h == (24.0 if day.month == 6 else 0.0)
    south = sun_times(166.7, -77.8, date(2026, 6, 20), "Antarctica/McMurdo")
    assert south.sunrise is None and south.sunset is None


def test_day_length():
    """Sydney 22 December 2006: 05:41 to 20:06 is 14 h 25 min (web table, second-hand); on the equator 12 h 7 min."""
    assert sun_times(151.21, -33.87, date(2006, 12, 22), "Australia/Sydney").day_h == pytest.approx(14.417, abs=0.04)
    assert sun_times(0.0, 0.0, date(2026, 3, 20), "Africa/Abidjan").day_h == pytest.approx(12.11, abs=0.03)
