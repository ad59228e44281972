"""The width of break wanted along each stretch of boundary and round things inside, against what is there."""

import re
from collections import Counter
from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.farm.layers import make_layer
from mapper.farm.limits import LocalLimits
from mapper.farm.ranged import Array
from mapper.fire.breach import width_for
from mapper.ground.edges import Edge
from mapper.ground.gaps import Gap
from mapper.ground.rings import wanted_rings
from mapper.ground.sides import place_words
from mapper.ground.work import work_for

GAP = "Gap "
_METRES = re.compile(r", \d+ m")
# What is no longer than this at a corner is no side of its own. Our choice.
STUB_M = 30.0
# A gap of 40 m lies on no more pieces than this to either side.
_GAP_PIECES = 3


def wanted_breaks(
    edge: Edge,
    edges: gpd.GeoDataFrame,
    breaks_there: gpd.GeoDataFrame,
    limits: LocalLimits,
    crs: Any,
    head_kw_m: float = float("nan"),
) -> gpd.GeoDataFrame:
    """Return layer "breaks" of one paddock: stretches of its edge with one answer, gaps, and rings round things.

    edges : layer "edges" of the paddock, empty where the wind is not known. head_kw_m : the night's largest head fire
    intensity, used on pieces that may lie downwind now or after the change; flanks take their own intensity on arrival.
    Wanted is the wider of local_m (the widest local limit: edge, beside a crop) and breach_m (where the accepted chance
    of crossing is known, the width of Wilson 1988); wanted_by names which. wanted_m is NaN where neither is known. Of a
    stretch the narrowest present and the widest wanted count.
    """
    asked = _Asked(edge, edges, limits, head_kw_m)
    width = _without_gaps(edge.present.width_m, edge.gaps, edge.pieces.ring)
    rows = _stretches(edge, width, asked, limits)
    rows += [_gap(edge, gap, asked, limits) for gap in edge.gaps]
    rows += wanted_rings(edge.paddock, edge.assets, breaks_there, limits)
    columns = {c: [r[c] for r in rows] for c in rows[0] if c != "geometry"} if rows else {}
    return make_layer("breaks", columns, [r["geometry"] for r in rows], crs)


class _Asked:
    """What is asked of each piece: local_m and breach_m (n,), NaN where not known; the wider of them, and by whom."""

    def __init__(self, edge: Edge, edges: gpd.GeoDataFrame, limits: LocalLimits, head_kw_m: float) -> None:
        count = len(edge.pieces.mids)
        self.local_m, self.breach_m = np.full(count, np.nan), np.full(count, np.nan)
        self.local_by = np.full(count, "", dtype=object)
        self.breach_by = ""
        side, crop, chance = (limits.get(k) for k in ("break_edge", "break_crop", "breach_chance"))
        if side is not None:
            self.local_m[:], self.local_by[:] = side.value, f"local limit ({side.source})"
        crops = edge.assets.of("crop").shape
        if crop is not None and len(crops):
            lines = shapely.linestrings(np.stack([edge.pieces.starts, edge.pieces.ends], axis=1))
            beside = shapely.dwithin(lines, shapely.union_all(crops), crop.value)
            beside &= ~(self.local_m >= crop.value)
            self.local_m[beside], self.local_by[beside] = crop.value, f"local limit beside crop ({crop.source})"
        if chance is not None and len(edges):
            self._by_breach(edge, edges, chance.value, head_kw_m)
        self.wanted_m = np.fmax(self.local_m, self.breach_m)
        self.by_limit = self.local_m >= np.nan_to_num(self.breach_m)

    def _by_breach(self, edge: Edge, edges: gpd.GeoDataFrame, chance: float, head_kw_m: float) -> None:
        downwind, flank = (
            ((edges["label"] == name) | (edges["label_after"] == name)).to_numpy() for name in ("downwind", "flank")
        )
        arriving = np.fmax(edges["intensity_kw_m"].to_numpy(), edges["intensity_after_kw_m"].to_numpy())
        fire = np.where(downwind, np.fmax(head_kw_m, arriving), arriving)
        width = np.ceil(width_for(chance, fire, edge.trees).value)
        self.breach_m[:] = np.where(downwind | flank, width, np.nan)
        self.breach_by = f"{100 * chance:.3g} in 100 chance of crossing (Wilson 1988)"

    def by(self, k: int) -> str:
        """Return who asks for the wanted width of a piece."""
        if np.isnan(self.wanted_m[k]):
            return "not known"
        return str(self.local_by[k]) if self.by_limit[k] else self.breach_by


def _without_gaps(width: Array, gaps: Sequence[Gap], ring: NDArray[np.int64]) -> Array:
    """Widths of the break where a gap is told by itself: the narrower of those beside it."""
    filled = width.copy()
    for gap in gaps:
        for k in gap.pieces[width[gap.pieces] == 0]:
            near = np.flatnonzero((np.abs(np.arange(len(width)) - k) <= _GAP_PIECES) & (ring == ring[k]) & (width > 0))
            filled[k] = width[near].min(initial=np.inf) if len(near) else 0.0
    return filled


