"""A forecast from a file of any make: units turned, times to UTC, directions to grid north; gaps said, not filled."""

import tempfile
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
import pandas as pd

from mapper.farm.crs import Grid
from mapper.farm.errors import FileError, SettingError
from mapper.farm.issues import ForecastIssue
from mapper.farm.ranged import Array
from mapper.files.columns import ColumnMap
from mapper.files.forecastcolumns import (
    UNSAID,
    column_values,
    guess_forecast_columns,
    height_m,
    relative_humidity,
    wind_of_parts,
)
from mapper.files.forecastgrid import head_of, is_grid, issue_moment, read_grid
from mapper.files.forecastjson import read_json
from mapper.files.forecasttime import forecast_times, gaps, in_time, one_time
from mapper.files.report import ImportReport, ImportResult
from mapper.files.textread import read_text
from mapper.weather.forecast import CAN_BE, check_forecast
from mapper.weather.wind import height_bounds

__all__ = ["guess_forecast_columns", "is_forecast", "read_forecast", "read_issue", "read_pasted"]

_TARGETS = {
    "temperature": "temp_c", "humidity": "rh_pct", "wind": "wind_km_h", "gust": "gust_km_h", "rain": "rain_mm",
    "cloud": "cloud_pct", "wind_from": "wind_from_deg",
}  # fmt: skip
# What a forecast is no use without, the columns it may be made from, and its name in a sentence.
_NEEDED = {
    "wind": (("wind_east", "wind_north"), "the wind speed"),
    "wind_from": (("wind_east", "wind_north"), "the wind direction"),
    "temperature": ((), "the temperature"),
    "humidity": (("dew_point",), "the humidity"),
}
# Slightly more than all is rounding, and counts as all.
_A_HAIR = {"rh_pct": 105.0, "cloud_pct": 100.5}


@dataclass(frozen=True)
class _Raw:
    """A file's rows before anything is turned. zone: that its times are in, issued: as written."""

    table: pd.DataFrame
    zone: str
    repaired: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    issued: Any = None
    issued_at: datetime | None = None


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
    path : text table with one row an hour (or shorter); JSON (an object of arrays, an array of objects); CF-NetCDF or
        GRIB, read at the nearest cell.
    grid : the farm's; its convergence at lonlat turns directions from true north. None leaves them at true north.
    lonlat : longitude, latitude of the place in degrees.
    zone : time zone of times that name none.
    columns : a corrected mapping; None guesses it and says so.

    Returns the checked table (weather/forecast.py) and the report; report.issued_at where the file says it. Raises
    FileError, SettingError or LayerError.
    """
    path = Path(path)
    return _read(_raw(path, lonlat, columns.zone if columns and columns.zone else zone), path, grid, lonlat, columns)


def read_issue(
    path: Path | str,
    grid: Grid | None,
    lonlat: tuple[float, float],
    zone: str,
    columns: ColumnMap | None = None,
    read_at: datetime | None = None,
) -> tuple[ForecastIssue, ImportReport]:
    """Read a forecast as an issue to keep with others (Farm.with_issue); parameters as read_forecast, read_at UTC."""
    table, report = read_forecast(path, grid, lonlat, zone, columns)
    return ForecastIssue(Path(path).name, table, report.issued_at, read_at, report.unsaid), report


def read_pasted(
    text: str, grid: Grid | None, lonlat: tuple[float, float], zone: str, columns: ColumnMap | None = None
) -> ImportResult:
    """Read a forecast from text typed or pasted in (from a spreadsheet, a web page, JSON); else as read_forecast."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "pasted"
        path.write_text(text, encoding="utf-8")
        try:
            return read_forecast(path, grid, lonlat, zone, columns)
        except (FileError, SettingError) as exc:
            raise type(exc)(exc.what, "pasted text", exc.todo) from exc


def is_forecast(path: Path | str) -> bool:
    """Return whether a file looks like a forecast (a grid of weather, or a table of wind, air and time)."""
    path = Path(path)
    if is_grid(path):
        return True
    try:
        columns = guess_forecast_columns(_raw(path, (0.0, 0.0), "UTC").table)
    except (FileError, SettingError):
        return False
    held = {e.meaning for e in columns.entries}
    wind, air = {"wind", "wind_east"}, {"temperature", "humidity", "dew_point"}
    return bool(held & wind) and bool(held & air) and bool(held & {"time", "date"})


def _raw(path: Path, lonlat: tuple[float, float], zone: str) -> _Raw:
    if is_grid(path):
        found = read_grid(path, lonlat)
        return _Raw(found.table, "UTC", notes=list(found.notes), issued_at=issue_moment(found.issued))
    if head_of(path, 64).lstrip(b"\xef\xbb\xbf \t\r\n")[:1] in (b"{", b"["):
        read = read_json(path)
        named = read.zone if _is_zone(read.zone) else ""
        said = [f"the file names the time zone {named}."] if named and named != zone else []
        return _Raw(read.table, named or zone, notes=said, issued=read.issued)
    text = read_text(path)
    return _Raw(text.table, zone, repaired=list(text.repaired))


def _is_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return bool(name)


