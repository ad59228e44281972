"""When an escaped fire would arrive: the earliest time over a grid of fuel classes, in an hourly wind."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mapper.farm.errors import SettingError
from mapper.farm.ranged import Array, possible
from mapper.fire.shape import ellipse_axes

# Class of ground that does not burn: bare, water, green, a road or a break that holds.
NO_FUEL = 0
# Above this length to breadth, cells already reached are corrected again: see arrival_times.
RELABEL_LB = 4.0
# What stands still in an hour still moves, this slowly (m/s), so that the next hour's wind can take it up.
_STILL_M_S = 1e-9


def arrival_times(
    classes: NDArray[np.uint16],
    cell_m: float,
    head_m_s: Any,
    lb: Any,
    to_deg: Any,
    hour_starts_s: Any,
    starts: tuple[Any, Any, Any],
    horizon_s: float,
    cancelled: Callable[[], bool] | None = None,
) -> NDArray[np.float32]:
    """Return the earliest arrival of fire in each cell, seconds on the clock of `starts`; inf past the horizon.

    Parameters
    ----------
    classes : (rows, cols) uint16, north row first; NO_FUEL (0) never burns and must be 4-connected to hold fire.
    cell_m : side of a cell, metres.
    head_m_s, lb : (hours, n) head rate and length to breadth of each class in each hour; column 0 is not looked at.
        Or (3, hours, n): of a wind to the left, the middle one and one to the right (at most 180 degrees apart),
        between which the wind may turn at any moment: the fire takes the worst.
    to_deg : (hours,) or as head_m_s, degrees clockwise from grid north, where the head runs TO.
    hour_starts_s : (hours,) rising; each wind holds until the next begins, the last one on, the first from ever.
    starts : rows, cols, t_s of the cells alight. horizon_s : latest arrival worth knowing.

    The fire's front from any point is the ellipse of fire/shape with its rear focus there (Huygens), so a move v costs
    (a |v| - c u.v) / b^2; moves reach over 32 neighbours, start between two of them, pass no cell without fuel, cost
    the mean of the classes they pass and are split where the wind changes. Checked against closed forms: mean error of
    the head 1.5 % beyond 20 cells up to length to breadth 3.2; above RELABEL_LB cells are corrected again, and errors
    grow to 3 %. Left out: the slow start of a point fire (fire/growth), spotting, and what the crew does. Raises
    SettingError for tables that do not fit, a rate not known, or a start off the grid.
    """
    cells = np.ascontiguousarray(classes, dtype=np.uint16)
    table, fanned = _table(cells, float(possible("cell", cell_m, 0.1, 1000)), head_m_s, lb, to_deg)
    hours = np.asarray(hour_starts_s, dtype=float)
    if hours.shape != (len(table),) or np.any(np.diff(hours) <= 0):
        raise SettingError("hours of the wind do not rise one for each row of the tables", "arrival times")
    rows, cols, at = (np.atleast_1d(np.asarray(s)) for s in starts)
    if np.any((rows < 0) | (rows >= cells.shape[0]) | (cols < 0) | (cols >= cells.shape[1])):
        raise SettingError("a fire starts off the grid", "arrival times")
    from mapper.fire.march import march

    relabel = bool(np.any(np.asarray(lb, dtype=float)[..., 1:] > RELABEL_LB))
    where = rows.astype(np.int64), cols.astype(np.int64), at.astype(float)
    ends = np.append(hours[1:], np.inf)
    times = march(cells, table, fanned, ends, *where, float(horizon_s), relabel)
    return np.asarray(np.where(times <= horizon_s, times, np.inf), dtype=np.float32)


def _table(cells: NDArray[np.uint16], cell_m: float, head_m_s: Any, lb: Any, to_deg: Any) -> tuple[Array, bool]:
    """The table of fire/march.py, and whether it has a fan."""
    head, ratio = np.broadcast_arrays(possible("rate of spread", head_m_s, 0, 100), np.asarray(lb, dtype=float))
    if head.ndim not in (2, 3) or head.shape[-1] <= int(cells.max(initial=0)):
        raise SettingError("the tables of spread do not have a column for each class", "arrival times")
    to = np.asarray(to_deg, dtype=float)
    to = np.broadcast_to(to[:, None] if to.ndim == 1 else to, head.shape)
    if head.ndim == 2:
        head, ratio, to = head[None], ratio[None], to[None]
    if len(head) not in (1, 3):
        raise SettingError("there is neither one wind nor a left, middle and right one", "arrival times")
    head, ratio = head.copy(), ratio.copy()
    head[..., NO_FUEL], ratio[..., NO_FUEL] = 1.0, 1.0
    if np.any(np.isnan(head) | np.isnan(ratio) | np.isnan(to)):
        raise SettingError("a rate, shape or direction of the fire is not known", "arrival times")
    f, g, h = ellipse_axes(ratio)
    scale = cell_m / np.maximum(head, _STILL_M_S) / h**2
    angle = np.radians(to)
    ellipses = np.stack([scale * f, -scale * g * np.cos(angle), scale * g * np.sin(angle)], axis=-1)
    # Between the outer winds the middle one's head runs in every direction: what they sweep as they turn.
    wide = (to[-1] - to[0]) % 360
    half = np.radians(np.where(wide > 180, 0.0, wide / 2))
    middle = np.radians(to[0]) + half
    within = cell_m / np.maximum(head[len(head) // 2], _STILL_M_S)
    fan = [within, -np.cos(middle), np.sin(middle), np.cos(half), middle - np.pi / 2, half]
    table = np.concatenate([ellipses[0], ellipses[-1], np.stack(fan, axis=-1)], axis=-1)
    return np.ascontiguousarray(table), len(head) == 3
