"""Times in forecasts: day and month, zones named in headings, hours by number, pasted text, headings alone."""

import pandas as pd
import pytest

from mapper.farm.errors import FileError
from mapper.files.forecast import read_pasted

AT, ZONE = (141.6, -36.2), "Australia/Melbourne"
AIR = "20,40,10,NW"


def first(text, zone=ZONE):
    table, report = read_pasted(text, None, AT, zone)
    return table["time_utc"].iloc[0], table, report


def rows(heading, *times):
    return f"{heading},temp,rh,wind (km/h),wind dir\n" + "".join(f"{t},{AIR}\n" for t in times)


def test_the_reading_whose_hours_follow_one_another_is_taken():
    days_first, _, _ = first(rows("time", "05/04/2026 22:00", "05/04/2026 23:00", "06/04/2026 00:00"))
    assert days_first == pd.Timestamp("2026-04-05T12:00Z")
    months_first, table, _ = first(rows("time", "04/05/2026 22:00", "04/05/2026 23:00", "04/06/2026 00:00"))
    assert months_first == pd.Timestamp("2026-04-05T12:00Z")
    assert table["time_utc"].diff().dropna().eq(pd.Timedelta("1h")).all()


def test_in_doubt_it_is_said_and_the_place_decides():
    here, _, report = first(rows("time", "04/05/2026 08:00", "04/05/2026 09:00"))
    assert here == pd.Timestamp("2026-05-03T22:00Z")
    assert any("day or month first; day first was taken" in n for n in report.notes)
    there, _, report = first(rows("time", "04/05/2026 08:00", "04/05/2026 09:00"), "America/Denver")
    assert there == pd.Timestamp("2026-04-05T14:00Z")
    assert any("month first was taken" in n for n in report.notes)


@pytest.mark.parametrize(
    ("heading", "time", "utc"),
    [
        ("Time (AEST)", "2026-01-18 18:00", "2026-01-18T08:00Z"),
        ("time", "2026-01-18 18:00 AEDT", "2026-01-18T07:00Z"),
        ("Local time UTC+9:30", "2026-04-18 18:00", "2026-04-18T08:30Z"),
        ("time UTC", "2026-04-18 18:00", "2026-04-18T18:00Z"),
        ("time", "2026-04-18T18:00+08:00", "2026-04-18T10:00Z"),
        ("time", "18-Apr-2026 18:00", "2026-04-18T08:00Z"),
        ("time", "18/04/2026 6:00 pm", "2026-04-18T08:00Z"),
        ("epoch", "1776499200", "2026-04-18T08:00Z"),
    ],
)
def test_a_zone_in_the_heading_or_behind_the_time(heading, time, utc):
    again = str(int(time) + 3600) if time.isdigit() else time.replace("18:00", "19:00").replace("6:00 pm", "7:00 pm")
    at, table, _ = first(rows(heading, time, again))
    assert at == pd.Timestamp(utc)
    assert table["time_utc"].diff().iloc[-1] == pd.Timedelta("1h")


def test_a_file_across_the_end_of_summer_time_names_its_clocks():
    text = rows(
        "time", "2026-04-05 01:00 AEDT", "2026-04-05 02:00 AEDT", "2026-04-05 02:00 AEST", "2026-04-05 03:00 AEST"
    )
    _, table, _ = first(text)
    assert table["time_utc"].diff().dropna().eq(pd.Timedelta("1h")).all()


@pytest.mark.parametrize("hours", [("22", "23", "24"), ("2200", "2300", "2400"), ("22:00", "23:00", "24:00")])
def test_hours_by_number_beside_a_date(hours):
    text = "date,hour,temp,rh,wind (km/h),wind dir\n" + "".join(f"18/04/2026,{h},{AIR}\n" for h in hours)
    at, table, _ = first(text)
    assert at == pd.Timestamp("2026-04-18T12:00Z")
    assert table["time_utc"].iloc[-1] == pd.Timestamp("2026-04-18T14:00Z")


def test_a_week_ahead_is_no_odd_date():
    """A log's date in the future is refused; a forecast lives there."""
    times = pd.date_range("2031-03-01", periods=168, freq="h").strftime("%Y-%m-%d %H:%M")
    _, table, _ = first(rows("time", *times))
    assert len(table) == 168


def test_pasted_from_a_spreadsheet():
    text = "Time\tTemp °C\tHumidity %\tWind\tDirection\n18/04/2026 6:00 pm\t20\t40\t12 kn\tNNW\n"
    _, table, report = first(text + "18/04/2026 7:00 pm\t19\t41\t13 kn\tnorth-westerly\n")
    assert table["wind_km_h"].tolist() == pytest.approx([22.224, 24.076])
    assert table["wind_from_deg"].tolist() == [337.5, 315.0]
    assert report.file == "pasted"


def test_headings_alone_and_nothing_at_all():
    for text in ("time,temp,rh,wind speed,wind dir\n", "time,temp,rh,wind speed,wind dir"):
        with pytest.raises(FileError, match="pasted text: it holds no rows of numbers"):
            read_pasted(text, None, AT, ZONE)
    with pytest.raises(FileError, match="pasted text: the file is empty"):
        read_pasted("  \n", None, AT, ZONE)


def test_a_table_without_headings_says_what_it_lacks_and_what_there_is():
    with pytest.raises(FileError, match="the columns are column 1, column 2"):
        read_pasted("2026-04-18 18:00;20;40;12\n2026-04-18 19:00;20;40;12\n", None, AT, ZONE)
