"""What hands did to the rows, done again to rows newly derived: found by place, since numbers change."""

from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from shapely.ops import substring

from mapper.farm.along import read_along, stretches, write_along
from mapper.farm.layers import empty_layer, make_layer, stack_layers
from mapper.farm.limits import LocalLimits
from mapper.farm.notes import Remark
from mapper.farm.rowedit import RowEdit
from mapper.rows.load import classify_along, load_t_ha
from mapper.rows.number import across_order, row_names

# A row that lies within this of where the edited one lay is that row: rows are a header apart.
_REACH_M = 2.0
# It must lie there over this share of the shorter of the two, or it only crosses.
_SAME_SHARE = 0.5
_SHORTEST_ROW_M = 2.0
HAND = "by hand"


def apply_edits(
    windrows: gpd.GeoDataFrame, edits: Sequence[RowEdit], *, limits: LocalLimits, row_width_m: float = 0.6
) -> tuple[gpd.GeoDataFrame, tuple[Remark, ...]]:
    """Return one paddock's windrows with its edits done in order, numbered anew, and what is to be said.

    Parameters
    ----------
    windrows : layer windrows of one paddock, as derived or estimated.
    edits : those of the paddock; each finds its row by place, so a new derivation does not lose it.
    limits : row_load_min and row_load_max class the loads of drawn rows. row_width_m : of drawn rows.

    An edit whose row is no longer there changes nothing and is said (Remark "look"). Rows the hand touched carry
    "by hand" in `evidence` and confidence 1.
    """
    if not edits:
        return windrows, ()
    paddock, crs = edits[0].paddock, windrows.crs
    usual = _usual_load(windrows)
    remarks: list[Remark] = []
    for edit in edits:
        if edit.action == "draw":
            windrows = _drawn(windrows, edit, usual, row_width_m, limits, crs)
            continue
        at = _rows_at(windrows, edit.was)
        if not len(at):
            said = {"delete": "deleted", "move": "moved", "split": "split"}[edit.action]
            text = f"A row {said} by hand is no longer there: the edit changes nothing. Look where it was"
            remarks.append(Remark("rows", "look", text, paddock, edit.was))
        elif edit.action == "split":
            windrows = _split(windrows, at, edit, limits)
        else:
            gone, windrows = windrows.iloc[at], _without(windrows, at, edit.was)
            if edit.action == "move":
                load = edit.load_kg_m or _usual_load(gone)
                moved = RowEdit("draw", paddock, now=edit.now, load_kg_m=load if load and load > 0 else None)
                windrows = _drawn(windrows, moved, usual, row_width_m, limits, crs, like=gone.iloc[0])
    return _numbered(windrows, paddock), tuple(remarks)


def _usual_load(windrows: gpd.GeoDataFrame) -> float | None:
    known = windrows["load_kg_m"].notna()
    length = windrows.loc[known, "length_m"]
    return float(np.average(windrows.loc[known, "load_kg_m"], weights=length)) if len(length) else None


def _rows_at(windrows: gpd.GeoDataFrame, was: Any) -> NDArray[np.int64]:
    """Rows that lie along `was`, not those that cross it."""
    if windrows.empty:
        return np.zeros(0, np.int64)
    lines = windrows.geometry.to_numpy()
    near = was.buffer(_REACH_M, cap_style="flat")
    along = shapely.length(shapely.intersection(lines, near))
    return np.flatnonzero(along >= _SAME_SHARE * np.minimum(shapely.length(lines), was.length))


def _without(windrows: gpd.GeoDataFrame, at: NDArray[np.int64], was: Any) -> gpd.GeoDataFrame:
    """Take out what lies along `was`; what a newly derived row has beyond its ends by more than a header stays."""
    near = was.buffer(_REACH_M)
    kept = [windrows.drop(index=windrows.index[at])]
    for k in at:
        row = windrows.iloc[[k]]
        line = row.geometry.iloc[0]
        rest = [p for p in shapely.get_parts(line.difference(near)) if p.length > 0.25 * was.length]
        kept += [_part(row, line.project(_end(p, 0)), line.project(_end(p, -1))) for p in rest]
    return stack_layers("windrows", kept, windrows.crs)


