"""A forecast from a CSV of any make: units turned, times to UTC, directions to grid north; gaps said, not filled."""

import re
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.crs import Grid
from mapper.farm.errors import FileError, SettingError
from mapper.farm.ranged import Array
from mapper.files.clock import Clock, read_clock
from mapper.files.columns import ColumnEntry, ColumnMap
from mapper.files.guess import samples_of
from mapper.files.names import plain
from mapper.files.numbers import number_like
from mapper.files.report import ImportReport, ImportResult
from mapper.files.textread import read_text
from mapper.files.unitguess import in_unit
from mapper.files.units import split_unit
from mapper.weather.forecast import FORECAST_COLUMNS, check_forecast

_NAMES: tuple[tuple[str, str, str], ...] = (
    ("time", r"\b(date ?time|time ?stamp|valid ?time|local ?time|time ?local|time ?utc|utc ?time|iso ?time)\b", ""),
    ("time", r"^(time|hour|zeit|utc|valid|when|epoch)( \w+)?$", ""),
    ("date", r"^(date|datum|day|local date)$", ""),
    ("gust", r"gust|gst|boe", r"dir"),
    ("wind_from", r"(wind|wnd).*(dir|from|bearing|compass)|^(dir\w*|wd|wind from|wdir|bearing)( \w+)?$", r"gust"),
    ("wind", r"(wind|wnd).*(sp|mean|avg|10 ?m|km|kn)|^(ws|wspd|wind|ff|wind speed)$", r"dir|gust"),
    ("humidity", r"humid|^rh\b|\brh$|hum\b", r""),
    ("temperature", r"^(air )?(temp\w*|tair|t2m|t)\b|temperature|air temp", r"dew|soil|max|min|apparent|feels|wet"),
    ("rain", r"rain|precip|^pp?$|regen", r"prob|chance|pop"),
    ("cloud", r"cloud|sky|okta|bewoelk", r"base|height|type"),
)  # fmt: skip
_COMPASS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
_TARGETS = {
    "temperature": "temp_c", "humidity": "rh_pct", "wind": "wind_km_h", "gust": "gust_km_h", "rain": "rain_mm",
    "cloud": "cloud_pct", "wind_from": "wind_from_deg",
}  # fmt: skip
# Values outside these are no weather and are left out as unknown.
_POSSIBLE = {
    "temp_c": (-30, 60), "rh_pct": (0, 105), "wind_km_h": (0, 250), "gust_km_h": (0, 350), "rain_mm": (0, 300),
    "cloud_pct": (0, 100.5), "wind_from_deg": (0, 360),
}  # fmt: skip


def read_forecast(
    path: Path | str,
    grid: Grid | None,
    lonlat: tuple[float, float],
    zone: str,
    columns: ColumnMap | None = None,
) -> ImportResult:
    """Read a forecast.

    Parameters
    ----------
    path : text table with one row an hour (or shorter).
    grid : the farm's; its convergence at lonlat turns directions from true north. None leaves them at true north.
    lonlat : longitude, latitude of the place in degrees.
    zone : time zone of times that name none.
    columns : a corrected mapping; None guesses it and says so.

    Returns the checked table (weather/forecast.py) and the report. Raises FileError, SettingError or LayerError.
    """
    path = Path(path)
    text = read_text(path)
    table = text.table
    columns = columns or guess_forecast_columns(table)
    notes = list(columns.lines())
    for entry in columns.entries:
        if entry.column not in table.columns:
            raise SettingError(
                f"there is no column {entry.column!r}", str(path), f"There are {', '.join(table.columns)}"
            )
    for needed in ("wind", "wind_from", "temperature", "humidity"):
        if columns.get(needed) is None:
            word = {"wind": "wind speed", "wind_from": "wind direction"}.get(needed, needed)
            raise FileError(f"no column holds the {word}", str(path), "Name it in a column file")
    clock = _clock(table, columns, columns.zone or zone, str(path))
    notes += clock.notes
    data: dict[str, Array] = {"time_utc": clock.t_s}
    repaired = list(text.repaired)
    for meaning, target in _TARGETS.items():
        found = columns.get(meaning)
        values = np.full(len(table), np.nan) if found is None else _values(table, found)
        if found is None:
            notes.append(f"no column holds {target.split('_')[0]}; it counts as not known.")
        low, high = _POSSIBLE[target]
        with np.errstate(invalid="ignore"):
            wrong = (values < low) | (values > high)
        if wrong.any():
            repaired.append(f"{int(wrong.sum())} values of {target} that no weather has were taken as not known.")
        data[target] = np.where(wrong, np.nan, values)
    data["rh_pct"] = np.minimum(data["rh_pct"], 100.0)
    data["cloud_pct"] = np.minimum(data["cloud_pct"], 100.0)
    if grid is not None:
        e, n = grid.from_lonlat(*lonlat)
        turn = grid.convergence_deg(float(e), float(n))
        data["wind_from_deg"] = (data["wind_from_deg"] - turn) % 360.0
        notes.append(f"directions turned from true north to grid north by {-turn:+.2f} degrees.")
    forecast, said = _in_time(pd.DataFrame(data))
    repaired += said
    notes += _gaps(forecast)
    used = {e.column for e in columns.entries}
    unused = tuple(str(c) for c in table.columns if c not in used)
    report = ImportReport(
        path.name, "hours", len(forecast), repaired=tuple(repaired), ignored=unused, notes=tuple(notes)
    )
    return ImportResult(check_forecast(forecast), report)


