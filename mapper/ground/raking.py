"""Rows that run into a break, a bare ring or a strip under wires: how much of each stays unlit or is raked back."""

from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from mapper.farm.notes import Remark
from mapper.ground.breaks import GAP
from mapper.ground.buffers import NO_BURN
from mapper.ground.rings import RING

RAKING_COLUMNS = ("row_id", "paddock", "against", "unlit_m", "rake_m")
# Shorter than this is where a row was drawn to. Our choice.
_LEAST_M = 0.5
# A row of which this share lies on such ground lies along it. Our choice.
_ALONG = 0.5
# Straw under wires is not raked (network operators' advice): the row stays unlit where it lies.
_NOT_RAKED = ("power_line",)


def raking(
    windrows: gpd.GeoDataFrame,
    paddocks: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    breaks_there: gpd.GeoDataFrame,
    buffers: gpd.GeoDataFrame,
) -> pd.DataFrame:
    """Return one line for each row and each thing that it runs into, metres of the row; columns RAKING_COLUMNS.

    breaks, buffers: the layers. A row is raked back off the ground that a break wants and has not got (taken from
    inside the paddock), off a break that is there (straw on it carries fire over), and out of bare rings; under wires
    it stays where it is. unlit_m is what is not lit in any case, rake_m what is to be raked.
    """
    areas: list[tuple[BaseGeometry, str, str, bool]] = []
    shapes = dict(zip(paddocks["paddock"], paddocks.geometry, strict=True))
    for b in breaks[breaks["short_m"] > 0].itertuples():
        if not str(b.side).startswith((RING, GAP)) and b.paddock in shapes:
            strip = b.geometry.buffer(b.short_m, cap_style="flat").intersection(shapes[b.paddock])
            areas.append((strip, str(b.paddock), str(b.side).replace("edge", "break to be made"), True))
    for line, width in zip(breaks_there.geometry, breaks_there["width_m"], strict=True):
        if width > 0:
            areas.append((line.buffer(width / 2, cap_style="flat"), "", f"the {width:g} m break", True))
    for a in buffers[buffers["purpose"] == NO_BURN].itertuples():
        what = "strip under" if a.kind in _NOT_RAKED else "bare ring round"
        areas.append((a.geometry, "", f"{what} {a.name or a.kind}", a.kind not in _NOT_RAKED))
    return _crossed(windrows, areas)


def _crossed(windrows: gpd.GeoDataFrame, areas: list[tuple[BaseGeometry, str, str, bool]]) -> pd.DataFrame:
    rows = windrows.geometry.to_numpy()
    lines: list[tuple[Any, ...]] = []
    if len(rows) and areas:
        tree, left = shapely.STRtree(rows), rows.copy()
        ids, names = (windrows[c].to_numpy(dtype=object) for c in ("row_id", "paddock"))
        for area, paddock, words, rake in areas:
            hit = np.sort(tree.query(area, predicate="intersects"))
            hit = hit[(names[hit] == paddock) | (paddock == "")]
            # Ground that several things claim is raked once.
            metres = shapely.length(shapely.intersection(left[hit], area))
            left[hit] = shapely.difference(left[hit], area)
            for k, length in zip(hit, metres, strict=True):
                if length >= _LEAST_M:
                    lines.append((ids[k], names[k], words, float(length), float(length) if rake else 0.0))
    table = pd.DataFrame(lines, columns=list(RAKING_COLUMNS))
    return table.astype({"unlit_m": "float64", "rake_m": "float64"})


def raking_words(table: pd.DataFrame, windrows: gpd.GeoDataFrame) -> tuple[Remark, ...]:
    """Return what is to be raked back and what stays unlit under wires, a sentence or two a paddock: rows that run into
    such ground, and rows that lie along it."""
    shapes = dict(zip(windrows["row_id"], windrows.geometry, strict=True))
    length = table["row_id"].map(shapes).map(lambda line: line.length).astype("float64")
    share = table.groupby(["row_id", table["rake_m"] > 0])["unlit_m"].transform("sum") / length
    remarks = []
    for (paddock, rake, along), group in table.groupby(["paddock", table["rake_m"] > 0, share >= _ALONG], sort=False):
        each = group.groupby("row_id")["unlit_m"].sum()
        rows, most, total = len(each), each.max(), each.sum()
        things = list(dict.fromkeys(group["against"]))
        what = ", ".join(things[:3]) + (f" and {len(things) - 3} more" if len(things) > 3 else "")
        does = ("lies along" if rows == 1 else "lie along") if along else ("runs into" if rows == 1 else "run into")
        of = f"{most:,.0f} m" if rows == 1 else f"up to {most:,.0f} m of each, {total:,.0f} m in all"
        todo = f"stays unlit: {of}" if not rake else f"rake it off or leave it: {of}" if along else f"rake back {of}"
        text = f"{rows} row{'' if rows == 1 else 's'} {does} {what}; {todo}."
        where = shapely.union_all([shapes[r] for r in each.index])
        remarks.append(Remark("rows", "look" if rake else "note", text, str(paddock), where))
    return tuple(remarks)