def _end(line: Any, k: int) -> Any:
    return shapely.get_point(line, k)


def _part(row: gpd.GeoDataFrame, from_m: float, to_m: float, limits: LocalLimits | None = None) -> gpd.GeoDataFrame:
    """Part of a row between two distances along it, with its own load where the row knows it along."""
    line = row.geometry.iloc[0]
    piece = substring(line, min(from_m, to_m), max(from_m, to_m))
    along = read_along(row["load_along"].iloc[0])
    out = row.copy()
    out.geometry = [piece]
    out["length_m"] = piece.length
    if len(along):
        n = stretches(piece.length)
        middle = (min(from_m, to_m) + (np.arange(n) + 0.5) / n * piece.length) / line.length
        own = along[np.minimum((middle * len(along)).astype(int), len(along) - 1)]
        width = row["load_kg_m"].iloc[0] / row["load_t_ha"].iloc[0] * 10
        out["load_kg_m"], out["load_t_ha"] = own.mean(), load_t_ha(own.mean(), width)
        out["load_along"] = write_along(own)
        if limits is not None:
            out["load_class"] = classify_along([load_t_ha(own, width)], limits).to_numpy()
    return out


def _split(windrows: gpd.GeoDataFrame, at: NDArray[np.int64], edit: RowEdit, limits: LocalLimits) -> gpd.GeoDataFrame:
    lines = windrows.geometry.to_numpy()[at]
    k = int(at[np.argmin(shapely.distance(lines, edit.at))])
    row = windrows.iloc[[k]]
    line = row.geometry.iloc[0]
    where = line.project(edit.at)
    if not _SHORTEST_ROW_M <= where <= line.length - _SHORTEST_ROW_M:
        return windrows
    row = row.assign(evidence=_by_hand(row["evidence"].iloc[0], "split"))
    parts = [_part(row, 0.0, where, limits), _part(row, where, line.length, limits)]
    return stack_layers("windrows", [windrows.drop(index=windrows.index[k]), *parts], windrows.crs)


def _drawn(
    windrows: gpd.GeoDataFrame,
    edit: RowEdit,
    usual_kg_m: float | None,
    width_m: float,
    limits: LocalLimits,
    crs: Any,
    like: "pd.Series[Any] | None" = None,
) -> gpd.GeoDataFrame:
    assert edit.now is not None
    load = edit.load_kg_m or usual_kg_m or float("nan")
    in_row = load_t_ha(np.array([load]), width_m)
    new = make_layer(
        "windrows",
        {
            "row_id": [f"{edit.paddock}-hand-{len(windrows)}"],
            "paddock": [edit.paddock],
            "machine": ["" if like is None else like["machine"]],
            "pass_no": [0 if like is None else int(like["pass_no"])],
            "dropped_at": [pd.NaT if like is None else like["dropped_at"]],
            "length_m": [edit.now.length],
            "load_kg_m": [load],
            "load_t_ha": in_row,
            "load_class": classify_along([in_row], limits),
            "load_along": [write_along(np.full(stretches(edit.now.length), load)) if np.isfinite(load) else ""],
            "share_interpolated": [0.0],
            "confidence": [1.0],
            "evidence": [f"drawn {HAND}" if like is None else _by_hand(str(like["evidence"]), "moved")],
        },
        [edit.now],
        crs,
    )
    return stack_layers("windrows", [windrows, new], crs)


def _by_hand(evidence: str, done: str) -> str:
    return f"{evidence}, {done} {HAND}" if evidence else f"{done} {HAND}"


def _numbered(windrows: gpd.GeoDataFrame, paddock: str) -> gpd.GeoDataFrame:
    if windrows.empty:
        return empty_layer("windrows", windrows.crs)
    new = windrows.iloc[across_order(windrows.geometry.to_numpy())].reset_index(drop=True)
    return new.assign(row_id=row_names(paddock, len(new)))
