"""Invented forecasts for the weather and hours tests."""

import numpy as np
import pandas as pd


def forecast(n=48, start="2026-04-17T02:00", **columns):
    """n steady hours; columns override, scalars or arrays of length n."""
    times = pd.date_range(start, periods=n, freq="h", tz="UTC").astype("datetime64[ns, UTC]")
    steady = {
        "temp_c": 20.0, "rh_pct": 40.0, "wind_km_h": 12.0, "gust_km_h": 17.0, "wind_from_deg": 315.0, "rain_mm": 0.0,
        "cloud_pct": 50.0,
    }  # fmt: skip
    data = {k: np.broadcast_to(np.asarray(columns.get(k, v), dtype=float), n).copy() for k, v in steady.items()}
    return pd.DataFrame({"time_utc": times, **data})
