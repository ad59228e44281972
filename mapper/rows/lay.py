"""What was dropped, as the layers windrows and heaps: inside the paddock, numbered, with load, class and how sure."""

from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from mapper.farm.along import stretches, write_along
from mapper.farm.layers import make_layer
from mapper.farm.limits import LocalLimits
from mapper.farm.ranged import Array
from mapper.rows import load
from mapper.rows.account import Account
from mapper.rows.clip import clip_lines, thin_lines
from mapper.rows.drop import Dropped
from mapper.rows.machines import FLAG, FLOW, GROUND, Machine
from mapper.rows.number import across_order, row_names
from mapper.rows.result import RowsResult

# Share of row length found in place by what told cutting from driving (the prototype's and both simulators' tables;
# ground alone is worst across a waterway), and the metres that the two ends of a row are out together.
_SURE = {FLAG: 0.99, FLOW: 0.98, GROUND: 0.88}
_ENDS_OUT_M = 2.0
# A row's end is known about so well; a boundary too.
_BEYOND_M = 5.0
# A clock that tells dates lies between 1990 and 2100.
_DATED_FROM_S, _DATED_TO_S = 631_152_000.0, 4_102_444_800.0


def rows_and_heaps(
    machines: list[Machine],
    dropped: list[Dropped],
    area: Any,
    crs: Any,
    limits: LocalLimits,
    told: Account,
) -> RowsResult:
    """Return the layers of one paddock (area) from what each of its machines dropped, in the same order."""
    every = np.concatenate([d.line for d in dropped])
    of = np.repeat(np.arange(len(machines)), [len(d.line) for d in dropped])
    kg, t_s, guessed, tail = (
        np.concatenate([getattr(d, n) for d in dropped]) for n in ("kg", "t_s", "guessed", "tail")
    )
    lines, source, begin_m = clip_lines(every, area)
    _say_beyond(every, area, told)
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
    heaps = _heaps(machines, dropped, area, crs, told.paddock)
    _balance(
        told, kg.sum() + sum(d.heap_kg.sum() + d.thin_kg for d in dropped), (per_m * length).sum(), heaps["kg"].sum()
    )
    return RowsResult(windrows, heaps, tuple(told.remarks), tuple(told.figures))


def _say_beyond(lines: NDArray[np.object_], area: Any, told: Account) -> None:
    """Say how much straw of rows that end outside the boundary lies there: it may join the fire to what lies beyond."""
    ends = lines[shapely.intersects(area, lines) & ~shapely.covers(area, lines)]
    beyond = shapely.length(shapely.difference(ends, area))
    far = beyond[beyond > _BEYOND_M]
    if len(far):
        told.look(
            f"{len(far)} rows run on past the boundary, {far.sum():.0f} m in all, the longest {far.max():.0f} m. That "
            "straw lies on the break or beyond it and is not on the map: rake it in, or put the boundary right"
        )


def _heaps(machines: list[Machine], dropped: list[Dropped], area: Any, crs: Any, paddock: str) -> gpd.GeoDataFrame:
    points = np.concatenate([d.heap for d in dropped])
    inside = shapely.covers(area, points)
    machine = np.repeat(np.array([m.name for m in machines], object), [len(d.heap) for d in dropped])
    kg = np.concatenate([d.heap_kg for d in dropped])
    data = {"paddock": [paddock] * int(inside.sum()), "machine": machine[inside], "kg": kg[inside]}
    return make_layer("heaps", data, points[inside], crs)


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