def _read(
    raw: _Raw, path: Path, grid: Grid | None, lonlat: tuple[float, float], columns: ColumnMap | None
) -> ImportResult:
    table, where = raw.table, str(path)
    if table.empty:
        raise FileError("it holds no hours", where, "Export it again")
    columns = columns or guess_forecast_columns(table)
    for entry in columns.entries:
        if entry.column not in table.columns:
            known = ", ".join(map(str, table.columns))
            raise SettingError(f"there is no column {entry.column!r}", where, f"There are {known}")
    for meaning, (parts, word) in _NEEDED.items():
        if columns.get(meaning) is None and not (parts and all(columns.get(p) for p in parts)):
            names = ", ".join(map(str, table.columns[:30]))
            raise FileError(f"no column holds {word}", where, f"Name it in a column file; the columns are {names}")
    times = forecast_times(table, columns, raw.zone, where)
    notes = [*columns.lines(), *raw.notes, *times.notes]
    repaired = list(raw.repaired)
    data = {"time_utc": times.t_s, **_values(table, columns, repaired, notes)}
    if grid is not None:
        e, n = grid.from_lonlat(*lonlat)
        turn = grid.convergence_deg(float(e), float(n))
        data["wind_from_deg"] = (data["wind_from_deg"] - turn) % 360.0
        notes.append(f"directions turned from true north to grid north by {-turn:+.2f} degrees.")
    forecast, said = in_time(pd.DataFrame(data))
    repaired += said
    notes += gaps(forecast)
    used = {e.column for e in columns.entries}
    report = ImportReport(
        path.name,
        "hours",
        len(forecast),
        repaired=tuple(repaired),
        ignored=tuple(str(c) for c in table.columns if c not in used),
        notes=tuple(notes),
        unsaid=_unsaid(columns, path.name),
        issued_at=raw.issued_at or one_time(_issued(table, columns, raw), raw.zone),
    )
    return ImportResult(check_forecast(forecast), report)


def _unsaid(columns: ColumnMap, file: str) -> str:
    """Say that a forecast does not tell how strong its wind is: taken for km/h, m/s pass as a calm night."""
    if not any((e := columns.get(m)) is not None and e.why == UNSAID for m in ("wind", "gust")):
        return ""
    return (
        f"The forecast {file} names no unit of its wind: km/h was taken, and m/s would be 3.6 times as strong. Write "
        "the unit into the column's heading (wind m/s), or name it in a column file."
    )


def _issued(table: pd.DataFrame, columns: ColumnMap, raw: _Raw) -> Any:
    """When it was issued, as written: by the file, or by a column that holds one time only."""
    entry = columns.get("issued")
    if raw.issued is not None or entry is None:
        return raw.issued
    known = table[entry.column].dropna().unique()
    return known[0] if len(known) == 1 else None


def _values(table: pd.DataFrame, columns: ColumnMap, repaired: list[str], notes: list[str]) -> dict[str, Array]:
    """The weather columns in the units kept; what cannot be is taken as not known and said."""
    data: dict[str, Array] = {}
    for meaning, target in _TARGETS.items():
        found = columns.get(meaning)
        data[target] = np.full(len(table), np.nan) if found is None else column_values(table, found)
    part = {m: column_values(table, e) for m in ("wind_east", "wind_north", "dew_point") if (e := columns.get(m))}
    if "wind_east" in part and "wind_north" in part:
        speed, from_deg = wind_of_parts(part["wind_east"], part["wind_north"])
        if columns.get("wind") is None:
            data["wind_km_h"] = speed
        if columns.get("wind_from") is None:
            data["wind_from_deg"] = from_deg
        notes.append("wind was made of its parts to the east and north.")
    _to_ten_metres(data, columns, notes)
    if columns.get("humidity") is None and "dew_point" in part:
        with np.errstate(invalid="ignore"):
            data["rh_pct"] = relative_humidity(data["temp_c"], part["dew_point"])
        notes.append("humidity was made of temperature and dew point (Magnus; Alduchov & Eskridge 1996).")
    for target, values in data.items():
        if np.isnan(values).all():
            notes.append(f"no column holds {target.split('_')[0]}; it counts as not known.")
        low, high = CAN_BE[target]
        with np.errstate(invalid="ignore"):
            wrong = (values < low) | (values > _A_HAIR.get(target, high))
        if wrong.any():
            repaired.append(f"{int(wrong.sum())} values of {target} that no weather has were taken as not known.")
        data[target] = np.minimum(np.where(wrong, np.nan, values), high)
    return data


def _to_ten_metres(data: dict[str, Array], columns: ColumnMap, notes: list[str]) -> None:
    """Turn wind of another height into wind at 10 m, by the ratio that makes it strongest; gusts keep what they are."""
    entry = columns.get("wind") or columns.get("wind_east")
    height = float("nan") if entry is None else height_m(entry.column)
    if np.isnan(height) or height == 10.0:
        return
    factor = height_bounds(height, 10.0)[1]
    data["wind_km_h"] = data["wind_km_h"] * factor
    notes.append(f"wind of {height:g} m was turned to 10 m, times {factor:.2f}: the most it may be there.")
