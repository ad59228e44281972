"""A harvester's settings from where rows really begin and end.

A row's end lies delay x speed - chute offset from where the cut began or ended; mixing lets rows begin earlier and end
later; the antenna's side offset moves them sideways. So a few ends walked with a receiver tell the settings: along the
row the delay (and the chute offset where speeds differ enough to part the two), starts against ends the mixing, across
it the antenna.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from mapper.farm.errors import SettingError, Stopped
from mapper.farm.farm import Harvester
from mapper.farm.limits import LocalLimits
from mapper.farm.ranged import Array
from mapper.rows.derive import derive_rows

_ROUNDS = 3
# An observed end this far from any derived end, along or across, is of another row.
_FAR_ALONG_M, _FAR_ACROSS_M = 40.0, 3.0
_FEWEST = 3
# How far settings may be from what was given, one standard deviation, and how well an end is known by eye.
_DELAY_S, _CHUTE_M, _MIXING_S, _ANTENNA_M, _SEEN_M = 5.0, 1.0, 1.0, 0.5, 0.7
# A second more of mixing lets the tenth of the load that makes a row come so much earlier and go so much later.
_EARLIER_S, _LATER_S = 1 + np.log(0.9), -np.log(0.1) - 1

# What is calibrated, and the bounds that farm.Harvester holds it to.
_SETTINGS = {
    "threshing_delay_s": (0, 60),
    "chute_behind_m": (-15, 20),
    "mixing_s": (0, 10),
    "antenna_right_m": (-10, 10),
}


@dataclass(frozen=True)
class Calibration:
    """Settings that fit the observed ends. used: how many ends met a derived row end; left_out: indices of the others.

    before_m, after_m: median distance along the row of observed from derived ends. delay_error_s, antenna_error_m: one
    standard deviation. text: what to show.
    """

    harvester: Harvester
    used: int
    left_out: tuple[int, ...]
    before_m: float
    after_m: float
    delay_error_s: float
    antenna_error_m: float
    text: str


def calibrate_harvester(
    track: pd.DataFrame,
    harvester: Harvester,
    paddock: "pd.Series[Any]",
    crs: Any,
    ends: Array,
    *,
    cancelled: Callable[[], bool] | None = None,
) -> Calibration:
    """Return settings of one harvester calibrated from observed row ends.

    Parameters
    ----------
    track : columns of farm/tracks.py; only fixes of harvester.machine are used (all, where the log names no machine).
    ends : (n, 2) metres on the farm's grid, where rows begin or end on the ground; three at least, ten are good.

    Raises SettingError where fewer than three ends lie near a derived row's end, Stopped when cancelled.
    """
    own = track[track["machine"] == harvester.machine] if (track["machine"] == harvester.machine).any() else track
    seen = np.asarray(ends, float).reshape(-1, 2)

    def derived(settings: Harvester) -> tuple[Array, Array]:
        if cancelled is not None and cancelled():
            raise Stopped
        known = {str(name): settings for name in own["machine"].unique()}
        rows = derive_rows(own, known, paddock, crs, limits=LocalLimits(), cancelled=cancelled).windrows
        return _ends(rows.geometry.to_numpy())

    current, first = harvester, float("nan")
    sigma = np.array([_DELAY_S, _CHUTE_M, _MIXING_S, _ANTENNA_M])
    for k in range(_ROUNDS):
        along, across, speed, starts = _against(seen, *derived(current), derived(_later(current)))
        good = np.isfinite(along)
        if good.sum() < _FEWEST:
            raise SettingError(
                f"{int(good.sum())} of the {len(seen)} observed row ends lie near the end of a row from the log",
                f"harvester {harvester.machine}", "Give three at least; check header width and log",
            )  # fmt: skip
        first = float(np.median(np.abs(along[good]))) if k == 0 else first
        change, covariance = _solve(along[good], across[good], speed[good], starts[good], sigma, harvester, current)
        current = _changed(current, change)
    error = np.sqrt(np.diag(covariance))
    if abs(current.antenna_right_m - harvester.antenna_right_m) < 2 * error[3]:
        # Ends do not show it: the antenna stays where it was said to be.
        current = replace(current, antenna_right_m=harvester.antenna_right_m)
    along, _, _, _ = _against(seen, *derived(current), None)
    good = np.isfinite(along)
    after = float(np.median(np.abs(along[good])))
    text = (
        f"From {int(good.sum())} row ends: threshing delay {harvester.threshing_delay_s:.1f} to "
        f"{current.threshing_delay_s:.1f} s (+-{error[0]:.1f}), antenna to chute {harvester.chute_behind_m:.1f} to "
        f"{current.chute_behind_m:.1f} m, mixing {harvester.mixing_s:.1f} to {current.mixing_s:.1f} s, "
        f"antenna off centre {harvester.antenna_right_m:.2f} to {current.antenna_right_m:.2f} m "
        f"(+-{error[3]:.2f}). Ends were {first:.1f} m out, now {after:.1f} m."
    )
    left_out = tuple(int(i) for i in np.flatnonzero(~good))
    return Calibration(current, int(good.sum()), left_out, first, after, float(error[0]), float(error[3]), text)


def _later(harvester: Harvester) -> Harvester:
    step = 1.0 if harvester.threshing_delay_s <= 59 else -1.0
    return replace(harvester, threshing_delay_s=harvester.threshing_delay_s + step)


def _ends(lines: Any) -> tuple[Array, Array]:
    """Both ends of rows, and the unit direction driven at each."""
    if not len(lines):
        return np.zeros((0, 2)), np.zeros((0, 2))
    reach = np.minimum(8.0, shapely.length(lines) / 2)
    points = (shapely.get_point(lines, 0), *(shapely.line_interpolate_point(lines, d) for d in (reach, -reach)))
    a, b, c = (shapely.get_coordinates(p) for p in points)
    d = shapely.get_coordinates(shapely.get_point(lines, -1))
    way = np.concatenate((b - a, d - c))
    unit = way / np.maximum(np.hypot(*way.T), 1e-9)[:, None]
    return np.concatenate((a, d)).astype(np.float64), unit.astype(np.float64)


def _against(
    seen: Array, ends: Array, way: Array, later: tuple[Array, Array] | None
) -> tuple[Array, Array, Array, NDArray[np.bool_]]:
    """How far each observed end lies along and across from its derived one (NaN: none), metres a second, if a start.

    The metres by which a second more of delay moves the end come from the rows derived with it: that is the machine's
    speed there, and it knows of curls and stops.
    """
    n = len(seen)
    along, across, speed = np.full(n, np.nan), np.full(n, np.nan), np.full(n, 2.0)
    starts = np.zeros(n, bool)
    for k, point in enumerate(seen):
        off = point - ends
        u, v = (off * way).sum(axis=1), off[:, 0] * way[:, 1] - off[:, 1] * way[:, 0]
        fits = (np.abs(u) < _FAR_ALONG_M) & (np.abs(v) < _FAR_ACROSS_M)
        if not fits.any():
            continue
        i = int(np.argmin(np.where(fits, np.abs(u) + 3 * np.abs(v), np.inf)))
        along[k], across[k], starts[k] = u[i], v[i], i < len(ends) // 2
        if later is not None and len(later[0]):
            moved = (later[0] - ends[i]) @ way[i]
            near = np.hypot(*(later[0] - ends[i]).T) < 6
            same = near & ((later[1] @ way[i]) > 0.9) & (np.arange(len(later[0])) // max(len(later[0]) // 2, 1) == (
                i // max(len(ends) // 2, 1)))  # fmt: skip
            speed[k] = float(np.clip(moved[same][np.argmin(np.abs(moved[same] - 2))], 0.2, 5)) if same.any() else 2.0
    return along, across, speed, starts


def _solve(
    along: Array,
    across: Array,
    speed: Array,
    starts: NDArray[np.bool_],
    sigma: Array,
    given: Harvester,
    now: Harvester,
) -> tuple[Array, Array]:
    """Changes of _SETTINGS by least squares that stays near the settings given; far ends weigh less."""
    n = len(along)
    design = np.zeros((2 * n, 4))
    design[:n, 0], design[:n, 1], design[n:, 3] = speed, -1.0, -1.0
    design[:n, 2] = speed * np.where(starts, -_EARLIER_S, _LATER_S)
    target = np.r_[along, across]
    gone = np.array([getattr(given, name) - getattr(now, name) for name in _SETTINGS])
    weight = np.ones(2 * n)
    prior = np.diag(sigma**-2.0)
    for _ in range(20):
        normal = design.T @ (design * weight[:, None]) / _SEEN_M**2 + prior
        change = np.linalg.solve(normal, design.T @ (target * weight) / _SEEN_M**2 + prior @ gone)
        weight = 1 / np.maximum(1.0, np.abs(target - design @ change) / (1.5 * _SEEN_M))
    return change.astype(np.float64), np.linalg.inv(normal).astype(np.float64)


def _changed(harvester: Harvester, change: Array) -> Harvester:
    changed: dict[str, Any] = {
        name: float(np.clip(getattr(harvester, name) + by, low, high))
        for (name, (low, high)), by in zip(_SETTINGS.items(), change, strict=True)
    }
    return replace(harvester, **changed)
