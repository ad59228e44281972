"""Logs that write one point for each section of the header: brought back to one fix for the machine."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.ranged import Array

# Sections lie abreast within a header's width.
_LEAST_M, _MOST_M = 0.2, 25.0


def join_sections(track: pd.DataFrame) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Return a track (farm/tracks.py) with one fix for the machine, and a note where sections were joined.

    Points of one fix follow each other, have one time and one machine, and lie as far abreast from fix to fix. The fix
    is put at their middle; header down where any section is. Where only some sections are logged the middle is that
    of those: the machine itself may be half a header to the side.
    """
    t_s, x, y = (track[c].to_numpy() for c in ("t_s", "x", "y"))
    if len(track) < 20 or not np.isfinite(t_s).all():
        return track, ()
    machine = pd.factorize(track["machine"])[0]
    new = np.r_[True, (np.diff(t_s) != 0) | (np.diff(machine) != 0)]
    fix = np.cumsum(new) - 1
    sizes = np.bincount(fix)
    most = int(np.bincount(sizes).argmax())
    if most < 2 or np.mean(sizes == most) < 0.5:
        return track, ()
    first = np.flatnonzero(new)
    whole = first[sizes == most]
    abreast = np.hypot(x[whole + most - 1] - x[whole], y[whole + most - 1] - y[whole])
    middle = float(np.median(abreast))
    steady = np.mean(np.abs(abreast - middle) < 0.1 * middle + 0.05) > 0.8
    if not (steady and _LEAST_M < middle < _MOST_M):
        return track, ()
    out = track.iloc[first].reset_index(drop=True)
    for column in ("x", "y", "speed_m_s", "width_m", "flow_kg_s", "yield_t_ha"):
        out[column] = _mean_of(track[column].to_numpy(), fix)
    out["header_down"] = track["header_down"].groupby(fix).max().to_numpy().astype(np.int8)
    pitch = middle / (most - 1)
    # Each section may write its own width or the whole header's.
    if out["width_m"].median() < 1.5 * pitch:
        out["width_m"] = out["width_m"] * sizes
    some = int((sizes != most).sum())
    note = (
        f"{most} sections abreast were joined to one fix of the machine; {some} fixes have other numbers of sections."
    )
    return out, (note,)


def _mean_of(values: Array, fix: NDArray[np.int64]) -> Array:
    """Return the mean of the known values of each fix, NaN where none is known."""
    known = np.isfinite(values)
    count = np.bincount(fix, known)
    total = np.bincount(fix, np.where(known, values, 0.0))
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)
