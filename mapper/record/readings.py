"""Readings taken on the paddock, held against the forecast and the local limits."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.limits import Limit, LocalLimits
from mapper.fire.index import index_value
from mapper.record.entry import Entry, standing
from mapper.record.night import NightRecord
from mapper.weather.wind import height_bounds

# A hand-held meter is held at 2 m (common practice; SA grain harvesting code, read).
METER_HEIGHT_M = 2.0

READING_COLUMNS = ("at", "temp_c", "rh_pct", "wind_km_h", "gust_km_h", "wind_from_deg", "height_m", "wind_10m_km_h",
                   "index", "forecast_wind_km_h", "forecast_temp_c", "forecast_rh_pct", "carry_on", "why", "by",
                   "entry_id")  # fmt: skip


@dataclass(frozen=True)
class Held:
    """A reading against the limits: carry on, or stop and hold, and each limit it is outside of, a sentence each."""

    carry_on: bool
    why: tuple[str, ...]


def against_limits(reading: dict[str, Any], limits: LocalLimits) -> Held:
    """Hold one reading against the local limits.

    reading: temp_c, rh_pct, wind_km_h at height_m (2 m where it is not said), gust_km_h or None. Wind is turned to
    the height each limit names; where two practices differ the larger wind counts (weather/wind.py).
    """
    why = []
    height = float(reading.get("height_m") or METER_HEIGHT_M)
    for key, name, unit in (("wind_max", "wind_km_h", "km/h"), ("gust_max", "gust_km_h", "km/h")):
        limit, value = limits.get(key), reading.get(name)
        if limit is not None and value is not None and np.isfinite(value):
            at_limit = float(value) * height_bounds(height, limit.height_m)[1]
            if at_limit > limit.value:
                why.append(_over(limit, at_limit, f"{unit} at {limit.height_m:g} m"))
    for key, name, above in (
        ("temperature_max", "temp_c", True),
        ("humidity_min", "rh_pct", False),
        ("humidity_max", "rh_pct", True),
    ):
        limit, value = limits.get(key), reading.get(name)
        if limit is not None and value is not None and (value > limit.value if above else value < limit.value):
            why.append(_over(limit, float(value), limit.unit))
    for key in ("index_stop", "index_max"):
        limit = limits.get(key)
        if limit is not None and (index := reading_index(reading, limit.index)) >= limit.value:
            why.append(_over(limit, index, ""))
            break
    return Held(not why, tuple(why))


def reading_index(reading: dict[str, Any], index: str) -> float:
    """Return a danger index of a reading, its wind turned to 10 m on the safe side; fully cured grass."""
    wind = float(reading["wind_km_h"]) * height_bounds(float(reading.get("height_m") or METER_HEIGHT_M), 10.0)[1]
    return float(index_value(index, float(reading["temp_c"]), float(reading["rh_pct"]), wind).value)


def readings_table(record: NightRecord) -> pd.DataFrame:
    """Return the standing readings of a record, READING_COLUMNS, by time; forecast columns are of the nearest hour."""
    rows = [_line(record, e) for e in standing(record.entries) if e.kind == "reading"]
    table = pd.DataFrame(rows, columns=list(READING_COLUMNS))
    return table.sort_values("at", kind="stable", ignore_index=True)


def _line(record: NightRecord, entry: Entry) -> dict[str, Any]:
    reading = dict(entry.body)
    held = against_limits(reading, record.limits)
    limit = record.limits.get("index_stop") or record.limits.get("index_max")
    height = float(reading.get("height_m") or METER_HEIGHT_M)
    hour = _forecast_at(record.hours, entry.happened)
    return {
        "at": entry.happened,
        **{k: reading.get(k) for k in ("temp_c", "rh_pct", "wind_km_h", "gust_km_h", "wind_from_deg")},
        "height_m": height,
        "wind_10m_km_h": float(reading["wind_km_h"]) * height_bounds(height, 10.0)[1],
        "index": reading_index(reading, limit.index) if limit else float("nan"),
        "forecast_wind_km_h": hour.get("wind_km_h", float("nan")),
        "forecast_temp_c": hour.get("temp_c", float("nan")),
        "forecast_rh_pct": hour.get("rh_pct", float("nan")),
        "carry_on": held.carry_on,
        "why": " ".join(held.why),
        "by": entry.by,
        "entry_id": entry.entry_id,
    }


def _forecast_at(hours: pd.DataFrame, at: datetime) -> dict[str, float]:
    """The forecast hour within 30 minutes of a time, or nothing."""
    if hours.empty:
        return {}
    gap = (hours["time_utc"] - pd.Timestamp(at)).abs()
    nearest = int(gap.to_numpy().argmin())
    return dict(hours.iloc[nearest]) if gap.iloc[nearest] <= pd.Timedelta(minutes=30) else {}


def _over(limit: Limit, value: float, unit: str) -> str:
    text = f"{limit.kind.label.split(',')[0]} {value:.0f} {unit}".strip()
    return f"{text}: outside your limit {limit.value:g} ({limit.source}). Stop and hold."
