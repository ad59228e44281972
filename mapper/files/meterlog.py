"""A hand-held meter's own log as readings of a night's record."""

from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
from pyproj import Transformer

from mapper.farm.crs import Grid
from mapper.farm.errors import FileError
from mapper.files.readings import read_readings
from mapper.record.night import NightRecord

_TAKEN = ("temp_c", "rh_pct", "wind_km_h", "gust_km_h", "wind_from_deg", "height_m", "averaging_min")


def meter_readings(path: Path, record: NightRecord) -> tuple[list[tuple[dict[str, Any], datetime | None]], int]:
    """Return bodies of "reading" entries and when each was taken, and how many lines were left out for lack of them.

    Lines without air, humidity or wind are left out: they cannot be held against the limits. Raises FileError where
    none is left, or what files/readings.py raises.
    """
    middle = record.land.union_all().centroid
    lonlat = Transformer.from_crs(record.land.crs, "EPSG:4326", always_xy=True).transform(middle.x, middle.y)
    table = read_readings(path, Grid(record.land.crs), lonlat, record.zone).layer
    whole = table.dropna(subset=["temp_c", "rh_pct", "wind_km_h"])
    if whole.empty:
        raise FileError("no line of it holds air, humidity and wind together", str(path), "Type the readings in")
    found: list[tuple[dict[str, Any], datetime | None]] = []
    for line in whole.to_dict("records"):
        body = {k: float(line[k]) for k in _TAKEN if np.isfinite(line[k])}
        found.append((body, line["time_utc"].to_pydatetime()))
    return found, len(table) - len(whole)
