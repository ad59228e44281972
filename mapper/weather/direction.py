"""Where the wind may blow from at an hour: a mixture of wrapped normals, before and after each change."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.ranged import Array
from mapper.weather.windchange import LIGHT_KM_H, WindChange, mean_direction, turn_deg

# Spread of direction within the hour, degrees, by stability class (Slade's centre values, from memory; the lower
# limits of EPA-454/R-99-005 table 6-8a, read, agree).
_WITHIN_HOUR = {"A": 25.0, "B": 20.0, "C": 15.0, "D": 10.0, "E": 5.0, "F": 2.5}
# Error of the forecast's direction: at issue, growth per hour of lead, most. Common practice, no source.
_AT_ISSUE, _PER_HOUR, _MOST = 15.0, 0.25, 45.0
# Light air meanders whatever its class: common knowledge, no source for the figure.
_MEANDER = 30.0
# Further than this from a typed or found change's direction, the table does not speak of that side of the change.
_SAME_SIDE = 45.0


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
    source), counted from issued_at, else from the table's first hour. Light wind adds 30 degrees. Where the table has
    no direction at all the spread is even all round.
    """
    now = pd.Timestamp(at)
    known = forecast.dropna(subset=["wind_from_deg", "wind_km_h"])
    if known.empty:
        return DirectionSpread(np.ones(1), np.zeros(1), np.full(1, 360.0))
    ordered = sorted(changes, key=lambda c: c.at)
    weights = _side_weights(ordered, now)
    edges = [
        pd.Timestamp.min.tz_localize("UTC"),
        *(pd.Timestamp(c.at) for c in ordered),
        pd.Timestamp.max.tz_localize("UTC"),
    ]
    start = known["time_utc"].iloc[0] if issued_at is None else pd.Timestamp(issued_at)
    lead = max((now - start).total_seconds() / 3600.0, 0.0)
    error = min(_AT_ISSUE + _PER_HOUR * lead, _MOST)
    within = _WITHIN_HOUR[stability or "D"]
    kept, means, sigmas = [], [], []
    for k, weight in enumerate(weights):
        if weight < 1e-4:
            continue
        mean, wind = _side(known, now, edges[k], edges[k + 1], ordered[k - 1] if k else None,
                           ordered[k] if k < len(ordered) else None)  # fmt: skip
        kept.append(weight)
        means.append(mean)
        sigmas.append(np.hypot(np.hypot(within, error), _MEANDER if wind < LIGHT_KM_H else 0.0))
    share = np.array(kept)
    return DirectionSpread(share / share.sum(), np.array(means), np.array(sigmas))


def _side_weights(changes: Sequence[WindChange], now: pd.Timestamp) -> Array:
    """Chance of being before the first change, between each two, after the last."""
    from scipy.special import ndtr

    come = [float(ndtr((now - pd.Timestamp(c.at)).total_seconds() / (60.0 * max(c.sigma_min, 1.0)))) for c in changes]
    return -np.diff(np.append(np.minimum.accumulate([1.0, *come]), 0.0))


def _side(
    known: pd.DataFrame,
    now: pd.Timestamp,
    begins: pd.Timestamp,
    ends: pd.Timestamp,
    came: WindChange | None,
    comes: WindChange | None,
) -> tuple[float, float]:
    """Direction and speed on one side of the changes, at the hour nearest to now that lies on that side."""
    rows = known[(known["time_utc"] >= begins) & (known["time_utc"] <= ends)]
    told = came.to_deg if came is not None else comes.from_deg if comes is not None else float("nan")
    told_wind = came.to_km_h if came is not None else comes.from_km_h if comes is not None else float("nan")
    if rows.empty:
        if np.isnan(told):
            rows = known
        else:
            return told, told_wind
    gap = (rows["time_utc"] - now).abs().dt.total_seconds().to_numpy()
    near = np.argsort(gap, kind="stable")[:2]
    # Between two hours the direction turns evenly; past the last one it stays.
    between = len(near) == 2 and gap[near].sum() <= 1.001 * abs(
        (rows["time_utc"].iloc[near[1]] - rows["time_utc"].iloc[near[0]]).total_seconds()
    )
    closeness = 1.0 - gap[near] / gap[near].sum() if between and gap[near].sum() > 0 else np.eye(1, len(near))[0]
    mean = mean_direction(rows["wind_from_deg"].to_numpy()[near], np.maximum(closeness, 0.0))
    wind = float((rows["wind_km_h"].to_numpy()[near] * closeness).sum())
    if not np.isnan(told) and abs(float(turn_deg(told, mean))) > _SAME_SIDE:
        return told, told_wind
    return mean, wind
