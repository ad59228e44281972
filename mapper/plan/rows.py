"""Rows for the whole farm: from the logs where a paddock has one, else from its pattern."""

from collections.abc import Callable, MutableMapping
from dataclasses import replace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.farm.errors import Stopped
from mapper.farm.farm import Farm, Harvester
from mapper.farm.layers import empty_layer, stack_layers
from mapper.farm.notes import Figure, Remark
from mapper.plan.check import farm_row_width
from mapper.plan.workings import Worked
from mapper.rows.account import Account
from mapper.rows.derive import derive_rows
from mapper.rows.edits import apply_edits
from mapper.rows.fit import fit_pattern
from mapper.rows.pattern import pattern_rows
from mapper.rows.result import RowsResult
from mapper.rows.season import compare_seasons
from mapper.rows.straw import paddock_yield, straw_through_header

# Turns and unloading happen outside the boundary and belong to the paddock's track all the same.
_ROUND_M = 60.0
# Fewer fixes than this inside a paddock are a machine passing through, not a harvest of it.
_FEWEST_FIXES = 60
# Headland laps where nobody says: common practice, no source.
_LAPS = 2


def rows_of_farm(
    farm: Farm,
    done: MutableMapping[str, Worked],
    progress: Callable[[int, int], None],
    cancelled: Callable[[], bool],
) -> tuple[gpd.GeoDataFrame, gpd.GeoDataFrame, tuple[Remark, ...], tuple[Figure, ...]]:
    """Return windrows, heaps, remarks and figures of every paddock.

    done: workings by name; a paddock whose boundary, logs, machines and limits are as before is taken from there under
    "rows:<paddock>" (before hand edits), and put there when it is worked out.
    """
    harvesters = {h.machine: h for h in farm.harvesters}
    limits = tuple(farm.limits.get(k) for k in ("row_load_min", "row_load_max"))
    results: list[RowsResult] = []
    for k, (_, paddock) in enumerate(farm.paddocks.iterrows()):
        if cancelled():
            raise Stopped
        progress(k, len(farm.paddocks))
        inputs = (
            tuple(map(str, paddock.drop("geometry"))),
            paddock.geometry.wkb,
            farm.tracks,
            farm.harvesters,
            tuple(_of(farm.rows_seen, paddock).geometry.to_wkb()),
            *limits,
        )
        key = f"rows:{paddock['paddock']}"
        worked = done.get(key)
        if worked is None or worked.inputs[2] is not farm.tracks or worked.inputs != inputs:
            done[key] = worked = Worked(inputs, _of_paddock(farm, paddock, harvesters, cancelled))
        # What the hand did comes after, so that a stroke of the pen derives nothing again.
        results.append(_edited(farm, paddock, worked.output))
    return (
        stack_layers("windrows", [r.windrows for r in results], farm.grid.crs),
        stack_layers("heaps", [r.heaps for r in results], farm.grid.crs),
        tuple(m for r in results for m in r.remarks),
        tuple(f for r in results for f in r.figures),
    )


def _of(layer: gpd.GeoDataFrame | None, paddock: "pd.Series[Any]") -> gpd.GeoDataFrame:
    """What a layer holds of one paddock: by name, or by place where a line names none."""
    if layer is None or layer.empty:
        return gpd.GeoDataFrame(geometry=[])
    nameless = (layer["paddock"] == "") & layer.geometry.intersects(paddock.geometry)
    return layer[(layer["paddock"] == paddock["paddock"]) | nameless]


def _edited(farm: Farm, paddock: "pd.Series[Any]", found: RowsResult) -> RowsResult:
    """Rows with what the hand did to them, beside last season's."""
    edits = tuple(e for e in farm.row_edits if e.paddock == paddock["paddock"])
    windrows, said = apply_edits(found.windrows, edits, limits=farm.limits, row_width_m=farm_row_width(farm))
    before = _of(farm.rows_before, paddock)
    if len(before) and len(windrows):
        pitch = farm.harvesters[0].header_width_m if farm.harvesters else 12.0
        compared = compare_seasons(
            windrows, before, paddock=str(paddock["paddock"]), row_width_m=farm_row_width(farm), pitch_m=pitch
        )
        said = (*said, Remark("rows", "note", compared.text, compared.paddock))
    return replace(found, windrows=windrows, remarks=(*found.remarks, *said))


def track_in(tracks: dict[str, pd.DataFrame], paddock: Any) -> pd.DataFrame | None:
    """Return the fixes of all logs in and round a paddock, in log order, or None where nobody harvested it."""
    area = paddock.geometry
    x0, y0, x1, y1 = area.buffer(_ROUND_M).bounds
    parts = []
    inside = 0
    near = area.buffer(_ROUND_M)
    shapely.prepare([area, near])
    for track in tracks.values():
        x, y = track["x"].to_numpy(), track["y"].to_numpy()
        box = np.flatnonzero((x > x0) & (x < x1) & (y > y0) & (y < y1))
        if not len(box):
            continue
        keep = box[shapely.contains_xy(near, x[box], y[box])]
        inside += int(shapely.contains_xy(area, x[keep], y[keep]).sum())
        parts.append(track.iloc[keep])
    if inside < _FEWEST_FIXES:
        return None
    return pd.concat(parts, ignore_index=True)


def _of_paddock(
    farm: Farm, paddock: "pd.Series[Any]", harvesters: dict[str, Harvester], cancelled: Callable[[], bool]
) -> RowsResult:
    track = track_in(farm.tracks, paddock)
    crs = farm.grid.crs
    if track is not None:
        return derive_rows(track, harvesters, paddock, crs, limits=farm.limits, cancelled=cancelled)
    width = float(paddock["header_width_m"])
    if not np.isfinite(width):
        width = farm.harvesters[0].header_width_m if farm.harvesters else float("nan")
    if not np.isfinite(width):
        nothing = (
            "has no harvester log and no header width, so its rows are not known. Open a log or type the width in."
        )
        remark = Remark("rows", "look", f"{paddock['paddock']} {nothing}", paddock["paddock"], paddock.geometry)
        return RowsResult(empty_layer("windrows", crs), empty_layer("heaps", crs), (remark,), ())
    told = Account(str(paddock["paddock"]), None, cancelled)
    residue_t_ha = straw_through_header(np.array([paddock_yield(paddock, told)]), paddock, told)
    laps = paddock["headland_laps"]
    if not np.isfinite(laps):
        told.look(f"The number of headland laps is not known: {_LAPS} are taken")
    seen = _of(farm.rows_seen, paddock)
    rows = pattern_rows(
        paddock,
        crs,
        heading_deg=float(paddock["row_heading_deg"]),
        header_width_m=width,
        headland_laps=int(laps) if np.isfinite(laps) else _LAPS,
        load_kg_m=float(residue_t_ha[0]) * width / 10.0,
        row_width_m=farm_row_width(farm),
        limits=farm.limits,
        fit=fit_pattern(list(seen.geometry), width) if len(seen) else None,
    )
    return replace(rows, remarks=(*rows.remarks, *told.remarks), figures=(*rows.figures, *told.figures))
