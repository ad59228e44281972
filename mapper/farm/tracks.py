"""The column contract of a harvester's track: plain columns, never one geometry a fix."""

from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.errors import LayerError

# Order is the order of the file. Unknown numbers are NaN; header_down is 1 down, 0 up, -1 unknown.
TRACK_COLUMNS: dict[str, str] = {
    "t_s": "float64",  # seconds since 1970 UTC, or any steady clock; NaN where the log has no clock
    "x": "float64",  # metres east in the farm's grid
    "y": "float64",  # metres north
    "speed_m_s": "float64",
    "heading_deg": "float64",  # of the machine's body, from grid north
    "header_down": "int8",
    "width_m": "float64",  # cutting width as logged
    "flow_kg_s": "float64",  # grain
    "yield_t_ha": "float64",  # grain
    "machine": "object",
}


def make_track(columns: dict[str, Any]) -> pd.DataFrame:
    """Return a track of plain columns, each machine's name held once; columns are taken as they are, not copied."""
    codes, names = pd.factorize(pd.Series(columns["machine"], copy=False))
    one_each = np.array([str(n) for n in names], dtype=object)
    held = {c: np.asarray(columns[c]).astype(t, copy=False) for c, t in TRACK_COLUMNS.items() if c != "machine"}
    return pd.DataFrame(held | {"machine": pd.Series(one_each[codes], dtype=object, copy=False)}, copy=False)


def check_track(track: pd.DataFrame) -> pd.DataFrame:
    """Return the track as it is, or raise LayerError where a column is missing, mistyped or not finite."""
    for column, dtype in TRACK_COLUMNS.items():
        if column not in track.columns:
            raise LayerError(f"column {column!r} is missing", "track")
        if column != "machine" and track[column].dtype != np.dtype(dtype):
            raise LayerError(f"column {column!r} holds {track[column].dtype}, not {dtype}", "track")
    if not (np.isfinite(track["x"]).all() and np.isfinite(track["y"]).all()):
        raise LayerError("a fix has no position", "track")
    return track