def guess_forecast_columns(table: pd.DataFrame) -> ColumnMap:
    """Return which column of a forecast is taken as what, with its unit."""
    entries: list[ColumnEntry] = []
    used: set[str] = set()
    for meaning, pattern, but in _NAMES:
        if any(e.meaning == meaning for e in entries):
            continue
        for column in map(str, table.columns):
            name, unit = split_unit(column)
            text = plain(name if unit else column)
            if column in used or not re.search(pattern, text) or (but and re.search(but, text)):
                continue
            if meaning not in ("time", "date", "wind_from") and not number_like(table[column]):
                continue
            unit, why = _unit(meaning, unit, table[column])
            entries.append(
                ColumnEntry(meaning, column, unit, "guess" if why else "certain", why or "by its name",
                            samples_of(table[column]))
            )  # fmt: skip
            used.add(column)
            break
    return ColumnMap(tuple(entries))


def _unit(meaning: str, unit: str, values: "pd.Series[Any]") -> tuple[str, str]:
    """Return the unit of a column, and why where its name does not say it."""
    from mapper.files.columns import MEANINGS
    from mapper.files.units import FACTORS

    dimension = MEANINGS[meaning]
    if not dimension or meaning == "wind_from":
        return "", ""
    if dimension == "speed" and unit == "ms":
        # "ws_ms": milliseconds everywhere else, metres a second here.
        return "m/s", ""
    if unit in FACTORS[dimension]:
        return unit, ""
    numbers = pd.to_numeric(values, errors="coerce")
    if meaning == "temperature":
        middle = float(numbers.median())
        return "K" if middle > 200 else "F" if middle > 45 else "C", "by its size"
    top = float(numbers.max()) if numbers.notna().any() else float("nan")
    if meaning in ("humidity", "cloud"):
        if top <= 1.0:
            return "fraction", "by its size"
        return ("okta", "by its size") if meaning == "cloud" and top <= 8 else ("%", "by its size")
    return ("mm", "no unit given") if meaning == "rain" else ("km/h", "no unit given")


def _values(table: pd.DataFrame, entry: ColumnEntry) -> Array:
    column = table[entry.column]
    if entry.meaning == "wind_from" and not number_like(column):
        degrees = {name: 22.5 * i for i, name in enumerate(_COMPASS)}
        words = column.astype(str).str.upper().str.replace(r"[^A-Z]", "", regex=True)
        for word, letter in (("NORTH", "N"), ("EAST", "E"), ("SOUTH", "S"), ("WEST", "W")):
            words = words.str.replace(word, letter, regex=False)
        words = words.str.replace(r"(ERN|ERLY|LY)$", "", regex=True)
        return np.asarray(words.map(degrees), dtype=float)
    numbers = pd.to_numeric(column, errors="coerce").to_numpy(float)
    if entry.meaning == "temperature" and entry.unit == "F":
        return (numbers - 32.0) / 1.8
    if entry.meaning == "temperature" and entry.unit == "K":
        return numbers - 273.15
    if entry.meaning == "wind_from":
        return np.where((numbers >= -180) & (numbers < 0), numbers + 360.0, numbers)
    dimension = {"wind": "speed", "gust": "speed", "rain": "rain", "humidity": "share", "cloud": "share"}
    kept = in_unit(numbers, entry.unit, dimension.get(entry.meaning, "temperature"))
    # A speed is kept in km/h in the forecast, m/s in tracks.
    return kept * 3.6 if entry.meaning in ("wind", "gust") else kept


def _clock(table: pd.DataFrame, columns: ColumnMap, zone: str, where: str) -> Clock:
    time, date = columns.get("time"), columns.get("date")
    times = table[time.column] if time else None
    if time is not None and date is not None:
        hours = pd.to_numeric(table[time.column], errors="coerce")
        if hours.notna().all() and hours.max() <= 24:
            times = pd.Series([f"{int(h):02d}:{round(h % 1 * 60):02d}" for h in hours])
    clock = read_clock(times, table[date.column] if date else None, time.column if time else "", zone)
    if clock.kind not in ("utc", "local") or not np.isfinite(clock.t_s).any():
        why = clock.notes[0].rstrip(".") if clock.notes else "no column holds the time"
        raise FileError(why, where, "A forecast needs date and time in each row")
    return clock


def _in_time(table: pd.DataFrame) -> tuple[pd.DataFrame, list[str]]:
    """Return rows in order of time, each time once, and what was left out."""
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
        said.append(f"{int(twice.sum())} hours stood twice; the later row in the file was kept.")
        table = table[~twice]
    out = table.reset_index(drop=True)
    out["time_utc"] = pd.to_datetime(out["time_utc"], unit="s", utc=True).astype("datetime64[ns, UTC]")
    return out.astype({c: t for c, t in FORECAST_COLUMNS.items() if c != "time_utc"})[list(FORECAST_COLUMNS)], said


def _gaps(forecast: pd.DataFrame) -> list[str]:
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
