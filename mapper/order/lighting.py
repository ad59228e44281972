"""Lighting points along a piece: how many, where, when, and when the piece is out."""

from dataclasses import dataclass

import numpy as np

from mapper.farm.farm import Crew, RowBurn
from mapper.farm.ranged import Array
from mapper.ground.boundary import unit

# A row that lies more across the wind than along it may be lit from either end. Our choice.
SQUARE_DEG = 45.0


def point_places(length_m: float, gap_m: float) -> Array:
    """Return distances (m) of the lighting points from the end where the crew begins.

    The first stands at that end; spacing is even, at most gap_m, and the last stands half a space before the other end,
    so that every stretch between points burns out together.
    """
    count = int(np.ceil(length_m / gap_m + 0.5 - 1e-9))
    return np.asarray(np.arange(count) * (length_m / (count - 0.5)), dtype=float)


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


def may_begin(first_xy: Array, last_xy: Array, to_deg: float) -> "np.ndarray[tuple[int, int], np.dtype[np.bool_]]":
    """Return (n, 2): whether a piece may be begun at its first, at its last vertex.

    Work runs upwind along a row, from its downwind end, so that no fire runs along the row after the crew; a row that
    lies more across the wind than along it may be begun at either end.
    """
    chord = last_xy - first_xy
    along = (chord @ unit(to_deg)) / np.maximum(np.hypot(*chord.T), 1e-9)
    free = np.abs(along) <= np.sin(np.radians(SQUARE_DEG)) + 1e-9
    return np.stack([free | (along < 0), free | (along > 0)], axis=1)
