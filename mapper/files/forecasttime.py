"""The times of a forecast: which is day and which month, zones named in a heading, hours by number, order and gaps."""

import re
from datetime import UTC, date, datetime, time
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from mapper.farm.errors import FileError
from mapper.farm.ranged import Array
from mapper.files.clock import read_clock
from mapper.files.columns import ColumnMap
from mapper.files.numbers import numbers
from mapper.weather.forecast import FORECAST_COLUMNS

# A forecast lies in the future, and a test of one may lie anywhere.
_NEVER = datetime(2100, 1, 1, tzinfo=UTC)
_SLASHED = r"^\s*(\d{1,2})[/.\-](\d{1,2})[/.\-](\d{2,4})(.*)$"
# Clock names that mean one offset, hours; Eastern and Central are those of the farm's own continent.
_CLOCKS = {
    "AEST": 10.0, "AEDT": 11.0, "ACST": 9.5, "ACDT": 10.5, "AWST": 8.0, "ACWST": 8.75, "LHST": 10.5, "LHDT": 11.0,
    "NZST": 12.0, "NZDT": 13.0, "SAST": 2.0, "CET": 1.0, "CEST": 2.0, "EET": 2.0, "EEST": 3.0, "WET": 0.0, "WEST": 1.0,
    "BST": 1.0, "UTC": 0.0, "GMT": 0.0, "PST": -8.0, "PDT": -7.0, "MST": -7.0, "MDT": -6.0,
}  # fmt: skip
_BY_CONTINENT = {"Australia": {"EST": 10.0, "EDT": 11.0, "CST": 9.5, "CDT": 10.5, "WST": 8.0},
                 "America": {"EST": -5.0, "EDT": -4.0, "CST": -6.0, "CDT": -5.0}}  # fmt: skip


class Times(NamedTuple):
    """Seconds since 1970 UTC of each row, NaN where a row has no time, and what is to be said."""

    t_s: Array
    notes: tuple[str, ...]


def forecast_times(table: pd.DataFrame, columns: ColumnMap, zone: str, where: str) -> Times:
    """Return the times of a forecast's rows. zone: of times that name none. Raises FileError without a clock."""
    hour, day = columns.get("time"), columns.get("date")
    if hour is None and day is None:
        raise FileError("no column holds the time", where, "A forecast needs date and time in each row")
    name = hour.column if hour else ""
    times = None if hour is None else table[hour.column]
    dates = None if day is None else table[day.column]
    if times is not None and dates is not None:
        times = _hours_by_number(times)
    said: list[str] = []
    shift = _offset_in(name, zone)
    if times is not None and not pd.api.types.is_numeric_dtype(times):
        times, shift_behind = _named_clock(times, zone)
        shift = shift_behind if shift is None else shift
    if shift is not None:
        name, zone_read = "", "UTC"
    else:
        zone_read = zone
    times, dates = (_day_and_month(c, zone, said) if c is not None else None for c in (times, dates))
    clock = read_clock(times, dates, name, zone_read, _NEVER)
    if clock.kind not in ("utc", "local") or not np.isfinite(clock.t_s).any():
        why = clock.notes[0].rstrip(".") if clock.notes else "no column holds the time"
        raise FileError(why.replace("the log", "it"), where, "A forecast needs date and time in each row")
    if shift is None:
        return Times(clock.t_s, (*said, *clock.notes))
    if clock.kind == "utc":
        return Times(clock.t_s, tuple(said))
    said.append(f"times are read as {shift:+g} h from UTC, as the file says.")
    return Times(clock.t_s - 3600.0 * shift, tuple(said))


def one_time(value: Any, zone: str) -> datetime | None:
    """Return a single time as a file writes it (an issue time), UTC; noon where it is a date only; None for none."""
    if isinstance(value, date) and not isinstance(value, datetime):
        value = datetime.combine(value, time(12))
    if value is None or str(value).strip() in ("", "nan", "NaT"):
        return None
    table = pd.DataFrame({"time": pd.Series([value, value])})
    from mapper.files.columns import ColumnEntry

    try:
        found = forecast_times(table, ColumnMap((ColumnEntry("time", "time"),)), zone, "")
    except FileError:
        return None
    return None if np.isnan(found.t_s[0]) else datetime.fromtimestamp(float(found.t_s[0]), UTC)


def _hours_by_number(times: "pd.Series[Any]") -> "pd.Series[Any]":
    """Hours beside a date written as 0 to 24, or as 1830, turned to clock times."""
    hours = numbers(times)
    if not np.isfinite(hours).all() or (hours < 0).any():
        return times
    if hours.max() <= 24:
        return pd.Series([f"{int(h):02d}:{round(h % 1 * 60):02d}" for h in hours])
    if hours.max() <= 2400 and (hours % 100 < 60).all() and (hours == np.round(hours)).all():
        return pd.Series([f"{int(h) // 100:02d}:{int(h) % 100:02d}" for h in hours])
    return times


def _offset_in(name: str, zone: str) -> float | None:
    """Hours from UTC that a heading names: "Time (AEST)", "local time UTC+9:30"."""
    found = re.search(r"(?:utc|gmt)\s*([+-]\d{1,2})(?::?(\d{2}))?", name, re.IGNORECASE)
    if found:
        hours = float(found.group(1))
        return hours + float(np.copysign(float(found.group(2) or 0) / 60.0, hours))
    words = re.findall(r"[A-Z]{3,5}", name)
    return next((c for w in words if w not in ("UTC", "GMT") and (c := _clock_hours(w, zone)) is not None), None)


