"""Times in files of any make turned to seconds since 1970 UTC; where a column is no clock, that is said."""

import re
from datetime import UTC, datetime
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from mapper.farm.ranged import Array

_DAY_S = 86_400.0
_LOOKED_AT = 2000
# Spreadsheet days count from 1899-12-30 (the 1900 system with its leap-day slip).
_SPREADSHEET_ZERO = 25_569.0
_EARLIEST, _LATEST = 631_152_000.0, 4_102_444_800.0  # 1990 to 2100
_HAS_OFFSET = re.compile(r"(Z|[+-]\d{2}:?\d{2}|UTC|GMT)\s*$", re.IGNORECASE)
_SAYS_UTC = re.compile(r"utc|gmt|zulu|\bz\b", re.IGNORECASE)


class Clock(NamedTuple):
    """t_s: seconds since 1970 UTC (or of a counter), NaN where unknown. kind: "utc", "local", "counter" or "none"."""

    t_s: Array
    kind: str
    notes: tuple[str, ...]


def _none(n: int, *notes: str) -> Clock:
    return Clock(np.full(n, np.nan), "none", notes)


def read_clock(
    times: "pd.Series[Any] | None", dates: "pd.Series[Any] | None", name: str, zone: str, now: datetime | None = None
) -> Clock:
    """Return the clock of a table.

    times, dates: columns as read, either may be None. name: of the time column, which may say UTC.
    zone: time zone of times that name none. now: what counts as the future.
    """
    now_s = (now or datetime.now(UTC)).timestamp()
    n = len(times) if times is not None else len(dates) if dates is not None else 0
    if times is None and dates is None:
        return _none(n, "the log has no time.")
    day_s = _days(dates) if dates is not None else None
    if times is None:
        assert day_s is not None
        return _none(n, "the log has a date and no time of day; no clock is used.", *_odd_dates(day_s, now_s))
    t_s, kind = _seconds(times, day_s)
    if kind == "none":
        return _none(n, f"column {name!r} is no time that can be read; no clock is used.")
    if kind == "counter":
        return Clock(t_s, "counter", (f"column {name!r} counts and is no time of day; no date is shown.",))
    known = t_s[np.isfinite(t_s)]
    if not len(known):
        return _none(n, f"column {name!r} holds no time that can be read; no clock is used.")
    if np.ptp(known % _DAY_S) == 0 and len(known) > 1 and (known % _DAY_S)[0] == 0:
        return _none(n, "the log has a date and no time of day; no clock is used.", *_odd_dates(known, now_s))
    odd = _odd_dates(known, now_s)
    if kind == "local" and _SAYS_UTC.search(name):
        kind = "utc"
    notes = (*_either_way(dates if dates is not None else times), *odd)
    if kind == "local":
        t_s, shifted = to_utc(t_s, zone)
        notes += (f"times name no zone; they were read as local time in {zone}.", *shifted)
    if odd:
        return Clock(t_s - np.nanmin(t_s), "counter", (*notes, "the times are used for the order only."))
    return Clock(t_s, kind, notes)


