"""One call a paddock: its exposed edges, its breaks, and what to look at."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.farm.assets import ASSET_KINDS
from mapper.farm.layers import empty_layer
from mapper.farm.limits import LocalLimits
from mapper.farm.notes import Figure, Remark
from mapper.fire.breach import breach_chance
from mapper.ground.beyond import FAR_M
from mapper.ground.breaks import wanted_breaks
from mapper.ground.edges import FUEL_T_HA, RESPONSE_MIN, Edge, EdgeHours, exposed_edges, fuel, look_at_edge
from mapper.ground.exposure import LABEL_CHANCE
from mapper.ground.nightwinds import NightWinds, night_winds
from mapper.ground.shortfalls import shortfalls
from mapper.ground.things import Things, things
from mapper.ground.worst import worst_places
from mapper.hours.verdict import Window
from mapper.weather.wind import WindChange

# Things this close to a paddock whose ring nobody has set are named; for care distances FAR_M.
_RING_M = 60.0


@dataclass(frozen=True)
class Guard:
    """What guards paddocks: layers "edges" and "breaks", what to look at, figures with their source, and the edges by
    the hour (one a paddock; none where no hour is known)."""

    edges: gpd.GeoDataFrame
    breaks: gpd.GeoDataFrame
    remarks: tuple[Remark, ...]
    figures: tuple[Figure, ...]
    hours: tuple[EdgeHours, ...] = ()


def guard_paddock(
    paddock: "pd.Series[Any]",
    night_hours: pd.DataFrame,
    changes: Sequence[WindChange],
    windows: Sequence[Window],
    breaks_there: gpd.GeoDataFrame,
    assets: gpd.GeoDataFrame,
    neighbours: gpd.GeoDataFrame,
    limits: LocalLimits,
    crs: Any,
    paddocks: gpd.GeoDataFrame | None = None,
    winds: NightWinds | None = None,
    issued_at: datetime | None = None,
) -> Guard:
    """Return what guards one paddock. windows: the night's, in time order; where there is none the whole night counts.

    paddocks: all of the farm, to say what lies beyond. winds: night_winds of the night, so that many paddocks share
    it. Without a forecast the edges stay empty, and breaks are held against the local limits alone. Raises LayerError
    for a paddock without area.
    """
    winds = night_winds(night_hours, changes, issued_at) if winds is None else winds
    window = _whole(windows)
    around = things(assets, paddock.geometry, FAR_M)
    land = things(neighbours, paddock.geometry, _RING_M)
    edge = look_at_edge(paddock, breaks_there, around, land, _own(paddock, paddocks, crs))
    edges, hours = exposed_edges(edge, winds, limits, crs, window)
    head = float("nan")
    if hours is not None:
        head = float(hours.by_hour.head_kw_m[winds.now(window) | winds.after(window)].max())
    breaks = wanted_breaks(edge, edges, breaks_there, limits, crs, head)
    response = limits.value("response_time", RESPONSE_MIN)
    remarks = (
        *shortfalls(breaks, edges, limits),
        *worst_places(edge, edges, limits.value("breach_chance"), response),
        *_without_width(paddock, breaks_there),
        *_not_known(paddock, around, limits),
    )
    figures = _figures(edge, edges, breaks, head, response, limits)
    return Guard(edges, breaks, remarks, figures, () if hours is None else (hours,))


def _own(paddock: "pd.Series[Any]", paddocks: gpd.GeoDataFrame | None, crs: Any) -> Things:
    """The farm's other paddocks near this one."""
    layer = empty_layer("paddocks", crs) if paddocks is None else paddocks
    return things(layer[layer["paddock"] != paddock["paddock"]], paddock.geometry, _RING_M, "paddock")


def _whole(windows: Sequence[Window]) -> Window | None:
    """From the first window's start to the last one's end."""
    if not windows:
        return None
    return Window(windows[0].starts_at, max(w.ends_at for w in windows), windows[0].verdict)


def _without_width(paddock: "pd.Series[Any]", breaks_there: gpd.GeoDataFrame) -> list[Remark]:
    """Say of breaks that nobody gave a width that they count for nothing."""
    near = breaks_there[~(breaks_there["width_m"] > 0)]
    near = near[near.distance(paddock.geometry) <= _RING_M] if len(near) else near
    if near.empty:
        return []
    what = "A break has no width" if len(near) == 1 else f"{len(near)} breaks have no width"
    text = f"{what} and count{'s' if len(near) == 1 else ''} for nothing: measure, and type it in."
    return [Remark("breaks", "look", text, str(paddock["paddock"]), near.union_all())]


