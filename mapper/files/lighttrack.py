"""GPX tracks into a night's record: rows lit by the lighter, the outline of what burnt."""

from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import shapely
from pyproj import Transformer

from mapper.farm.errors import FileError
from mapper.files.gpxtrack import read_gpx_track
from mapper.record.lighter import match_track
from mapper.record.night import NightRecord


def lit_rows(path: Path, record: NightRecord) -> list[tuple[dict[str, Any], datetime | None]]:
    """Return what a track says was lit: bodies of "rows" entries and when each was begun. Raises MapperError."""
    points = read_gpx_track(path)[0]
    x, y = _on_grid(points, record)
    times = pd.to_datetime(points["time"], utc=True, errors="coerce", format="ISO8601").astype("datetime64[ns, UTC]")
    matches = match_track(pd.DataFrame({"x": x, "y": y, "time_utc": times}), record.pieces)
    return [
        ({"numbers": [m.order_no], "state": "lit", "from_m": m.from_m, "to_m": m.to_m}, m.starts_at) for m in matches
    ]


def track_wkt(path: Path, record: NightRecord) -> str:
    """Return a track walked round something as a line in the record's grid, WKT. Raises MapperError."""
    x, y = _on_grid(read_gpx_track(path)[0], record)
    line = shapely.LineString(np.column_stack([x, y])).simplify(1.0)
    return str(shapely.to_wkt(line, rounding_precision=2))


def _on_grid(points: pd.DataFrame, record: NightRecord) -> tuple[Any, Any]:
    to_grid = Transformer.from_crs("EPSG:4326", record.pieces.crs, always_xy=True)
    x, y = to_grid.transform(points["longitude"].to_numpy(float), points["latitude"].to_numpy(float))
    if len(x) < 2 or not np.isfinite(x).all():
        raise FileError("it holds no track", "GPX", "Give a track of two points or more")
    return x, y
