"""Windrows from a harvester's log: one function that walks the stages of this room.

Clean fixes, the way second by second, fresh ground, yield, straw, where it fell. Left out: snapping rows of a
drifting receiver to the pass grid, undoing the mixing inside the machine, cut heights that vary within a paddock.
"""

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from mapper.farm.along import stretches, write_along
from mapper.farm.farm import Harvester
from mapper.farm.layers import empty_layer, make_layer
from mapper.farm.limits import LocalLimits
from mapper.farm.ranged import Array
from mapper.farm.tracks import check_track
from mapper.rows import load
from mapper.rows.account import Account, Cancelled, Progress
from mapper.rows.clip import clip_lines, thin_lines
from mapper.rows.cut import LEAST_CUT_M, PERHAPS, UP, Swath, fresh_area
from mapper.rows.drop import Dropped, drop_straw
from mapper.rows.flow import flow_lag, idle
from mapper.rows.machines import FLAG, FLOW, GROUND, Machine, find_machines
from mapper.rows.number import across_order, row_names
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
# Share of row length found in place by what told cutting from driving (the prototype's and both simulators' tables;
# ground alone is worst across a waterway), and the metres that the two ends of a row are out together.
_SURE = {FLAG: 0.99, FLOW: 0.98, GROUND: 0.88}
_ENDS_OUT_M = 2.0
# A clock that tells dates lies between 1990 and 2100.
_DATED_FROM_S, _DATED_TO_S = 631_152_000.0, 4_102_444_800.0


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
    result = _layers(machines, dropped, area, crs, limits or LocalLimits(), told)
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


def _layers(
    machines: list[Machine],
    dropped: list[Dropped],
    area: Any,
    crs: Any,
    limits: LocalLimits,
    told: Account,
) -> RowsResult:
    every = np.concatenate([d.line for d in dropped])
    of = np.repeat(np.arange(len(machines)), [len(d.line) for d in dropped])
    kg, t_s, guessed, tail = (
        np.concatenate([getattr(d, n) for d in dropped]) for n in ("kg", "t_s", "guessed", "tail")
    )
    lines, source, begin_m = clip_lines(every, area)
    new = across_order(lines)
    lines, source, begin_m = lines[new], source[new], begin_m[new]
    length = shapely.length(lines)
    fallen = [f for d in dropped for f in d.fallen]
    along = [_along(fallen[k], start, long) for k, start, long in zip(source, begin_m, length, strict=True)]
    per_m = np.array([v.mean() for v in along]) if along else np.zeros(0)
    pass_no = np.concatenate([np.argsort(np.argsort(d.t_s, kind="stable")) + 1 for d in dropped])[source]
    width = np.array([m.harvester.row_width_m for m in machines])[of[source]]
    in_row = load.load_t_ha(per_m, width)
    evidence = np.array([m.evidence for m in machines], object)[of[source]]
    noise = np.array([m.noise_m for m in machines])[of[source]]
    windrows = make_layer(
        "windrows",
        {
            "row_id": row_names(told.paddock, len(lines)),
            "paddock": [told.paddock] * len(lines),
            "machine": np.array([m.name for m in machines], object)[of[source]],
            "pass_no": pass_no.astype("int64"),
            "length_m": length,
            "load_kg_m": per_m,
            "load_t_ha": in_row,
            "load_class": load.classify_along(
                [load.load_t_ha(v, w) for v, w in zip(along, width, strict=True)], limits
            ),
            "load_along": [write_along(v) for v in along],
            "share_interpolated": np.clip(guessed[source], 0, 1),
            "confidence": _confidence(evidence, np.clip(guessed[source], 0, 1), length, noise),
            "dropped_at": _dates(t_s, np.array([m.clocked for m in machines])[of])[source],
            "evidence": np.where(tail[source], evidence + ", end of row estimated", evidence),
        },
        thin_lines(lines),
        crs,
    )
    points = np.concatenate([d.heap for d in dropped])
    inside = shapely.covers(area, points)
    heap_kg = np.concatenate([d.heap_kg for d in dropped])
    heap_of = np.repeat(np.array([m.name for m in machines], object), [len(d.heap) for d in dropped])
    heaps = make_layer(
        "heaps",
        {"paddock": [told.paddock] * int(inside.sum()), "machine": heap_of[inside], "kg": heap_kg[inside]},
        points[inside],
        crs,
    )
    _balance(
        told, kg.sum() + heap_kg.sum() + sum(d.thin_kg for d in dropped), (per_m * length).sum(), heap_kg[inside].sum()
    )
    return RowsResult(windrows, heaps, tuple(told.remarks), tuple(told.figures))


def _confidence(evidence: NDArray[np.object_], guessed: Array, length_m: Array, noise_m: Array) -> Array:
    """Chance that a metre of a row lies within half a metre of straw: by evidence, guessed share, ends and receiver."""
    from scipy.special import erf

    known = np.array([_SURE[e] for e in evidence], float)
    lateral = erf(0.5 / np.maximum(noise_m, 0.01) / np.sqrt(2))
    chance: Array = known * (1 - 0.5 * guessed) * length_m / (length_m + _ENDS_OUT_M) * lateral
    return chance


def _along(fallen: tuple[Array, Array], start_m: float, length_m: float) -> Array:
    """Load (kg/m) of even parts of a row that begins at start_m of the line whose straw up to each point is known."""
    n = stretches(length_m)
    result: Array = np.diff(np.interp(start_m + np.linspace(0, length_m, n + 1), *fallen)) / (length_m / n)
    return result


def _dates(t_s: Array, clocked: NDArray[np.bool_]) -> "pd.Series[Any]":
    """UTC times; none where the clock does not tell dates (a counter, or 1970)."""
    known = clocked & (t_s > _DATED_FROM_S) & (t_s < _DATED_TO_S)
    return pd.Series(pd.to_datetime(np.where(known, t_s, np.nan), unit="s", utc=True))


def _balance(told: Account, cut_kg: float, rows_kg: float, heaps_kg: float) -> None:
    source = "the log's cut area and the straw through the header"
    told.figure("straw cut", round(cut_kg / 1000, 2), "t", source)
    told.figure("straw in rows", round(rows_kg / 1000, 2), "t", source)
    told.figure("straw in heaps", round(heaps_kg / 1000, 2), "t", source)
    lost = cut_kg - rows_kg - heaps_kg
    if cut_kg > 0 and lost > 0.02 * cut_kg:
        told.look(
            f"{lost / 1000:.1f} t of straw ({100 * lost / cut_kg:.0f} % of that near this paddock) fell outside its "
            "boundary or in pieces too short for a row; it is not on the map",
            "note",
        )
