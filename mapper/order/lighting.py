"""Lighting points along a piece: how many, where, when, and when the piece is out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mapper.farm.farm import Crew, RowBurn
from mapper.farm.ranged import Array
from mapper.ground.boundary import unit


def point_places(length_m: float, gap_m: float) -> Array:
    """Return distances (m) of the lighting points from the end where the crew begins.

    The first stands at that end; spacing is even, at most gap_m, and the last stands half a space before the other end,
    so that every stretch between points burns out together.
    """
    count = int(np.ceil(length_m / gap_m + 0.5 - 1e-9))
    return np.asarray(np.arange(count) * (length_m / (count - 0.5)), dtype=float)


# So much of a row may run with the wind: rows from a log wander. Our choice.
_FEW_M = 15.0


@dataclass(frozen=True)
class LightingTimes:
    """Seconds (n pieces): lighting_s by (crews, n): first point to the far end; out_s: far end lit to burnt out."""

    lighting_s: Array
    out_s: Array


def lighting_times(lengths_m: Array, crews: tuple[Crew, ...], row_burn: RowBurn) -> LightingTimes:
    """Return how long each crew takes for each piece, and how long the piece burns after.

    Driving at the lighting speed plus the time at each point; the fire then runs half a space to meet the next
    point's, and the spot it reaches last burns for burnout_min. Figures of the farm, no published rates.
    """
    counts = np.ceil(lengths_m / row_burn.point_gap_m + 0.5 - 1e-9)
    lighting = np.stack([lengths_m / (c.light_km_h / 3.6) + counts * c.dwell_s for c in crews])
    half_space = lengths_m / (counts - 0.5) / 2
    return LightingTimes(lighting, 60.0 * (half_space / row_burn.spread_m_min + row_burn.burnout_min))


def may_begin(
    lines: Sequence[Array], to_deg: float, lee_deg: float
) -> "np.ndarray[tuple[int, int], np.dtype[np.bool_]]":
    """Return (n, 2): whether a piece (vertices (k, 2)) may be begun at its first, at its last vertex.

    Work never runs within lee_deg of where the wind blows to for more than a few metres, so that the fire does not run
    along the row after the crew; where it would either way, the way with less of that. Rows square to the wind may be
    begun at either end.
    """
    most = np.cos(np.radians(lee_deg)) + 1e-9
    found = np.zeros((len(lines), 2), dtype=bool)
    for k, xy in enumerate(lines):
        step = np.diff(xy, axis=0)
        length = np.hypot(*step.T)
        along = (step @ unit(to_deg)) / np.maximum(length, 1e-9)
        runs = np.array([length[along > most].sum(), length[along < -most].sum()])
        found[k] = (runs <= min(_FEW_M, 0.5 * length.sum())) | (runs == runs.min())
        chord = (xy[-1] - xy[0]) @ unit(to_deg)
        if runs[0] == runs[1] > 0:
            found[k] = [chord <= 0, chord >= 0]
    return found
