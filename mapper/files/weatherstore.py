"""The weather in a project file: every issue of the forecast, which one is used, readings, the last soaking rain."""

import sqlite3
from datetime import datetime
from typing import Any

from mapper.farm.farm import Farm
from mapper.farm.issues import ForecastIssue
from mapper.files.blobs import read_table, write_table


def write_weather(db: sqlite3.Connection, farm: Farm) -> None:
    """Write the farm's forecasts and readings; a forecast that belongs to no issue stands by itself."""
    for k, issue in enumerate(farm.forecasts):
        write_table(db, "issue", str(k), issue.table)
    if farm.forecast is not None and _used(farm) is None:
        write_table(db, "forecast", "", farm.forecast)
    if farm.readings is not None:
        write_table(db, "readings", "", farm.readings)


def weather_settings(farm: Farm) -> dict[str, Any]:
    """Return what is kept as text beside the tables."""
    issues = [
        {"source": i.source, "issued_at": _text(i.issued_at), "read_at": _text(i.read_at), "unsaid": i.unsaid}
        for i in farm.forecasts
    ]
    return {"issues": issues, "issue_used": _used(farm), "last_soak": _text(farm.last_soak)}


def read_weather(db: sqlite3.Connection, settings: dict[str, Any]) -> dict[str, Any]:
    """Return the farm's fields of weather; projects saved before issues were kept have one forecast or none."""
    issues = tuple(
        ForecastIssue(
            s["source"],
            read_table(db, "issue", str(k)),
            _time(s["issued_at"]),
            _time(s["read_at"]),
            s.get("unsaid", ""),
        )
        for k, s in enumerate(settings.get("issues", ()))
    )
    used = settings.get("issue_used")
    alone = read_table(db, "forecast", "")
    readings = read_table(db, "readings", "")
    return {
        "forecasts": issues,
        "forecast": issues[used].table if used is not None else alone if len(alone.columns) else None,
        "readings": readings if len(readings.columns) else None,
        "last_soak": _time(settings.get("last_soak")),
    }


def _used(farm: Farm) -> int | None:
    return next((k for k, i in enumerate(farm.forecasts) if i.table is farm.forecast), None)


def _text(at: datetime | None) -> str | None:
    return None if at is None else at.isoformat()


def _time(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)