def _clock_hours(word: str, zone: str) -> float | None:
    here: dict[str, float] = _BY_CONTINENT.get(zone.partition("/")[0], {})
    return here.get(word, _CLOCKS.get(word))


def _named_clock(times: "pd.Series[Any]", zone: str) -> tuple["pd.Series[Any]", float | None]:
    """Take a clock's name off the end of each time where all name one: "18:00 AEST"."""
    found = times.astype(str).str.extract(r"^(.*\d)\s*\(?([A-Z]{3,5})\)?\s*$")
    if found[1].isna().any() or len(found) == 0:
        return times, None
    hours = [_clock_hours(str(w), zone) for w in found[1]]
    if any(h is None for h in hours) or set(found[1]) <= {"UTC", "GMT"}:
        return times, None
    if len(set(hours)) == 1:
        return found[0], hours[0]
    # Clocks change within the file: each time with its own offset.
    offsets = [f"{'-' if h < 0 else '+'}{int(abs(h)):02d}:{round(abs(h) % 1 * 60):02d}" for h in hours if h is not None]
    return found[0].str.strip() + pd.Series(offsets, index=found.index), None


def _day_and_month(written: "pd.Series[Any]", zone: str, said: list[str]) -> "pd.Series[Any]":
    """Dates such as 04/05/2026 as ISO: the reading whose hours follow one another best; in doubt day first."""
    text = written.astype(str)
    parts = text.str.extract(_SLASHED)
    if not len(parts) or parts[0].isna().mean() > 0.1:
        return written
    first, second = parts[0].astype(float), parts[1].astype(float)
    year = parts[2].astype(float)
    year = year.where(year >= 100, year + 2000)
    fits = {"day": second.max() <= 12, "month": first.max() <= 12}
    if not any(fits.values()):
        return written
    order = "day" if fits["day"] else "month"
    if all(fits.values()):
        jumps = {k: _jumps(year, a, b) for k, a, b in (("day", first, second), ("month", second, first))}
        order = min(jumps, key=lambda k: (jumps[k], k != ("month" if _american(zone) else "day")))
        if jumps["day"] == jumps["month"] and not (first == second).all():
            said.append(f"the date {text.iloc[0]} could have day or month first; {order} first was taken.")
    day, month = (first, second) if order == "day" else (second, first)
    iso = [
        f"{int(y):04d}-{int(m):02d}-{int(d):02d}{rest}" if np.isfinite(y) else "NaT"
        for y, m, d, rest in zip(year, month, day, parts[3].fillna(""), strict=True)
    ]
    return pd.Series(iso, index=written.index)


def _american(zone: str) -> bool:
    return zone.startswith(("America/", "US/", "Pacific/Honolulu"))


def _jumps(year: "pd.Series[float]", day: "pd.Series[float]", month: "pd.Series[float]") -> int:
    """How often the date does not stay or go on by a day."""
    dates = pd.to_datetime(pd.DataFrame({"year": year, "month": month, "day": day}).dropna(), errors="coerce")
    step = dates.sort_values().diff().dropna()
    return int((step > pd.Timedelta(days=1)).sum() + dates.isna().sum())


def in_time(table: pd.DataFrame) -> tuple[pd.DataFrame, list[str]]:
    """Return rows in order of time, each time once, and what was left out. table: time_utc in seconds since 1970."""
    said: list[str] = []
    timeless = table["time_utc"].isna()
    if timeless.any():
        said.append(f"{int(timeless.sum())} rows without a time were left out.")
        table = table[~timeless]
    if not table["time_utc"].is_monotonic_increasing:
        said.append("rows were put in order of time.")
        table = table.sort_values("time_utc", kind="stable")
    twice = table["time_utc"].duplicated(keep="last")
    if twice.any():
        same = table[table["time_utc"].duplicated(keep=False)].drop_duplicates().shape[0] == int(twice.sum())
        differ = "" if same else ", and they differ"
        said.append(f"{int(twice.sum())} hours stood twice{differ}; the later row in the file was kept.")
        table = table[~twice]
    out = table.reset_index(drop=True)
    out["time_utc"] = pd.to_datetime(out["time_utc"], unit="s", utc=True).astype("datetime64[ns, UTC]")
    return out.astype({c: t for c, t in FORECAST_COLUMNS.items() if c != "time_utc"})[list(FORECAST_COLUMNS)], said


def gaps(forecast: pd.DataFrame) -> list[str]:
    """Say where hours or values are missing."""
    said = []
    step = forecast["time_utc"].diff().dropna().dt.total_seconds() / 3600.0
    usual = float(step.median()) if len(step) else 1.0
    long = step[step > 1.5 * usual]
    if len(long):
        at = forecast["time_utc"].iloc[long.index[0] - 1]
        said.append(f"{len(long)} gaps in time, the first after {at:%Y-%m-%d %H:%M} UTC; nothing was filled in.")
    if usual > 1.0:
        said.append(f"rows are {usual:g} h apart; hours between are not known.")
    for column in ("temp_c", "rh_pct", "wind_km_h", "wind_from_deg"):
        missing = int(forecast[column].isna().sum())
        if missing:
            said.append(f"{column} is not known in {missing} of {len(forecast)} rows.")
    return said
