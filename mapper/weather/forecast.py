"""The forecast table: its columns, and the check at the door."""

from datetime import datetime
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
