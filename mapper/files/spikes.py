"""Fixes that jump away and back: a receiver's glitch, or a digit lost in a damaged file."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.files.unitguess import thinned

# A step this many times the usual one, and this many metres more, is no driving.
_TIMES, _MORE_M = 3.0, 3.0
_MOST_SHARE = 0.02
_PASSES = 3


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
        # Two bad ones side by side: the second shows when the first is gone.
        for _ in range(_PASSES):
            found = _of_one(x[at], y[at], t_s[at]) if len(at) >= 5 else np.zeros(len(at), bool)
            out[at[found]] = True
            at = at[~found]
            if not found.any():
                break
    return out if out.mean() <= _MOST_SHARE else np.zeros(len(track), bool)


def _of_one(x: NDArray[np.float64], y: NDArray[np.float64], t_s: NDArray[np.float64]) -> NDArray[np.bool_]:
    step = np.hypot(np.diff(x), np.diff(y))
    across = np.hypot(x[2:] - x[:-2], y[2:] - y[:-2])
    usual = float(np.median(thinned(step)))
    base = _TIMES * usual + _MORE_M
    dt = np.diff(t_s)
    known = thinned(dt)[np.isfinite(thinned(dt))]
    usual_s = float(np.median(known)) if len(known) else 0.0
    before, after = np.full(len(across), base), np.full(len(across), base)
    if usual_s > 0:
        # Where fixes are missing the machine may have gone as far as the time from neighbour to neighbour allows; the
        # fix's own time may be the damaged figure.
        both = np.nan_to_num(t_s[2:] - t_s[:-2], nan=usual_s)
        dt = np.nan_to_num(dt, nan=usual_s)
        before = base * np.clip(np.minimum(dt[:-1], both) / usual_s, 1.0, None)
        after = base * np.clip(np.minimum(dt[1:], both) / usual_s, 1.0, None)
    spike = np.zeros(len(x), bool)
    spike[1:-1] = (step[:-1] > before) & (step[1:] > after) & (across < np.minimum(step[:-1], step[1:]))
    # At an end there is one neighbour only.
    spike[0] = step[0] > 50 + 10 * usual and step[1] <= base
    spike[-1] = step[-1] > 50 + 10 * usual and step[-2] <= base
    return spike
