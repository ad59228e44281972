"""Readings taken on the paddock, held against the forecast and the local limits."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.limits import Limit, LocalLimits
from mapper.fire.index import index_value
from mapper.record.entry import standing
from mapper.record.night import NightRecord
from mapper.weather.readings import HAND_HELD_M, against_forecast, make_readings
from mapper.weather.wind import height_bounds

_TYPED = ("temp_c", "rh_pct", "wind_km_h", "gust_km_h", "wind_from_deg", "height_m", "averaging_min")


@dataclass(frozen=True)
class Held:
    """A reading against the limits: carry on, or stop and hold, and each limit it is outside of, a sentence each."""

    carry_on: bool
    why: tuple[str, ...]


def against_limits(reading: Mapping[str, Any], limits: LocalLimits) -> Held:
    """Hold one reading against the local limits.

    reading: temp_c, rh_pct, wind_km_h at height_m (2 m where it is not said), gust_km_h or None. Wind is turned to
    the height each limit names; the largest supported ratio counts (weather/wind.py), which is the safe side.
    """
    why = []
    height = float(reading.get("height_m") or HAND_HELD_M)
    for key, name in (("wind_max", "wind_km_h"), ("gust_max", "gust_km_h")):
        limit, value = limits.get(key), reading.get(name)
        if limit is not None and value is not None and np.isfinite(value):
            there = float(value) * height_bounds(height, limit.height_m)[1]
            if there > limit.value:
                why.append(_over(limit, there, f"km/h at {limit.height_m:g} m"))
    for key, name, most in (
        ("temperature_max", "temp_c", True),
        ("humidity_min", "rh_pct", False),
        ("humidity_max", "rh_pct", True),
    ):
        limit, value = limits.get(key), reading.get(name)
        if limit is not None and value is not None and (value > limit.value if most else value < limit.value):
            why.append(_over(limit, float(value), limit.unit))
    stop = limits.get("index_stop") or limits.get("index_max")
    if stop is not None and (index := reading_index(reading, stop.index)) >= stop.value:
        why.append(_over(stop, index, ""))
    return Held(not why, tuple(why))


def reading_index(reading: Mapping[str, Any], index: str) -> float:
    """Return a danger index of a reading in fully cured grass, its wind turned to 10 m on the safe side."""
    wind = float(reading["wind_km_h"]) * height_bounds(float(reading.get("height_m") or HAND_HELD_M), 10.0)[1]
    return float(index_value(index, float(reading["temp_c"]), float(reading["rh_pct"]), wind).value)


def readings_table(record: NightRecord) -> pd.DataFrame:
    """Return the standing readings by time: the columns of weather.readings.against_forecast, and our own.

    wind_10m_km_h; index (of the limit to stop at, NaN without one); carry_on; why: the limits it is outside of;
    entry_id. Typed at the record's own hours of forecast: NaN where it says nothing of that moment.
    """
    entries = sorted((e for e in standing(record.entries) if e.kind == "reading"), key=lambda e: e.happened)
    columns: dict[str, Any] = {name: [e.body.get(name, np.nan) for e in entries] for name in _TYPED}
    columns |= {"time_utc": [e.happened for e in entries], "by": [e.by for e in entries]}
    table = against_forecast(record.hours, make_readings(columns))
    held = [against_limits(e.body, record.limits) for e in entries]
    stop = record.limits.get("index_stop") or record.limits.get("index_max")
    return table.assign(
        wind_10m_km_h=[
            w * height_bounds(h, 10.0)[1] for w, h in zip(table["wind_km_h"], table["height_m"], strict=True)
        ],
        index=[reading_index(e.body, stop.index) if stop else np.nan for e in entries],
        carry_on=np.array([h.carry_on for h in held], dtype=bool),
        why=[" ".join(h.why) for h in held],
        entry_id=[e.entry_id for e in entries],
    )


def _over(limit: Limit, value: float, unit: str) -> str:
    text = f"{limit.kind.label.split(',')[0]} {value:.0f} {unit}".strip()
    return f"{text}: outside your limit {limit.value:g} ({limit.source}). Stop and hold."