def _not_known(paddock: "pd.Series[Any]", around: Things, limits: LocalLimits) -> list[Remark]:
    name, remarks = str(paddock["paddock"]), []
    if limits.get("break_edge") is None:
        text = "Width of the break along the edge is not known. Ask who issues the permit, and type the limit in."
        remarks.append(Remark("breaks", "look", text, name, paddock.geometry.boundary))
    away = shapely.distance(around.shape, paddock.geometry) if len(around) else np.zeros(0)
    for key, reach, what in (("break_limit", _RING_M, "Bare ring"), ("care_limit", FAR_M, "Care distance")):
        near = away <= reach
        asked = {k: getattr(ASSET_KINDS[k], key) for k in dict.fromkeys(around.kind[near]) if k in ASSET_KINDS}
        unknown = [k for k, limit in asked.items() if limit and limits.get(limit) is None]
        if unknown:
            words = ", ".join(ASSET_KINDS[k].label.lower() for k in unknown)
            where = shapely.union_all(around.shape[near & np.isin(around.kind.astype(str), unknown)])
            remarks.append(Remark("breaks", "look", f"{what} is not known for: {words}.", name, where))
    return remarks


def _figures(
    edge: Edge,
    edges: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    head_kw_m: float,
    response: float,
    limits: LocalLimits,
) -> tuple[Figure, ...]:
    name = str(edge.paddock["paddock"])
    short = breaks[(breaks["short_m"] > 0) & breaks["work_h"].notna()]
    found: tuple[Figure, ...] = ()
    if len(short):
        blade = f"blade {limits.value('blade_width'):g} m at {limits.value('grade_speed'):g} km/h, turning left out"
        found = (
            Figure(f"{name}: breaks to make good", float(short["work_h"].sum()), "h", "passes of the blade", blade),
        )
    if edges.empty:
        return found
    load, _ = fuel(edge.paddock)
    typed = "" if edge.paddock["stubble_t_ha"] > 0 else f" (not typed in, {FUEL_T_HA:g} taken)"
    worst = edges.loc[edges["reach_m"].idxmax()]
    downwind = float(edges.loc[edges["label"] == "downwind", "length_m"].sum())
    spread = "Cheney, Gould & Catchpole (1998), stubble by cut height after Cruz et al. (2020), flat"
    return (
        Figure(f"{name}: head fire intensity, largest", head_kw_m, "kW/m", spread, f"stubble {load:g} t/ha{typed}"),
        Figure(
            f"{name}: edge that may lie downwind", downwind, "m",
            f"chance of wind within 60 degrees at least {LABEL_CHANCE:g} (our choice)",
            "forecast direction and its spread",
        ),
        Figure(
            f"{name}: deepest reach of an escape to an edge", float(worst["reach_m"]), "m",
            "run within the response time, ellipse after Alexander (1985)", f"response {response:g} min",
        ),
        Figure(
            f"{name}: ground behind that place, for 100 m of edge", float(worst["reach_m"]) / 100.0, "ha",
            "depth of reach times 100 m", str(worst["side"]),
        ),
        _worst_crossing(name, edges, edge),
        *found,
    )  # fmt: skip


def _worst_crossing(name: str, edges: gpd.GeoDataFrame, edge: Edge) -> Figure:
    """The chance of crossing where most is likely to get out, and whether the equation was used past its range."""
    k = int((edges["reach_m"] * edges["breach"]).to_numpy().argmax())
    fire, width = float(edges["intensity_kw_m"].iloc[k]), float(edges["present_m"].iloc[k])
    crossing = breach_chance(fire, width, bool(edge.trees[k]))
    trees = ", trees within 20 m" if edge.trees[k] else ""
    return Figure(
        f"{name}: chance that fire crosses the break at the worst place",
        float(edges["breach"].iloc[k]),
        "",
        "Wilson (1988), head fires, breaks of 1.5-15 m; no break is certain crossing",
        f"{fire:,.0f} kW/m on arrival, break {width:.3g} m, {edges['side'].iloc[k]}{trees}",
        bool(crossing.outside),
    )
