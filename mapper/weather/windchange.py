"""Wind changes: a turn or a rise that comes within an hour or two and stays."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.weather.forecast import seconds

Rows = NDArray[np.intp]

# What counts as a change. Our choice, no source: big and lasting enough to alter where a fire would run.
TURN_DEG = 40.0
RISE_KM_H, RISE_RATIO = 15.0, 1.5
# Lighter wind than this wanders by itself; its direction says nothing.
LIGHT_KM_H, BLOWS_KM_H = 5.0, 8.0
# A change comes mostly at once: this share of it within two hours. A steady drift gives 0.67 by its geometry.
AT_ONCE = 0.75
# However it is shared out, this much within two hours is no drift.
FAST_DEG = 60.0
_SIDE = pd.Timedelta(hours=3)
# How far a forecast misses the time of a change, one sigma: our choice, no source.
SIGMA_MIN = 60.0


@dataclass(frozen=True)
class WindChange:
    """A change found in the forecast or typed in. at is UTC; directions are where it blows from, grid degrees."""

    at: datetime
    from_deg: float
    to_deg: float
    from_km_h: float
    to_km_h: float
    sigma_min: float = SIGMA_MIN


def turn_deg(from_deg: Array | float, to_deg: Array | float) -> Array:
    """Return the signed shortest turn, degrees clockwise in [-180, 180)."""
    return np.asarray((np.asarray(to_deg) - np.asarray(from_deg) + 180.0) % 360.0 - 180.0)


def compass_point(deg: float) -> str:
    """Return a direction as one of sixteen compass points."""
    points = ["N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"]
    return points[round(deg / 22.5) % 16]


def mean_direction(from_deg: Array, weights: Array | None = None) -> float:
    """Return the mean of directions, degrees; NaN where there are none."""
    if len(from_deg) == 0:
        return float("nan")
    w = np.ones(len(from_deg)) if weights is None else np.asarray(weights, dtype=float)
    angle = np.radians(from_deg)
    return float(np.degrees(np.arctan2((w * np.sin(angle)).sum(), (w * np.cos(angle)).sum())) % 360.0)


def find_changes(forecast: pd.DataFrame) -> tuple[WindChange, ...]:
    """Return the wind changes in a forecast, in time order.

    Three hours before are held against three hours after every gap between lines. A change is a turn of 40 degrees or
    more in wind that blows (8 km/h after it), or a rise by 15 km/h and half as much again, three quarters of it within
    two hours (or 60 degrees of it): a slow drift and the wandering of light air are none, nor is a drop in speed alone.
    `at` is the middle of the gap; sigma_min is 60, since forecasts miss a change by about that (no source), and more
    where lines stand over an hour apart: the change can lie anywhere between them.
    """
    known = forecast.dropna(subset=["wind_km_h", "wind_from_deg"])
    times, at_s = known["time_utc"].reset_index(drop=True), seconds(known["time_utc"])
    side_s = _SIDE.total_seconds()
    speed, direction = known["wind_km_h"].to_numpy(), known["wind_from_deg"].to_numpy()
    found: list[tuple[float, WindChange]] = []
    for i in range(len(known) - 1):
        if at_s[i + 1] - at_s[i] > side_s:
            continue
        before = np.flatnonzero((at_s > at_s[i] - side_s) & (at_s <= at_s[i]))
        after = np.flatnonzero((at_s >= at_s[i + 1]) & (at_s < at_s[i + 1] + side_s))
        size, change = _change(times[i], times[i + 1], speed, direction, before, after)
        if change is not None:
            found.append((size, change))
    return _strongest(found)


def _change(
    last: pd.Timestamp, first: pd.Timestamp, speed: Array, direction: Array, before: Rows, after: Rows
) -> tuple[float, WindChange | None]:
    """Weigh one gap: its size (turns count by 40 degrees, rises by 15 km/h), and the change if it is one."""
    old_dir, new_dir = mean_direction(direction[before], speed[before]), mean_direction(direction[after], speed[after])
    old, new = float(speed[before].mean()), float(speed[after].mean())
    # The two hours round the gap: one line before the last old one, or one after the first new one.
    lo, hi = max(int(before[-1]) - 1, int(before[0])), min(int(after[0]) + 1, int(after[-1]))
    brackets = ((lo, int(after[0])), (int(before[-1]), hi))
    turn = float(turn_deg(old_dir, new_dir))
    sudden_turn = max(float(turn_deg(direction[a], direction[b])) * np.sign(turn) for a, b in brackets)
    turned = (
        abs(turn) >= TURN_DEG
        and new >= BLOWS_KM_H
        and (old >= LIGHT_KM_H or new - old >= BLOWS_KM_H)
        and sudden_turn >= min(AT_ONCE * abs(turn), FAST_DEG)
    )
    rise = new - old
    rose = (
        rise >= RISE_KM_H
        and new >= RISE_RATIO * old
        and max(speed[b] - speed[a] for a, b in brackets) >= AT_ONCE * rise
    )
    if not (turned or rose):
        return 0.0, None
    # The gap with the larger single step is where the change stands.
    step = abs(float(turn_deg(direction[before[-1]], direction[after[0]]))) / TURN_DEG
    step += max(float(speed[after[0]] - speed[before[-1]]), 0.0) / RISE_KM_H
    at = (last + (first - last) / 2).to_pydatetime()
    gap_min = (first - last).total_seconds() / 60.0
    # Evenly likely within the gap: its width over the root of 12.
    sigma = SIGMA_MIN if gap_min <= 60.0 else float(np.hypot(SIGMA_MIN, gap_min / np.sqrt(12.0)))
    return abs(turn) / TURN_DEG + max(rise, 0.0) / RISE_KM_H + step, WindChange(at, old_dir, new_dir, old, new, sigma)


def joined_changes(found: Sequence[WindChange], typed: Sequence[WindChange]) -> tuple[WindChange, ...]:
    """Return typed changes and those found ones that lie three hours or more from any typed one, in time order."""
    kept = [f for f in found if all(abs(f.at - t.at) >= _SIDE for t in typed)]
    return tuple(sorted([*typed, *kept], key=lambda c: c.at))


def _strongest(found: list[tuple[float, WindChange]]) -> tuple[WindChange, ...]:
    """Of changes within three hours of each other keep the strongest."""
    kept: list[WindChange] = []
    for _, change in sorted(found, key=lambda f: -f[0]):
        if all(abs(change.at - k.at) >= _SIDE for k in kept):
            kept.append(change)
    return tuple(sorted(kept, key=lambda c: c.at))