def _either_way(written: "pd.Series[Any]") -> tuple[str, ...]:
    """Say where every date could as well have the month first."""
    some = written.iloc[:: max(1, len(written) // _LOOKED_AT)].astype(str)
    parts = some.str.extract(r"^\s*(\d{1,2})[/.\-](\d{1,2})[/.\-]\d{2,4}").astype(float)
    if parts[0].notna().mean() < 0.9 or parts.max().max() > 12 or (parts[0] == parts[1]).all():
        return ()
    return (f"the date {some.iloc[0]} could have day or month first; day first was taken.",)


def _odd_dates(t_s: Array, now_s: float) -> tuple[str, ...]:
    known = t_s[np.isfinite(t_s)]
    if not len(known):
        return ()
    day = pd.Timestamp(float(np.median(known)), unit="s").date()
    if np.median(known) > now_s + 2 * _DAY_S:
        return (f"the date {day} lies in the future; it is not used.",)
    if np.median(known) < _EARLIEST:
        return (f"the date {day} is no harvest's; it is not used.",)
    return ()


def to_utc(t_s: Array, zone: str) -> tuple[Array, tuple[str, ...]]:
    """Return UTC seconds of local wall-clock seconds, and notes on hours that stand twice or not at all.

    Of an hour that stands twice, the first run is summer time and the one after a step back is standard time.
    """
    wall = pd.DatetimeIndex(pd.to_datetime(t_s, unit="s"))
    back = np.r_[False, np.diff(t_s) <= 0]
    early = wall.tz_localize(zone, ambiguous=np.ones(len(wall), bool), nonexistent="shift_forward")
    late = wall.tz_localize(zone, ambiguous=np.zeros(len(wall), bool), nonexistent="shift_forward")
    e, late_s = _utc_seconds(early), _utc_seconds(late)
    twice = np.isfinite(e) & (e != late_s)
    notes = []
    if twice.any():
        run = np.cumsum(back | (~twice & np.r_[False, twice[:-1]]))
        first = np.zeros(len(wall), bool)
        days = np.floor(t_s / _DAY_S)
        for day in np.unique(days[twice]):
            here = twice & (days == day)
            first |= here & (run == run[here][0])
        stands = (
            "the second was read as standard time" if back[twice].any() else "the file holds it once, read as first"
        )
        e = np.where(twice & ~first, late_s, e)
        notes.append(f"an hour stands twice as summer time ends; {stands}.")
    return e, tuple(notes)


def _utc_seconds(index: pd.DatetimeIndex) -> Array:
    out = index.tz_convert("UTC").tz_localize(None).to_numpy("datetime64[ns]")
    return np.where(np.isnat(out), np.nan, out.astype("int64") / 1e9)


def _seconds(times: "pd.Series[Any]", day_s: Array | None) -> tuple[Array, str]:
    if isinstance(times.dtype, pd.DatetimeTZDtype):
        return _utc_seconds(pd.DatetimeIndex(times)), "utc"
    if pd.api.types.is_datetime64_dtype(times):
        values = times.to_numpy("datetime64[ns]")
        return np.where(np.isnat(values), np.nan, values.astype("int64") / 1e9), "local"
    if pd.to_numeric(times.iloc[:: max(1, len(times) // _LOOKED_AT)], errors="coerce").notna().mean() > 0.9:
        return _from_numbers(pd.to_numeric(times, errors="coerce").to_numpy(float), day_s)
    return _from_text(times.astype(str), day_s)


def _from_numbers(v: Array, day_s: Array | None) -> tuple[Array, str]:
    middle = float(np.nanmedian(v))
    for scale in (1.0, 1e3, 1e6, 1e9):
        if _EARLIEST <= middle / scale <= _LATEST:
            return v / scale, "utc"
    if 1.9e13 < middle < 2.1e13:
        return _from_text(pd.Series([f"{int(x):014d}" if np.isfinite(x) else "" for x in v]), None)
    if day_s is not None:
        if np.nanmax(v) <= 1.0:
            return day_s + v * _DAY_S, "local"
        if _is_hhmmss(v):
            return day_s + _hhmmss(v), "local"
        if np.nanmax(v) < 2 * _DAY_S and middle > 24:
            return day_s + v, "local"
    if 32_000 < middle < 73_000 and np.nanmax(v) - np.nanmin(v) < 400 and (v % 1 != 0).any():
        return np.round((v - _SPREADSHEET_ZERO) * _DAY_S, 3), "local"
    if np.isfinite(v).all() and np.ptp(v) > 0:
        return v.astype(float), "counter"
    return v, "none"


def _is_hhmmss(v: Array) -> bool:
    whole = v[np.isfinite(v)]
    minutes, seconds = whole // 100 % 100, whole % 100
    return bool((whole < 240_000).all() and (minutes < 60).all() and (seconds < 60).all() and whole.max() > 9_999)


def _hhmmss(v: Array) -> Array:
    return v // 10_000 * 3600 + v // 100 % 100 * 60 + v % 100


def _days(dates: "pd.Series[Any]") -> Array:
    """Return midnight of each date in seconds since 1970, zone not considered."""
    if pd.api.types.is_datetime64_any_dtype(dates):
        values = dates.dt.tz_localize(None) if isinstance(dates.dtype, pd.DatetimeTZDtype) else dates
        days = values.to_numpy("datetime64[D]")
        return np.where(np.isnat(days), np.nan, days.astype("int64") * _DAY_S)
    numbers = pd.to_numeric(dates, errors="coerce").to_numpy(float)
    if np.isfinite(numbers).mean() > 0.9:
        if 32_000 < np.nanmedian(numbers) < 73_000:
            return np.floor(numbers - _SPREADSHEET_ZERO) * _DAY_S
        if np.nanmax(numbers) < 1_000_000:
            return _six_digits(numbers)
        dates = pd.Series([f"{int(x):08d}" if np.isfinite(x) else "" for x in numbers])
    t_s, _ = _from_text(dates.astype(str), None)
    return np.floor(t_s / _DAY_S) * _DAY_S


def _six_digits(v: Array) -> Array:
    """Return midnights of dates in six digits: day, month, year as receivers write it, else year or month first."""
    a, b, c = v // 10_000, v // 100 % 100, v % 100
    for year, month, day in ((c, b, a), (a, b, c), (c, a, b)):
        if np.nanmin(month) >= 1 and np.nanmax(month) <= 12 and np.nanmin(day) >= 1 and np.nanmax(day) <= 31:
            parts = pd.DataFrame({"year": 2000 + year, "month": month, "day": day})
            days = pd.to_datetime(parts, errors="coerce").to_numpy("datetime64[s]")
            return np.where(np.isnat(days), np.nan, days.astype("int64").astype(float))
    return np.full(len(v), np.nan)


def _from_text(text: "pd.Series[Any]", day_s: Array | None) -> tuple[Array, str]:
    """Parse each different text once; how it is written is told from some of them."""
    start = text.head(_LOOKED_AT)
    if len(text) > 10 * _LOOKED_AT and start.nunique() > 0.5 * len(start):
        codes, words = np.arange(len(text)), text.reset_index(drop=True).str.strip()
    else:
        codes, different = pd.factorize(text)
        words = pd.Series(different, dtype=object).astype(str).str.strip()
    if day_s is not None and words.head(_LOOKED_AT).str.match(r"^\d{1,2}\.\d{2}\.\d{2}$").mean() > 0.9:
        words = words.str.replace(".", ":", regex=False)  # 21.58.00, as Italians write it
    some = words.iloc[:: max(1, len(words) // _LOOKED_AT)]
    if some.str.match(r"^\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?(\s*[AaPp]\.?[Mm]\.?)?$").mean() > 0.9:
        time_s = _time_of_day(words)[codes]
        return (_past_midnight(time_s), "counter") if day_s is None else (day_s + time_s, "local")
    zoned = some.map(lambda w: ":" in w and _HAS_OFFSET.search(w) is not None).mean() > 0.9
    values = _parse(words, some, zoned)
    seconds = np.where(np.isnat(values), np.nan, values.astype("int64") / 1e9)
    if not np.isfinite(seconds).any():
        return np.full(len(text), np.nan), "none"
    return np.where(codes >= 0, seconds[codes], np.nan), "utc" if zoned else "local"


def _past_midnight(t_s: Array) -> Array:
    """Let a time of day run on past midnight."""
    step = np.diff(t_s, prepend=t_s[:1])
    return t_s + _DAY_S * np.cumsum(step < -_DAY_S / 2)


def _time_of_day(words: "pd.Series[Any]") -> Array:
    parts = words.str.replace(",", ".").str.extract(r"^(\d{1,2}):(\d{2})(?::(\d{2}(?:\.\d+)?))?\s*([AaPp])?")
    hours, minutes = parts[0].astype(float), parts[1].astype(float)
    half = parts[3].str.lower()
    hours = hours.where(half.isna(), hours % 12) + 12.0 * (half == "p")
    return np.asarray(hours * 3600 + minutes * 60 + parts[2].astype(float).fillna(0.0), dtype=float)


def _parse(words: "pd.Series[Any]", some: "pd.Series[Any]", zoned: bool) -> Any:
    """Return datetime64[ns] of different texts, day before month unless the numbers say otherwise."""
    if some.str.contains(r"(?:UTC|GMT)\s*$|[ap]\.m\.?$", regex=True, case=False).any():
        words = words.str.replace(r"\s*(UTC|GMT)\s*$", "Z", regex=True, case=False)
        words = words.str.replace(r"([ap])\.m\.?$", r"\1m", regex=True, case=False)
        some = words.loc[some.index]
    options: dict[str, Any] = {"errors": "coerce", "utc": zoned}
    parts = some.str.extract(r"^(\d{1,2})([/.\-])(\d{1,2})[/.\-](\d{2,4})")
    if parts[0].notna().mean() > 0.9:
        first, second = parts[0].astype(float).max(), parts[2].astype(float).max()
        day, mark = ("%m{0}%d" if second > 12 >= first else "%d{0}%m"), parts[1].mode().iloc[0]
        formats = [
            f"{day}{{0}}{year}{time}".format(mark)
            for year in ("%Y", "%y")
            for time in ("", " %H:%M:%S", " %H:%M", " %H:%M:%S.%f", " %I:%M:%S %p", " %I:%M %p")
        ]
        options["dayfirst"] = day.startswith("%d")
    else:
        formats = ["ISO8601", "%Y%m%d%H%M%S", "%Y%m%d", "%Y/%m/%d %H:%M:%S", "%Y/%m/%d %H:%M"]
    chosen = next((f for f in formats if pd.to_datetime(some, format=f, **options).notna().mean() > 0.9), "mixed")
    parsed = pd.to_datetime(words, format=chosen, **options)
    if isinstance(parsed.dtype, pd.DatetimeTZDtype):
        parsed = parsed.dt.tz_localize(None)
    return parsed.to_numpy("datetime64[ns]")
