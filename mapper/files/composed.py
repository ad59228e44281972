"""Columns that a log spreads over several or packs into one: a point as text, a date and time in six columns."""

import re
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.ranged import Array
from mapper.files.names import plain
from mapper.files.numbers import number_like, numbers

_LOOKED_AT = 200
_NUMBER = r"[+-]?\d+(?:\.\d+)?"
_WKT = re.compile(rf"POINT(?: ?[ZM]+)? ?\(\s*({_NUMBER})\s+({_NUMBER})", re.IGNORECASE)
_PAIR = re.compile(rf"^\s*[\[(]?\s*({_NUMBER})°?\s*[,;\s]\s*({_NUMBER})°?\s*[\])]?\s*$")
_PARTS: dict[str, str] = {
    "year": r"^(gps |utc )?(year|yyyy|yr|jahr|annee|ano|anno)$",
    "month": r"^(gps |utc )?(month|mon|mm|monat|mois|mes|mese)$",
    "day": r"^(gps |utc )?(day|dd|tag|jour|dia|giorno)( of month)?$",
    "day of year": r"^(doy|day of (the )?year|julian( day)?|jday|yday)$",
    "hour": r"^(gps |utc )?(hour|hours|hh|hr|stunde|heure|hora|ora)s?$",
    "minute": r"^(gps |utc )?(minute|min|minuto?s?)s?$",
    "second": r"^(gps |utc )?(second|sec|ss|sekunde|seconde|segundo|secondo)s?$",
    "week": r"^gps ?week( (no|number))?$|^gps ?wk$",
    "second of week": r"^(gps )?(tow|(time|seconds?) of (the )?week|i ?tow|sow)( s| ms| sec)?$",
}
_GPS_ZERO_S = 315_964_800.0  # 6 January 1980
_LEAP_S = 18.0  # GPS ahead of UTC since 2017 (IERS Bulletin C)


def compose(table: pd.DataFrame) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Return the table with columns made where a point or a time stands in an unusual way, and notes of them.

    Made columns: "longitude of NAME", "latitude of NAME"; "date" and "time" of its parts, or "time (UTC)".
    """
    made: dict[str, Any] = {}
    notes: list[str] = []
    for column in table.columns:
        if pd.api.types.is_numeric_dtype(table[column]):
            continue
        pair = _pair(table[column], str(column))
        if pair is not None:
            made.update(pair)
            notes.append(f"column {column!r} holds both coordinates; it was parted.")
            break
    made_time, note = _time(table)
    made.update(made_time)
    notes += [note] if note else []
    free = {k: v for k, v in made.items() if k not in table.columns}
    return (table.assign(**free) if free else table), tuple(notes)


def _pair(values: "pd.Series[Any]", name: str) -> dict[str, Any] | None:
    text = values.astype(str)
    some = values.dropna().astype(str).head(_LOOKED_AT)
    if some.empty:
        return None
    if some.map(lambda t: _WKT.search(t) is not None).mean() > 0.9:
        found = text.str.extract(_WKT).astype(float)
        first, second = found[0], found[1]
    elif some.map(lambda t: _PAIR.match(t) is not None).mean() > 0.9 and re.search(
        r"pos|loc|coord|lat|gps|point|punkt|ort", plain(name)
    ):
        found = text.str.extract(_PAIR).astype(float)
        # A pair without a format of its own has latitude first, as people say it, unless its name says otherwise.
        lon_first = bool(re.search(r"^(lon|lng|x)\w*.*(lat|y)", plain(name)))
        first, second = (found[0], found[1]) if lon_first else (found[1], found[0])
    else:
        return None
    if first.abs().median() > 180 or second.abs().median() > 180:
        return {"easting": first, "northing": second}
    return {f"longitude of {name}": first, f"latitude of {name}": second}


def _time(table: pd.DataFrame) -> tuple[dict[str, Any], str]:
    """Return a date and time of parts, where the log has them in several columns."""
    named = {plain(str(c)): c for c in table.columns}
    found = {
        part: next((c for n, c in named.items() if re.search(pattern, n)), None) for part, pattern in _PARTS.items()
    }
    at: dict[str, Array] = {
        p: numbers(table[c]) for p, c in found.items() if c is not None and number_like(table[c].head(_LOOKED_AT))
    }
    if "week" in at and "second of week" in at:
        unit = 1e-3 if np.nanmax(at["second of week"]) > 700_000 else 1.0
        t_s = _GPS_ZERO_S + at["week"] * 604_800.0 + at["second of week"] * unit - _LEAP_S
        return {"time (UTC)": t_s}, "time is GPS week and second, less 18 leap seconds."
    if "year" not in at:
        return {}, ""
    year = np.where(at["year"] < 100, at["year"] + 2000, at["year"])
    if "day of year" in at:
        days = _days(year, np.ones(len(year)), np.ones(len(year))) + np.floor(at["day of year"]) - 1
    elif "month" in at and "day" in at:
        days = _days(year, at["month"], at["day"])
    else:
        return {}, ""
    date = pd.Series(pd.to_datetime(days, unit="D").strftime("%Y-%m-%d"), index=table.index)
    if "hour" not in at or "minute" not in at:
        return {"date": date}, "the date was put together from its parts."
    seconds = at["hour"] * 3600 + at["minute"] * 60 + at.get("second", np.zeros(len(year)))
    stamp = pd.to_datetime(days * 86_400 + seconds, unit="s").round("ms")
    utc = any(re.search(r"utc|gps", plain(str(found[p]))) for p in ("hour", "year") if found[p] is not None)
    return {"time (UTC)" if utc else "time": pd.Series(stamp, index=table.index)}, (
        "the time was put together from its parts."
    )


def _days(year: Array, month: Array, day: Array) -> Array:
    """Return days since 1970 of dates in parts, NaN where a part is missing."""
    good = np.isfinite(year) & np.isfinite(month) & np.isfinite(day)
    out = np.full(len(year), np.nan)
    parts = {"year": year[good], "month": month[good], "day": day[good]}
    stamps = pd.to_datetime(pd.DataFrame(parts), errors="coerce").to_numpy("datetime64[D]")
    out[good] = np.where(np.isnat(stamps), np.nan, stamps.astype("int64"))
    return out
