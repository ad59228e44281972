"""Where the wind may blow from at an hour: a mixture of wrapped normals, before and after each change."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from mapper.farm.ranged import Array
from mapper.weather.forecast import seconds
from mapper.weather.windchange import LIGHT_KM_H, WindChange, mean_direction, turn_deg

# Spread of direction within the hour, degrees, by stability class (Slade's centre values, from memory; the lower
# limits of EPA-454/R-99-005 table 6-8a, read, agree).
_WITHIN_HOUR = {"A": 25.0, "B": 20.0, "C": 15.0, "D": 10.0, "E": 5.0, "F": 2.5}
# Error of the forecast's direction: at issue, growth per hour of lead, most. Common practice, no source.
_AT_ISSUE, _PER_HOUR, _MOST = 15.0, 0.25, 45.0
# Light air meanders whatever its class: common knowledge, no source for the figure.
_MEANDER = 30.0
# Whether the table knows of a change: its hours this near to it, within this of the change's own direction.
_NEXT_TO_S, _SAME_SIDE = 3 * 3600.0, 45.0
# A side of a change less likely than this is left out.
_LEAST_WEIGHT = 1e-4


@dataclass(frozen=True)
class DirectionSpread:
    """A mixture of wrapped normals: where the wind blows from. weights sum to 1; all arrays of shape (k,), degrees."""

    weights: Array
    means_deg: Array
    sigmas_deg: Array


def chance_within(spread: DirectionSpread, centre_deg: Any, half_width_deg: Any) -> Array:
    """Return the chance that the wind blows from within half_width of centre, vectorised over both."""
    from scipy.special import ndtr

    centre, half = np.broadcast_arrays(np.asarray(centre_deg, dtype=float), np.asarray(half_width_deg, dtype=float))
    total = np.zeros(centre.shape)
    for weight, mean, sigma in zip(spread.weights, spread.means_deg, spread.sigmas_deg, strict=True):
        offset = turn_deg(mean, centre)[..., None] + 360.0 * np.arange(-2, 3)
        inside = ndtr((offset + half[..., None]) / sigma) - ndtr((offset - half[..., None]) / sigma)
        total = total + weight * inside.sum(axis=-1)
    return np.where(half >= 180.0, 1.0, np.clip(total, 0.0, 1.0))


def direction_spread(
    forecast: pd.DataFrame,
    at: datetime,
    changes: Sequence[WindChange],
    issued_at: datetime | None = None,
    stability: str | None = None,
) -> DirectionSpread:
    """Return the spread of wind direction at a time.

    Each side of a change has its own mean, weighted by the chance that the change has come by then (its time is normal
    with sigma_min); directions are never averaged across a change. Sigma joins the wander within the hour (by
    stability class, D where not given) and the forecast's error, 15 degrees at issue and 0.25 more each hour (no
    source), counted from issued_at, else as the table's column lead_h says (hours.judge fills it), else from its first
    hour. Light wind adds 30 degrees. Where the table has no direction at all the spread is even all round.
    """
    now = float(seconds(at))
    speed, direction = forecast["wind_km_h"].to_numpy(), forecast["wind_from_deg"].to_numpy()
    known = np.isfinite(speed) & np.isfinite(direction)
    if not known.any():
        return DirectionSpread(np.ones(1), np.zeros(1), np.full(1, 360.0))
    table = _Winds(seconds(forecast["time_utc"])[known], speed[known], direction[known])
    ordered = sorted(changes, key=lambda c: c.at)
    edges = [-np.inf, *(float(seconds(c.at)) for c in ordered), np.inf]
    if issued_at is not None:
        start = float(seconds(issued_at))
    elif "lead_h" in forecast.columns:
        start = float(seconds(forecast["time_utc"])[0] - 3600.0 * forecast["lead_h"].iloc[0])
    else:
        start = table.at_s[0]
    error = min(_AT_ISSUE + _PER_HOUR * max(now - start, 0.0) / 3600.0, _MOST)
    within = _WITHIN_HOUR[stability or "D"]
    kept, means, sigmas = [], [], []
    for k, weight in enumerate(_side_weights(ordered, edges[1:-1], now)):
        if weight < _LEAST_WEIGHT:
            continue
        came, comes = ordered[k - 1] if k else None, ordered[k] if k < len(ordered) else None
        mean, wind = _side(table, now, (edges[k], edges[k + 1]), came, comes)
        kept.append(weight)
        means.append(mean)
        sigmas.append(np.hypot(np.hypot(within, error), _MEANDER if wind < LIGHT_KM_H else 0.0))
    share = np.array(kept)
    return DirectionSpread(share / share.sum(), np.array(means), np.array(sigmas))


class _Winds(NamedTuple):
    """The table's hours with a wind; seconds since 1970, km/h, degrees."""

    at_s: Array
    speed: Array
    direction: Array


def _side_weights(changes: Sequence[WindChange], at_s: Sequence[float], now: float) -> Array:
    """Chance of being before the first change, between each two, after the last."""
    from scipy.special import ndtr

    come = [float(ndtr((now - s) / (60.0 * max(c.sigma_min, 1.0)))) for c, s in zip(changes, at_s, strict=True)]
    return -np.diff(np.append(np.minimum.accumulate([1.0, *come]), 0.0))


def _side(
    table: _Winds, now: float, side: tuple[float, float], came: WindChange | None, comes: WindChange | None
) -> tuple[float, float]:
    """Direction and speed on one side of the changes: the table's, where it speaks of that side, else the change's own.

    The table speaks of a side if its hours next to the change blow within 45 degrees of what the change says.
    """
    on = (table.at_s >= side[0]) & (table.at_s <= side[1])
    told: tuple[float, float] | None = None
    if came is not None:
        told, edge = (came.to_deg, came.to_km_h), on & (table.at_s <= side[0] + _NEXT_TO_S)
    elif comes is not None:
        told, edge = (comes.from_deg, comes.from_km_h), on & (table.at_s >= side[1] - _NEXT_TO_S)
    if told is not None:
        there = mean_direction(table.direction[edge], table.speed[edge])
        # Written so that "no hours there" counts as not speaking of it.
        if not abs(float(turn_deg(told[0], there))) <= _SAME_SIDE:
            return told
    # Between two hours the direction turns evenly; past the side's last hour it stays.
    angle = np.radians(table.direction[on])
    east, north = (float(np.interp(now, table.at_s[on], part)) for part in (np.sin(angle), np.cos(angle)))
    return float(np.degrees(np.arctan2(east, north)) % 360.0), float(np.interp(now, table.at_s[on], table.speed[on]))
