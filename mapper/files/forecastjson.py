"""Forecasts in JSON: an object of arrays, an array of objects, or rows under a list of names, wherever they stand."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pandas as pd

from mapper.farm.errors import FileError
from mapper.files.forecastcolumns import guess_forecast_columns

_ZONE_KEYS = ("timezone", "time_zone", "tz", "zone", "tzid")
_ISSUE_KEYS = (
    "issued_at", "issued", "issue_time", "issue_date", "base_time", "reference_time", "forecast_reference_time",
    "model_run", "run_time", "init_time", "generated_at", "updated_at", "updated", "issuetime",
)  # fmt: skip
_DEEPEST = 12


class JsonForecast(NamedTuple):
    """The hours as a table (units in the headings), the zone the file names ("" for none), and its issue time as
    written (None for none)."""

    table: pd.DataFrame
    zone: str
    issued: Any


def read_json(path: Path) -> JsonForecast:
    """Return the hours of a JSON file: of all tables in it the one that holds most of a forecast.

    Raises FileError where it is no JSON, or holds no table.
    """
    try:
        data = json.loads(path.read_bytes().decode("utf-8-sig"))
    except (UnicodeDecodeError, json.JSONDecodeError) as exc:
        line = f" (line {exc.lineno})" if isinstance(exc, json.JSONDecodeError) else ""
        raise FileError(f"it is no JSON that can be read{line}", str(path), "Save it again from where it came") from exc
    except OSError as exc:
        raise FileError(f"it cannot be opened ({exc.strerror})", str(path), "Check the name and folder") from exc
    found: dict[str, list[pd.DataFrame]] = {}
    for path_to, table in _tables(data, _all_units(data), "", 0):
        found.setdefault(path_to, []).append(table)
    # Days in a list, each with its hours: one table.
    tables = [pd.concat(parts, ignore_index=True) if len(parts) > 1 else parts[0] for parts in found.values()]
    tables = [t for t in tables if len(t)]
    if not tables:
        raise FileError("it holds no table of hours", str(path), "It needs a list of hours, or a list for each value")
    best = max(tables, key=lambda t: (len(guess_forecast_columns(t).entries), len(t)))
    return JsonForecast(best, _named(data, _ZONE_KEYS), _named(data, _ISSUE_KEYS) or None)


def _tables(node: Any, units: dict[str, str], where: str, depth: int) -> Iterator[tuple[str, pd.DataFrame]]:
    """Every table at or below a node, with its place; places in lists of like things are one. units: by name."""
    if depth > _DEEPEST:
        return
    if isinstance(node, list):
        objects = [n for n in node if isinstance(n, dict)]
        if len(objects) >= max(1, 0.9 * len(node)):
            yield where, _with_units(_flat(objects), units)
        for child in node:
            if isinstance(child, dict | list):
                yield from _tables(child, units, f"{where}[]", depth + 1)
        return
    if not isinstance(node, dict):
        return
    names, rows = node.get("columns"), node.get("data", node.get("rows", node.get("values")))
    if isinstance(names, list) and isinstance(rows, list) and rows and all(isinstance(r, list) for r in rows):
        width = len(names)
        kept = pd.DataFrame([r for r in rows if len(r) == width], columns=[str(n) for n in names])
        yield f"{where}.rows", _with_units(kept, units)
    # {"temperature": [..]} or {"temperature": {"unit": "C", "values": [..]}}.
    arrays = {k: s for k, v in node.items() if (s := _series(v)) is not None}
    if len(arrays) >= 2:
        counts = [len(v) for v in arrays.values()]
        usual = max(set(counts), key=counts.count)
        own = {k: v.get("unit", v.get("units")) for k, v in node.items() if isinstance(v, dict)}
        own_units = {k: u for k, u in own.items() if isinstance(u, str)}
        even = pd.DataFrame({k: v for k, v in arrays.items() if len(v) == usual})
        yield f"{where}.arrays", _with_units(even, {**units, **own_units})
    for key, child in node.items():
        if isinstance(child, dict | list):
            yield from _tables(child, units, f"{where}.{key}", depth + 1)


def _flat(objects: list[dict[str, Any]]) -> pd.DataFrame:
    """Objects as rows, what is nested in them as columns "wind_speed"; lists in them are left out."""
    table = pd.json_normalize(objects, sep="_")
    nested = [c for c in table.columns if table[c].map(lambda v: isinstance(v, list | dict)).any()]
    return table.drop(columns=nested)


def _series(node: Any) -> list[Any] | None:
    """A list of plain values, bare or under "values", "data" or "value"."""
    bare = [node] if isinstance(node, list) else []
    inside = [node.get(k) for k in ("values", "data", "value")] if isinstance(node, dict) else []
    return next((v for v in (*bare, *inside) if isinstance(v, list) and v and not isinstance(v[0], dict | list)), None)


def _all_units(node: Any, depth: int = 0) -> dict[str, str]:
    """Units that objects anywhere list by name: {"hourly_units": {"temperature_2m": "°C"}}."""
    found: dict[str, str] = {}
    if depth > _DEEPEST or not isinstance(node, dict):
        return found
    for key, value in node.items():
        if isinstance(value, dict):
            found |= _all_units(value, depth + 1)
            if "unit" in str(key).lower():
                found |= {str(k): str(v) for k, v in value.items() if isinstance(v, str)}
    return found


def _with_units(table: pd.DataFrame, units: dict[str, str]) -> pd.DataFrame:
    """Write each column's unit behind its name, as text tables do; a nested name takes the unit of its last part."""

    def heading(column: str) -> str:
        unit = units.get(column) or next((u for k, u in units.items() if column.endswith(f"_{k}")), "")
        return f"{column} ({unit})" if unit and unit.lower() not in ("iso8601", "unixtime") else column

    return table.rename(columns={c: heading(str(c)) for c in table.columns})


def _named(node: Any, keys: tuple[str, ...], depth: int = 0) -> str:
    """The first text or number that stands under one of some keys, near the top of the file."""
    if depth > 3:
        return ""
    if isinstance(node, list):
        return _named(node[0], keys, depth + 1) if len(node) == 1 else ""
    if not isinstance(node, dict):
        return ""
    for key, value in node.items():
        if str(key).lower().replace("-", "_") in keys and isinstance(value, str | int | float) and value != "":
            return str(value)
    for value in node.values():
        found = _named(value, keys, depth + 1) if isinstance(value, dict) else ""
        if found:
            return found
    return ""
