"""Fixes that jump away and back: a receiver's glitch, or a digit lost in a damaged file."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.files.unitguess import thinned

# A step this many times the usual one, and this many metres more, is no driving.
_TIMES, _MORE_M = 3.0, 3.0
_MOST_SHARE = 0.02


def spikes(track: pd.DataFrame) -> NDArray[np.bool_]:
    """Return which fixes of a track (farm/tracks.py, driven order) lie far from both neighbours that lie together.

    None are marked where that would be more than one in fifty: then the order is not the driven one, or machines
    alternate, and the row stage sorts that out. At a gap in time the way driven may be as long as the gap allows.
    """
    out = np.zeros(len(track), bool)
    machines = pd.factorize(track["machine"])[0]
    x, y, t_s = (track[c].to_numpy() for c in ("x", "y", "t_s"))
    for machine in np.unique(machines):
        at = np.flatnonzero(machines == machine)
        if len(at) >= 5:
            out[at] = _of_one(x[at], y[at], t_s[at])
    return out if out.mean() <= _MOST_SHARE else np.zeros(len(track), bool)


def _of_one(x: NDArray[np.float64], y: NDArray[np.float64], t_s: NDArray[np.float64]) -> NDArray[np.bool_]:
    step = np.hypot(np.diff(x), np.diff(y))
    across = np.hypot(x[2:] - x[:-2], y[2:] - y[:-2])
    usual = float(np.median(thinned(step)))
    most = np.full(len(step), _TIMES * usual + _MORE_M)
    dt = np.diff(t_s)
    known = thinned(dt)[np.isfinite(thinned(dt))]
    usual_s = float(np.median(known)) if len(known) else 0.0
    if usual_s > 0:
        # Where fixes are missing the machine may have gone as far as the time allows.
        most = most * np.maximum(np.nan_to_num(dt, nan=1.0) / usual_s, 1.0)
    far = step > most
    spike = np.zeros(len(x), bool)
    spike[1:-1] = far[:-1] & far[1:] & (across < np.minimum(step[:-1], step[1:]))
    # At an end there is one neighbour only.
    spike[0] = far[0] and not far[1] and step[0] > 50 + 10 * usual
    spike[-1] = far[-1] and not far[-2] and step[-1] > 50 + 10 * usual
    return spike
