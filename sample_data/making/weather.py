"""The invented forecast: 72 hours from Friday 17 April 2026, with a change early on Sunday."""

from pathlib import Path

import numpy as np
import pandas as pd

ZONE = "Australia/Melbourne"
# The morning of the burn: hours before it stand for what was measured.
ISSUED = "2026-04-18T09:00+10:00"

# Local hour from the start, temperature, humidity, wind, gust, direction (true), cloud: turning points between which
# the hours are drawn. The change comes at 02:30 on Sunday (hour 50.5): north-west before, south-west after.
TURNS = np.array([
    (0, 19, 38, 16, 26, 345, 30), (5, 16, 46, 18, 29, 340, 25), (9, 22, 32, 26, 42, 338, 15),
    (14, 31, 17, 33, 54, 335, 10), (18, 27, 22, 27, 45, 330, 20), (21, 23, 29, 23, 37, 325, 30),
    (24, 21, 34, 20, 32, 322, 35), (30, 16, 52, 14, 22, 318, 40), (35, 22, 38, 17, 27, 318, 30),
    (38, 26, 30, 18, 29, 316, 25), (40, 25, 33, 15, 23, 315, 20), (41, 23.6, 35, 12.5, 19, 315, 20),
    (42, 22.8, 36, 11.6, 17, 315, 20), (44, 21.2, 40, 10.6, 16, 313, 25), (46, 20.2, 44, 11, 17, 312, 30),
    (50, 18.0, 49, 11, 17, 310, 40), (51, 15.6, 60, 20, 33, 232, 70), (54, 12.2, 74, 16, 27, 222, 85),
    (60, 15.6, 58, 15, 24, 215, 60), (63, 17.2, 50, 16, 25, 210, 55), (66, 14.4, 62, 13, 20, 205, 60),
    (71, 10.6, 80, 8, 13, 195, 50),
])  # fmt: skip


def forecast() -> pd.DataFrame:
    """Return the hourly table as it is written: local time with its offset, direction from true north."""
    hours = np.arange(72)
    temp, rh, wind, gust, direction, cloud = (np.interp(hours, TURNS[:, 0], TURNS[:, i]) for i in range(1, 7))
    start = pd.Timestamp("2026-04-17 00:00", tz=ZONE)
    time = [(start + pd.Timedelta(hours=int(h))).isoformat(timespec="minutes") for h in hours]
    rain = np.where(np.isin(hours, (53, 54)), 0.2, 0.0)
    return pd.DataFrame(
        {
            "time": time,
            "issued": ISSUED,
            "temperature_C": temp.round(1),
            "relative_humidity_pct": rh.round().astype(int),
            "wind_speed_10m_kmh": wind.round(1),
            "wind_gust_kmh": gust.round().astype(int),
            "wind_direction_deg": direction.round().astype(int),
            "rain_mm": rain,
            "cloud_cover_pct": cloud.round().astype(int),
        }
    )


def write_forecast(path: Path) -> None:
    """Write forecast.csv."""
    forecast().to_csv(path, index=False, lineterminator="\n")