def _stretches(edge: Edge, width: Array, asked: _Asked, limits: LocalLimits) -> list[dict[str, Any]]:
    """Join neighbouring pieces with one answer; a ring that begins inside a stretch joins its end."""
    present = np.round(width, 1)
    short = present < asked.wanted_m - 0.05
    # Wide enough is wide enough, however wide; a little more or less of the equation's width is one answer.
    state = np.where(np.isnan(asked.wanted_m), -2.0, np.where(short, present, -1.0))
    ring, by = edge.pieces.ring, [asked.by(k) for k in range(len(width))]
    sides = _without_stubs(edge.sides, list(zip(ring, state, by, strict=True)), edge.pieces.lengths_m)
    answer = list(zip(ring, sides, state, by, strict=True))
    groups = _close_rings(_runs(answer), answer)
    return [_row(edge, group, str(sides[group[0]]), present, asked, limits) for group in groups]


def _runs(answer: Sequence[Any]) -> list[list[int]]:
    """Indices of neighbours with one answer."""
    groups: list[list[int]] = []
    for k in range(len(answer)):
        if groups and answer[k] == answer[groups[-1][-1]]:
            groups[-1].append(k)
        else:
            groups.append([k])
    return groups


def _without_stubs(sides: NDArray[np.object_], same: list[Any], lengths_m: Array) -> NDArray[np.object_]:
    """Sides in which what is left of one round a corner goes by its neighbour's name, where they lack the same."""
    named = sides.copy()
    runs = _runs(list(zip(same, sides, strict=True)))
    for n, run in enumerate(runs):
        if lengths_m[run].sum() > STUB_M:
            continue
        for beside in (runs[n - 1], runs[(n + 1) % len(runs)]):
            if same[beside[0]] == same[run[0]] and lengths_m[beside].sum() > STUB_M:
                named[run] = sides[beside[0]]
                break
    return named


def _row(edge: Edge, group: list[int], side: str, present: Array, asked: _Asked, limits: LocalLimits) -> dict[str, Any]:
    pieces, widest = edge.pieces, group[int(np.nan_to_num(asked.wanted_m[group]).argmax())]
    narrow = group[int(present[group].argmin())]
    length = float(pieces.lengths_m[group].sum())
    wanted, there = float(asked.wanted_m[widest]), float(present[narrow])
    short = max(wanted - there, 0.0)  # NaN where it is not known how wide it must be
    short = float("nan") if np.isnan(wanted) else short
    work = work_for(short, length, limits)
    guards = Counter(_METRES.sub("", w) for w in edge.beyond.words[group]).most_common(1)[0][0]
    line = shapely.line_merge(
        shapely.multilinestrings(shapely.linestrings(np.stack([pieces.starts[group], pieces.ends[group]], axis=1)))
    )
    return {
        "paddock": str(edge.paddock["paddock"]),
        "guards": "" if guards.startswith("nothing known") else guards,
        "side": side,
        "present_m": there,
        "wanted_m": wanted,
        "wanted_by": asked.by(widest),
        "local_m": float(asked.local_m[widest]),
        "breach_m": float(np.fmax.reduce(asked.breach_m[group])),
        "short_m": short,
        "length_m": length,
        "area_m2": work.area_m2,
        "passes": work.passes,
        "work_h": work.hours,
        "todo": todo(there, short, length, str(edge.present.made_by[narrow])),
        "geometry": line,
    }  # fmt: skip


def _gap(edge: Edge, gap: Gap, asked: _Asked, limits: LocalLimits) -> dict[str, Any]:
    """The row of one gap: no break there, as wide a one wanted as beside it."""
    at = shapely.get_coordinates(gap.line.interpolate(0.5, normalized=True))[0]
    widest = gap.pieces[int(np.nan_to_num(asked.wanted_m[gap.pieces]).argmax())]
    wanted, length = float(asked.wanted_m[widest]), float(gap.line.length)
    work = work_for(wanted, length, limits)
    return {
        "paddock": str(edge.paddock["paddock"]),
        "guards": "",
        "side": f"{GAP}{place_words(at, edge.area, edge.assets.of('gate'))}",
        "present_m": 0.0,
        "wanted_m": wanted,
        "wanted_by": asked.by(int(widest)),
        "local_m": float(asked.local_m[widest]),
        "breach_m": float(asked.breach_m[widest]),
        "short_m": wanted,
        "length_m": length,
        "area_m2": work.area_m2,
        "passes": work.passes,
        "work_h": work.hours,
        "todo": f"close the gap of {length:.0f} m, or draw it if it is bare",
        "geometry": gap.line,
    }


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
