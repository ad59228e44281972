"""The lighter's own GPX track into entries of a night's record."""

from datetime import datetime
from pathlib import Path
from typing import Any

import pandas as pd
from pyproj import Transformer

from mapper.files.gpxtrack import read_gpx_track
from mapper.record.lighter import match_track
from mapper.record.night import NightRecord


def lit_rows(path: Path, record: NightRecord) -> list[tuple[dict[str, Any], datetime | None]]:
    """Return what a track says was lit: bodies of "rows" entries and when each was begun. Raises MapperError."""
    points = read_gpx_track(path)[0]
    to_grid = Transformer.from_crs("EPSG:4326", record.pieces.crs, always_xy=True)
    x, y = to_grid.transform(points["longitude"].to_numpy(float), points["latitude"].to_numpy(float))
    times = pd.to_datetime(points["time"], utc=True, errors="coerce", format="ISO8601").astype("datetime64[ns, UTC]")
    matches = match_track(pd.DataFrame({"x": x, "y": y, "time_utc": times}), record.pieces)
    return [
        ({"numbers": [m.order_no], "state": "lit", "from_m": m.from_m, "to_m": m.to_m}, m.starts_at) for m in matches
    ]
