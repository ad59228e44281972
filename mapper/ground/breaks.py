"""The width of break wanted along each stretch of boundary and round things inside, against what is there."""

from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.farm.layers import make_layer
from mapper.farm.limits import LocalLimits
from mapper.farm.ranged import Array
from mapper.fire.breach import width_for
from mapper.ground.boundary import BoundaryPieces
from mapper.ground.edges import trees_near
from mapper.ground.present import present_breaks
from mapper.ground.rings import wanted_rings

_SIDES = ("North", "North-east", "East", "South-east", "South", "South-west", "West", "North-west")


def wanted_breaks(
    paddock: "pd.Series[Any]",
    edges: gpd.GeoDataFrame,
    assets: gpd.GeoDataFrame,
    breaks_there: gpd.GeoDataFrame,
    limits: LocalLimits,
    crs: Any,
    head_kw_m: float = float("nan"),
) -> gpd.GeoDataFrame:
    """Return layer "breaks" of one paddock: stretches of its edge with one answer, and rings round things.

    edges : layer "edges" of the paddock. head_kw_m : the night's largest head fire intensity, used on pieces that may
    lie downwind now or after the change; flanks take their own intensity on arrival. Wanted is the widest of the local
    limits (edge, beside a crop) and, where the accepted chance of crossing is known, the width of Wilson (1988);
    wanted_by names which. wanted_m is NaN where neither is known.
    """
    rows: list[dict[str, Any]] = []
    if len(edges):
        pieces = _pieces(edges)
        present, made_by = present_breaks(pieces, breaks_there, assets)
        wanted, wanted_by = _wanted(pieces, edges, assets, limits, head_kw_m)
        rows += _stretches(edges, pieces, np.round(present, 1), made_by, wanted, wanted_by)
    rows += wanted_rings(paddock, assets, breaks_there, limits)
    columns = {c: [r[c] for r in rows] for c in rows[0] if c != "geometry"} if rows else {}
    return make_layer("breaks", columns, [r["geometry"] for r in rows], crs)


def _pieces(edges: gpd.GeoDataFrame) -> BoundaryPieces:
    ends = shapely.get_coordinates(edges.geometry.to_numpy()).reshape(-1, 2, 2)
    new_ring = np.r_[True, np.hypot(*(ends[1:, 0] - ends[:-1, 1]).T) > 0.01]
    ring = np.cumsum(new_ring) - 1
    turned = np.bincount(ring, ends[:, 0, 0] * ends[:, 1, 1] - ends[:, 1, 0] * ends[:, 0, 1])
    return BoundaryPieces(ends[:, 0], ends[:, 1], edges["facing_deg"].to_numpy(), ring, turned[ring] < 0)


def _wanted(
    pieces: BoundaryPieces, edges: gpd.GeoDataFrame, assets: gpd.GeoDataFrame, limits: LocalLimits, head_kw_m: float
) -> tuple[Array, "np.ndarray[Any, np.dtype[np.object_]]"]:
    count = len(edges)
    wanted, by = np.full(count, np.nan), np.full(count, "", dtype=object)

    def ask(width: Array, where: Any, reason: str) -> None:
        more = where & (np.isnan(wanted) | (width > wanted))
        wanted[more], by[more] = width[more], reason

    edge, crop, chance = (limits.get(k) for k in ("break_edge", "break_crop", "breach_chance"))
    if edge is not None:
        ask(np.full(count, edge.value), np.ones(count, dtype=bool), f"local limit ({edge.source})")
    crops = assets[assets["kind"] == "crop"]
    if crop is not None and len(crops):
        beside = shapely.dwithin(edges.geometry.to_numpy(), crops.union_all(), crop.value)
        ask(np.full(count, crop.value), beside, f"local limit beside crop ({crop.source})")
    if chance is not None:
        downwind = ((edges["label"] == "downwind") | (edges["label_after"] == "downwind")).to_numpy()
        flank = ((edges["label"] == "flank") | (edges["label_after"] == "flank")).to_numpy()
        arriving = edges["intensity_kw_m"].to_numpy()
        fire = np.where(downwind, np.fmax(head_kw_m, arriving), arriving)
        width = np.ceil(width_for(chance.value, fire, trees_near(pieces, assets)).value)
        ask(width, downwind | flank, f"{chance.value:.2g} chance of crossing (Wilson 1988)")
    return wanted, by


def _stretches(
    edges: gpd.GeoDataFrame,
    pieces: BoundaryPieces,
    present: Array,
    made_by: Any,
    wanted: Array,
    wanted_by: Any,
) -> list[dict[str, Any]]:
    """Join neighbouring pieces with one answer; a ring that begins inside a stretch joins its end."""
    side = _sides(pieces)
    guards = edges["beyond"].str.replace(r", \d+ m", "", regex=True).to_numpy()
    answer = list(zip(pieces.ring, side, present, wanted_by, np.nan_to_num(wanted, nan=-1), strict=True))
    groups: list[list[int]] = []
    for k in range(len(answer)):
        if groups and answer[k] == answer[groups[-1][-1]]:
            groups[-1].append(k)
        else:
            groups.append([k])
    groups = _close_rings(groups, answer)
    lines = edges.geometry.to_numpy()
    rows = []
    for group in groups:
        first = group[0]
        length = float(pieces.lengths_m[group].sum())
        short = max(float(wanted[first] - present[first]), 0.0) if wanted[first] == wanted[first] else float("nan")
        said = pd.Series(guards[group]).mode()
        rows.append(
            {
                "paddock": edges["paddock"].iloc[0],
                "guards": "" if said.iloc[0].startswith("nothing known") else said.iloc[0],
                "side": side[first],
                "present_m": float(present[first]),
                "wanted_m": float(wanted[first]),
                "wanted_by": wanted_by[first] or "not known",
                "short_m": short,
                "length_m": length,
                "todo": todo(float(present[first]), short, length, str(made_by[first])),
                "geometry": shapely.line_merge(shapely.multilinestrings(lines[group])),
            }
        )
    return rows


def _close_rings(groups: list[list[int]], answer: Sequence[tuple[Any, ...]]) -> list[list[int]]:
    """Join the last stretch of a ring to its first where they have one answer."""
    result: list[list[int]] = []
    by_ring: dict[int, list[list[int]]] = {}
    for group in groups:
        by_ring.setdefault(int(answer[group[0]][0]), []).append(group)
    for ring in by_ring.values():
        if len(ring) > 1 and answer[ring[0][0]] == answer[ring[-1][0]]:
            result += [ring[-1] + ring[0], *ring[1:-1]]
        else:
            result += ring
    return result


def _sides(pieces: BoundaryPieces) -> list[str]:
    """Name of the side each piece lies on: by the way it faces; holes are inside edges."""
    compass = np.round(pieces.facing_deg / 45).astype(int) % 8
    return [f"{_SIDES[c]} edge" if not hole else "Inside edge" for c, hole in zip(compass, pieces.inside, strict=True)]


def todo(present_m: float, short_m: float, length_m: float, made_by: str) -> str:
    """Return what is to be done on a stretch, in words; empty where nothing is."""
    along = f"along {max(round(length_m, -1), 10):.0f} m"
    if np.isnan(short_m):
        return "ask how wide it must be: no local limit is known"
    if short_m <= 0:
        return ""
    if present_m <= 0:
        return f"make a break of {short_m:g} m {along}"
    return f"widen by {short_m:.3g} m {along} ({made_by})"
