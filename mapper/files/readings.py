"""Readings of a hand-held weather meter from a text table: the same columns as a forecast, and height, minutes, who."""

import re
from pathlib import Path

import pandas as pd

from mapper.farm.crs import Grid
from mapper.farm.errors import FileError
from mapper.files.columns import ColumnMap
from mapper.files.forecastcolumns import column_values, guess_forecast_columns
from mapper.files.forecasttime import forecast_times
from mapper.files.names import plain
from mapper.files.numbers import numbers
from mapper.files.report import ImportReport, ImportResult
from mapper.files.textread import read_text
from mapper.weather.readings import HAND_HELD_M, HAND_HELD_MIN, make_readings

_MORE = {
    "height_m": r"^(height|meter height|h)( m)?$",
    "averaging_min": r"averag|mean over|^minutes$|^mean min",
    "by": r"^(by|who|name|observer|reader)$",
}
_TARGETS = {"temperature": "temp_c", "humidity": "rh_pct", "wind": "wind_km_h", "gust": "gust_km_h",
            "wind_from": "wind_from_deg"}  # fmt: skip


def read_readings(
    path: Path | str, grid: Grid | None, lonlat: tuple[float, float], zone: str, columns: ColumnMap | None = None
) -> ImportResult:
    """Read a meter's readings; parameters as files.forecast.read_forecast.

    Returns the table of weather/readings.py and the report. Readings without a height count as 2 m and a 10-minute
    mean, and that is said. Raises FileError or LayerError.
    """
    path = Path(path)
    table = read_text(path).table
    columns = columns or guess_forecast_columns(table)
    if columns.get("wind") is None and columns.get("temperature") is None:
        raise FileError("no column holds wind or temperature", str(path), "A reading needs one of them")
    times = forecast_times(table, columns, columns.zone or zone, str(path))
    found = {"time_utc": pd.to_datetime(times.t_s, unit="s", utc=True)}
    data = {t: column_values(table, e) for m, t in _TARGETS.items() if (e := columns.get(m)) is not None}
    notes = [*columns.lines(), *times.notes]
    used = {e.column for e in columns.entries}
    more: dict[str, object] = {}
    for name, pattern in _MORE.items():
        column = next((c for c in table.columns if c not in used and re.search(pattern, plain(str(c)))), None)
        if column is not None:
            more[name] = table[column].astype(str) if name == "by" else numbers(table[column])
            used.add(column)
    if "height_m" not in more:
        notes.append(f"no column holds the meter's height; {HAND_HELD_M:g} m was taken.")
    if "averaging_min" not in more:
        notes.append(f"no column holds the minutes averaged; {HAND_HELD_MIN:g} were taken.")
    if grid is not None and "wind_from_deg" in data:
        east, north = grid.from_lonlat(*lonlat)
        data["wind_from_deg"] = (data["wind_from_deg"] - grid.convergence_deg(float(east), float(north))) % 360.0
    whole = pd.DataFrame({**found, **data, **more}).dropna(subset=["time_utc"])
    left_out = len(table) - len(whole)
    report = ImportReport(
        path.name,
        "readings",
        len(whole),
        repaired=(f"{left_out} rows without a time were left out.",) if left_out else (),
        ignored=tuple(str(c) for c in table.columns if c not in used),
        notes=tuple(notes),
    )
    return ImportResult(make_readings({c: whole[c] for c in whole.columns}), report)
