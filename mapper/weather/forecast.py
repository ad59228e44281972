"""The forecast table: its columns, and the check at the door."""

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
