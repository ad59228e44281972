"""Windrows from a harvester's log: one function that walks the stages of this room.

Clean fixes, the way second by second, fresh ground, yield, straw, where it fell. Left out: undoing the mixing of the
yield signal (lulls are given some seconds instead), cut heights that vary within a paddock.
"""

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from mapper.farm.farm import Harvester
from mapper.farm.layers import empty_layer
from mapper.farm.limits import LocalLimits
from mapper.farm.ranged import Array
from mapper.farm.tracks import check_track
from mapper.rows.account import Account, Cancelled, Progress
from mapper.rows.cut import LEAST_CUT_M, PERHAPS, UP, Swath, fresh_area
from mapper.rows.drop import Dropped, drop_straw
from mapper.rows.flow import flow_lag, idle
from mapper.rows.lay import rows_and_heaps
from mapper.rows.machines import GROUND, Machine, find_machines
from mapper.rows.path import Path, join_paths
from mapper.rows.result import RowsResult
from mapper.rows.state import cutting_state, pass_heading_deg, share_inside
from mapper.rows.straw import grain_yield, straw_through_header

# Fixes this far outside the paddock still tell how the machine came in and turned.
_MARGIN_M = 60.0
_BOUNDARY_FITS = 0.9
_CLOSE = 0.7
# Shorter runs of fresh ground are a turn's swing, not a pass.
_SHORTEST_PASS_M = 3.0


def derive_rows(
    track: pd.DataFrame,
    harvesters: Mapping[str, Harvester],
    paddock: "pd.Series[Any]",
    crs: Any,
    *,
    limits: LocalLimits | None = None,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
) -> RowsResult:
    """Return the paddock's windrows and heaps from a log that may cover the whole farm.

    Parameters
    ----------
    track : columns of farm/tracks.py, metres in crs, order of the file.
    harvesters : by machine name; a machine without one is given the log's width and usual distances, with a remark.
    paddock : row of the paddocks layer.
    limits : row_load_min and row_load_max decide light, right, heavy.

    Raises LayerError for a broken track, Stopped when cancelled() turns true.
    """
    told = Account(str(paddock["paddock"]), progress, cancelled)
    area = shapely.make_valid(paddock.geometry)
    near = _near(check_track(track), area)
    machines = find_machines(near, harvesters, paddock, told)
    if not machines:
        told.look("No fix of the log lies in this paddock: no rows from a log")
        return RowsResult(empty_layer("windrows", crs), empty_layer("heaps", crs), tuple(told.remarks))
    if any(m.evidence == GROUND for m in machines):
        told.look(
            "The log says neither when the header was down nor what it cut: drives over ground not cut before are "
            "taken for rows. Look at turns, tracks and waterways"
        )
    path = join_paths([m.path for m in machines])
    begin = np.r_[0, np.cumsum([len(m.path) for m in machines])]
    state = np.concatenate([cutting_state(m.path, m.body.reversing) for m in machines])
    mask = area if _fits(path, state, area, told) else None
    told.step()
    area_m2, lags = _cut(path, machines, begin, state, mask)
    told.step()
    residue = straw_through_header(grain_yield(machines, area_m2, lags, paddock, told), paddock, told)
    told.step()
    dropped = [_drop(m, area_m2[a:b], residue[a:b]) for m, a, b in zip(machines, begin[:-1], begin[1:], strict=True)]
    told.step()
    told.figure("area cut", round(float(area_m2.sum()) / 1e4, 3), "ha", "fresh ground under the header, from the log")
    result = rows_and_heaps(machines, dropped, area, crs, limits or LocalLimits(), told)
    told.step()
    return result


def _drop(machine: Machine, area_m2: Array, residue_t_ha: Array) -> Dropped:
    cutting = area_m2 > 0
    typical = float(np.median(residue_t_ha[cutting])) if cutting.any() else 0.0
    full_kg_m = typical * machine.harvester.header_width_m / 10
    chute = machine.body.chute_x, machine.body.chute_y
    delay_s, mixing_s = machine.harvester.threshing_delay_s, machine.harvester.mixing_s
    return drop_straw(machine.path, chute, area_m2 * residue_t_ha / 10, cutting, delay_s, full_kg_m, mixing_s)


def _near(track: pd.DataFrame, area: Any) -> pd.DataFrame:
    west, south, east, north = area.bounds
    x, y = track["x"].to_numpy(), track["y"].to_numpy()
    keep = (x > west - _MARGIN_M) & (x < east + _MARGIN_M) & (y > south - _MARGIN_M) & (y < north + _MARGIN_M)
    return track if keep.all() else track[keep]


def _fits(path: Path, state: NDArray[np.int8], area: Any, told: Account) -> bool:
    share = share_inside(path, state, area)
    if share >= _BOUNDARY_FITS:
        return True
    if np.isfinite(share):
        told.look(
            f"Only {100 * share:.0f} % of the passes that enter this paddock lie inside its boundary: the boundary or "
            "the log is of another paddock or year. It was not used to find the cuts; rows outside it are left away"
        )
    return False


def _cut(
    path: Path, machines: list[Machine], begin: NDArray[np.int64], state: NDArray[np.int8], mask: Any
) -> tuple[Array, list[int]]:
    """Fresh area each second (0 where not cutting), and each machine's delay of the yield signal."""
    i = np.arange(len(path))
    bodies = [m.body for m in machines]
    swath = Swath(
        left_x=np.concatenate([b.left_x for b in bodies]),
        left_y=np.concatenate([b.left_y for b in bodies]),
        right_x=np.concatenate([b.right_x for b in bodies]),
        right_y=np.concatenate([b.right_y for b in bodies]),
        before=np.where(path.first, -1, i - 1),
        order=np.lexsort((i, path.t_s)),
        step_m=path.step_m,
    )
    heading = pass_heading_deg(path, state)
    found = _sound(path, fresh_area(swath, state, mask, heading), machines)
    spans = [slice(a, b) for a, b in pairwise(begin)]
    parts = [m.path for m in machines]
    lags = [flow_lag(p, found[s]) for p, s in zip(parts, spans, strict=True)]
    lazy = np.concatenate([idle(p, found[s], lag) for p, s, lag in zip(parts, spans, lags, strict=True)])
    # Against a header said to be down only a flow that follows the cut closely is believed.
    sure = np.concatenate([np.full(len(p), lag.correlation > _CLOSE) for p, lag in zip(parts, lags, strict=True)])
    refuse = lazy & (sure | ((state == PERHAPS) & (path.down_after == -1)))
    if refuse.any():
        state = np.where(refuse, UP, state).astype(np.int8)
        found = _sound(path, fresh_area(swath, state, mask, heading), machines)
    return found, [lag.lag_s for lag in lags]


def _sound(path: Path, area_m2: Array, machines: list[Machine]) -> Array:
    """Fresh area without slivers under 1 m and runs too short for a pass; never wider than header or logged width."""
    step = path.step_m
    width = np.concatenate([np.full(len(m.path), m.harvester.header_width_m) for m in machines])
    logged = np.where((path.width_m > 0) & (path.width_m < width), path.width_m, width)
    area = np.minimum(area_m2, logged * step)
    cutting = area >= LEAST_CUT_M * np.maximum(step, 1e-3)
    run = np.cumsum(np.r_[True, (np.diff(cutting.astype(int)) != 0) | path.first[1:]]) - 1
    length = np.bincount(run, step)
    result: Array = np.where(cutting & (length[run] >= _SHORTEST_PASS_M), area, 0.0)
    return result
