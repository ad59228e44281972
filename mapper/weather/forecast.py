"""The forecast table: its columns, and the check at the door."""

from datetime import datetime
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.errors import LayerError
from mapper.farm.ranged import Array

# Hourly (or shorter) rows, strictly increasing time. NaN where a source says nothing; never filled in silence.
FORECAST_COLUMNS: dict[str, str] = {
    "time_utc": "datetime64[ns, UTC]",
    "temp_c": "float64",
    "rh_pct": "float64",
    "wind_km_h": "float64",  # 10-minute mean at 10 m
    "gust_km_h": "float64",
    "wind_from_deg": "float64",  # where it blows from, clockwise from grid north
    "rain_mm": "float64",  # in the hour that ends at time_utc
    "cloud_pct": "float64",
}

_WIND_COLUMNS = ("wind_km_h", "gust_km_h", "wind_from_deg")

# What weather can be; the widest values ever measured on farms, rounded out.
CAN_BE: dict[str, tuple[float, float]] = {
    "temp_c": (-30.0, 60.0),
    "rh_pct": (0.0, 100.0),
    "wind_km_h": (0.0, 250.0),
    "gust_km_h": (0.0, 400.0),
    "wind_from_deg": (0.0, 360.0),
    "rain_mm": (0.0, 400.0),
    "cloud_pct": (0.0, 100.0),
}


def seconds(times: Any) -> Array:
    """Return seconds since 1970 of one UTC time, or of times of shape (n,)."""
    if isinstance(times, datetime):
        return np.asarray(times.timestamp())
    return np.asarray(pd.DatetimeIndex(times).as_unit("us").asi8 / 1e6)


def check_forecast(forecast: pd.DataFrame) -> pd.DataFrame:
    """Return the table as it is, or raise LayerError saying which column or line breaks the contract.

    Gaps (NaN) are allowed: an hour with a gap is judged no-go later, because unknown is not a go.
    """
    for column, dtype in FORECAST_COLUMNS.items():
        if column not in forecast.columns:
            raise LayerError(f"column {column!r} is missing", "forecast")
        if column != "time_utc" and forecast[column].dtype != np.dtype(dtype):
            raise LayerError(f"column {column!r} holds {forecast[column].dtype}, not {dtype}", "forecast")
    times = forecast["time_utc"]
    if not isinstance(times.dtype, pd.DatetimeTZDtype) or str(times.dtype.tz) != "UTC":
        raise LayerError(f"time_utc holds {times.dtype}, not times in UTC", "forecast")
    if len(forecast) == 0:
        raise LayerError("there are no hours in it", "forecast", "Type the hours in, or open another file")
    if times.isna().any() or not times.is_monotonic_increasing or times.duplicated().any():
        raise LayerError(
            "the times do not go forward from line to line", "forecast", "Put the hours in order, each once"
        )
    check_values(forecast, "forecast")
    return forecast


def check_values(table: pd.DataFrame, what: str) -> None:
    """Raise LayerError where a table's weather (those of the forecast's columns it has) holds what no weather is."""
    for column, (low, high) in CAN_BE.items():
        if column not in table.columns:
            continue
        values = table[column].to_numpy(dtype=float)
        wrong = np.flatnonzero((values < low) | (values > high))
        if len(wrong):
            hour = f"{table['time_utc'].iloc[wrong[0]]:%Y-%m-%d %H:%M} UTC"
            raise LayerError(
                f"{column} {values[wrong[0]]:g} cannot be (it lies within {low:g} to {high:g})",
                f"{what}, {hour}",
                "Check the column's unit",
            )


def filled_between(forecast: pd.DataFrame, most_h: float = 3.0) -> tuple[pd.DataFrame, int]:
    """Return the table with the hours between lines up to most_h apart put in, and how many: only where somebody asks.

    Straight between the two lines; direction by the shorter way round; rain shared evenly over the interval it fell in.
    Where the wind turns by 40 degrees or rises by 15 km/h between two lines it is not smoothed away: each hour has the
    wind of the nearer line, so that a change still stands there to be found. What is not known on either side stays not
    known, and longer gaps stay gaps.
    """
    at = seconds(forecast["time_utc"])
    step = np.diff(at)
    wanted = [np.arange(a + 3600.0, b, 3600.0) for a, b in pairwise(at) if 3600.0 < b - a <= 3600.0 * most_h]
    new = np.concatenate(wanted) if wanted else np.empty(0)
    if not len(new):
        return forecast, 0
    every = np.sort(np.concatenate([at, new]))
    left = np.clip(np.searchsorted(at, every, side="right") - 1, 0, len(at) - 2)
    share = (every - at[left]) / step[left]
    inside = np.isin(every, at)
    turn = (np.diff(forecast["wind_from_deg"].to_numpy(dtype=float)) + 180.0) % 360.0 - 180.0
    sudden = (np.abs(turn) >= 40.0) | (np.diff(forecast["wind_km_h"].to_numpy(dtype=float)) >= 15.0)
    data: dict[str, Any] = {}
    for column in FORECAST_COLUMNS:
        if column == "time_utc":
            continue
        values = forecast[column].to_numpy(dtype=float)
        if column == "rain_mm":
            # An interval's rain stands in the line that ends it: each hour of it gets its part.
            ends = np.minimum(np.searchsorted(at, every, side="left"), len(at) - 1)
            hours = np.where(ends > 0, step[np.maximum(ends - 1, 0)] / 3600.0, 1.0)
            long = (hours > 1.0) & (hours <= most_h)
            data[column] = np.where(long, values[ends] / np.maximum(hours, 1.0), values[ends])
            continue
        change = np.diff(values)
        if column == "wind_from_deg":
            change = (change + 180.0) % 360.0 - 180.0
        part = np.where(sudden[left], np.round(share), share) if column in _WIND_COLUMNS else share
        met = values[left] + part * change[left]
        data[column] = np.where(inside, values[np.minimum(np.searchsorted(at, every), len(at) - 1)], met)
    data["wind_from_deg"] = np.where(inside, data["wind_from_deg"], data["wind_from_deg"] % 360.0)
    times = pd.to_datetime(every, unit="s", utc=True).astype("datetime64[ns, UTC]")
    return check_forecast(pd.DataFrame({"time_utc": times, **data})[list(FORECAST_COLUMNS)]), len(new)
