"""What a paddock's breaks lack, in few sentences: like stretches together, gaps and rings by themselves."""

from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.farm.limits import LocalLimits
from mapper.farm.notes import Level, Remark
from mapper.ground.breaks import GAP
from mapper.ground.rings import RING
from mapper.ground.sides import INSIDE, SIDES
from mapper.ground.work import work_words

# Less than this too narrow is how a break was measured. Our choice.
_MEASURED_M = 0.05
# As much of the edge as this is all of it. Our choice.
_ALL, _ALL_EDGES = 0.98, "All edges"


def shortfalls(breaks: gpd.GeoDataFrame, edges: gpd.GeoDataFrame, limits: LocalLimits) -> list[Remark]:
    """Return what one paddock's breaks lack. breaks, edges: its layers.

    No break at all, an edge narrower than the local limit, and a gap on an exposed edge are a stop: with them a plan is
    no go. An edge wide enough for the local limit but not for the accepted chance of crossing wants eyes, as do edges
    of holes and rings, which can still be raked on the evening.
    """
    short = breaks[breaks["short_m"] > _MEASURED_M]
    if short.empty:
        return []
    side = short["side"].astype(str)
    ring, gap = side.str.startswith(RING), side.str.startswith(GAP)
    around = ~breaks["side"].astype(str).str.startswith((RING, GAP, INSIDE))
    remarks = _of_sides(short[~ring & ~gap], float(breaks.loc[around, "length_m"].sum()), limits)
    for k in np.flatnonzero(gap.to_numpy()):
        remarks.append(_of_gap(short.iloc[k], edges))
    groups = ["present_m", "wanted_m", "wanted_by"]
    for (present, wanted, _), group in short[ring].groupby(groups, sort=False):
        names = [str(s).removeprefix(RING) for s in group["side"]]
        rings = f"{'Ring' if len(names) == 1 else 'Rings'} round {listed(names)} {'is' if len(names) == 1 else 'are'}"
        what = f"{rings} {f'{present:.3g} m' if present > 0 else 'not there'}"
        remarks.append(_remark(f"{what}. Your local limit is {wanted:g} m.", "look", group))
    return remarks


def _of_sides(short: gpd.GeoDataFrame, around_m: float, limits: LocalLimits) -> list[Remark]:
    """One sentence for all stretches that lack the same thing. around_m: length of the whole outer edge."""
    inside = short["side"].str.startswith(INSIDE)
    by_limit = short["wanted_by"].str.startswith("local")
    beside = short["wanted_by"].where(by_limit, "")
    remarks = []
    under = ~(short["present_m"] >= short["local_m"] - _MEASURED_M) & short["local_m"].notna()
    there = short["present_m"] > 0
    for (narrow, within, less, _), group in short.groupby([there, inside, under, beside], sort=False):
        metres = round(float(group["length_m"].sum()), -1)
        sides = list(dict.fromkeys(str(s) for s in group["side"]))
        if len(sides) > 1 and not within and group["length_m"].sum() > _ALL * around_m:
            sides = [_ALL_EDGES, _ALL_EDGES]
        if narrow:
            wide = _from_to(group["present_m"])
            what = f"{_named(sides, 'break')} {'is' if len(sides) == 1 else 'are'} {wide} m along {metres:,.0f} m"
        else:
            what = f"{_named(sides, 'edge')}: no break along {max(metres, 10):,.0f} m"
        level: Level = "stop" if not narrow or (less and not within) else "look"
        work = work_words(float(group["area_m2"].sum()), float(group["work_h"].sum(skipna=False)), limits)
        remarks.append(_remark(f"{what}. {_asked(group)} {work}.", level, group))
    return remarks


def _from_to(widths: "pd.Series[float]") -> str:
    low, high = widths.min(), widths.max()
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


def _asked(group: gpd.GeoDataFrame) -> str:
    """Who asks for how much, each named."""
    local, breach, chance = group["local_m"].max(), group["breach_m"].max(), ""
    by_breach = group.loc[~group["wanted_by"].str.startswith("local"), "wanted_by"]
    if np.isfinite(local) and not len(by_breach):
        return f"Your local limit is {local:g} m."
    chance = str(by_breach.iloc[0])
    first = f"Your local limit is {local:g} m; for" if np.isfinite(local) else "For"
    return f"{first} a {chance} it wants {breach:g} m under this night's wind."


def _of_gap(gap: Any, edges: gpd.GeoDataFrame) -> Remark:
    on = edges[edges.distance(gap.geometry) < 0.5] if len(edges) else edges
    marks = set(on["label"]) | set(on["label_after"]) if len(on) else {"downwind"}
    level: Level = "stop" if marks & {"downwind", "flank"} else "look"
    side = f", {str(on['side'].iloc[0]).lower()}" if len(on) and str(on["side"].iloc[0]) else ""
    where = str(gap["side"]).removeprefix(GAP)
    text = f"Gap of {gap['length_m']:.0f} m in the break {where}{side}. Close it, or draw it if it is bare."
    return Remark("breaks", level, text, str(gap["paddock"]), gap.geometry)


def _remark(text: str, level: Level, group: gpd.GeoDataFrame) -> Remark:
    where = shapely.multilinestrings(shapely.get_parts(group.geometry.to_numpy()))
    return Remark("breaks", level, text, str(group["paddock"].iloc[0]), where)


def _named(sides: Sequence[str], noun: str) -> str:
    """ "West break"; "West, south and east breaks"; "Inside break round Dam"."""
    plain = [s for s in sides if not s.startswith(INSIDE)]
    if not plain:
        if len(sides) == 1:
            return sides[0].replace("edge", noun)
        rounds = [s.removeprefix(f"{INSIDE} round ") for s in sides if s != INSIDE]
        return f"Inside {noun}s" + (f" round {listed(rounds)}" if rounds else "")
    if plain[0] == _ALL_EDGES:
        return f"All {noun}s"
    words = sorted((s.removesuffix(" edge") for s in plain), key=SIDES.index)
    words = [words[0], *(w.lower() for w in words[1:])]
    return f"{_and(words)} {noun}{'s' if len(words) > 1 else ''}"


def _and(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def listed(names: Sequence[str]) -> str:
    """Return up to five names; more as the first four and a count."""
    if len(names) <= 5:
        return ", ".join(names)
    return f"{', '.join(names[:4])} and {len(names) - 4} more"
