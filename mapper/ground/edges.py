"""Every stretch of a paddock's boundary marked by how exposed it is to the forecast wind."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.layers import empty_layer, make_layer
from mapper.farm.limits import LocalLimits
from mapper.farm.ranged import Array
from mapper.fire.breach import breach_chance
from mapper.fire.stubble import stubble_state
from mapper.ground.beyond import Beyond, look_beyond, soonest_min
from mapper.ground.boundary import BoundaryPieces, cut_boundary, smooth
from mapper.ground.exposure import HEADINGS_DEG, ByHour, exposure_by_hour, labels, worst
from mapper.ground.fetch import fetch
from mapper.ground.gaps import Gap, find_gaps
from mapper.ground.nightwinds import NightWinds
from mapper.ground.present import BARE_AREAS, Present, present_breaks
from mapper.ground.sides import side_names
from mapper.ground.things import Things
from mapper.hours.verdict import Window

# Used where the paddock or the limits say nothing. 4.5 t/ha: what South Australian tables take for grass.
FUEL_T_HA, CURING_PCT, RESPONSE_MIN = 4.5, 100.0, 30.0
TREES_NEAR_M = 20.0


@dataclass(frozen=True)
class Edge:
    """One paddock's edge as it stands, whatever the wind: its pieces, their sides, what guards them, its gaps, whether
    trees stand near (n,), what lies beyond. area: the paddock without the small bends of its boundary.
    """

    paddock: "pd.Series[Any]"
    area: BaseGeometry
    assets: Things
    pieces: BoundaryPieces
    sides: NDArray[np.object_]
    present: Present
    gaps: tuple[Gap, ...]
    trees: NDArray[np.bool_]
    beyond: Beyond

    @property
    def open_width_m(self) -> Array:
        """Bare width of each piece; 0 where a gap lies on it."""
        width = self.present.width_m.copy()
        for gap in self.gaps:
            width[gap.pieces] = 0.0
        return width


@dataclass(frozen=True)
class EdgeHours:
    """Pieces of edge by the hour. time_utc (h,) the beginning of each hour; edge_id (n,); by_hour and breach (h, n)."""

    time_utc: "pd.DatetimeIndex"
    edge_id: NDArray[np.object_]
    by_hour: ByHour
    breach: Array

    def labels(self, at: datetime) -> "NDArray[np.str_] | None":
        """Return "downwind", "flank" or "upwind" for each piece in the hour that holds a time, None outside them."""
        k = int(self.time_utc.searchsorted(pd.Timestamp(at), side="right")) - 1
        if k < 0 or pd.Timestamp(at) >= self.time_utc[k] + pd.Timedelta(hours=1):
            return None
        return labels(self.by_hour.chance_downwind[k], self.by_hour.chance_flank[k])


def look_at_edge(
    paddock: "pd.Series[Any]", breaks_there: gpd.GeoDataFrame, assets: Things, neighbours: Things, own: Things
) -> Edge:
    """Return a paddock's edge as it stands. own: other paddocks. Raises LayerError for a paddock without area."""
    area = smooth(paddock.geometry)
    pieces = cut_boundary(area)
    present = present_breaks(pieces, breaks_there, assets)
    return Edge(
        paddock,
        area,
        assets,
        pieces,
        side_names(pieces, area, assets),
        present,
        tuple(find_gaps(pieces, present.bands)),
        trees_near(pieces, assets),
        look_beyond(pieces, assets, neighbours, own),
    )


def exposed_edges(
    edge: Edge, winds: NightWinds, limits: LocalLimits, crs: Any, window: Window | None
) -> tuple[gpd.GeoDataFrame, EdgeHours | None]:
    """Return layer "edges" of one paddock in pieces of at most 25 m, and the pieces by the hour.

    label, chances, reach_m, intensity_kw_m and breach are of the window (of the whole night where there is none); those
    with "after" are of the three hours after the first change that comes after the window has begun, empty or NaN where
    none comes. reach_m is the depth from which an escape would get here within the local response time (30 min where
    not known). breach is the chance that a fire which gets here crosses the break that is there, each direction
    weighted by its depth; Wilson (1988) knows head fires only, so flanks lean to the safe side. arrives_min is how soon
    fire would be at what lies beyond, now or after the change (beyond.soonest_min). Fire behaviour is of the
    stubble by its cut height (fire/stubble.py), on flat ground. Without a known hour there are no edges.
    """
    if winds.hours.empty:
        return empty_layer("edges", crs), None
    load, curing = fuel(edge.paddock)
    pieces, width = edge.pieces, edge.open_width_m
    fires = winds.fires(load, curing, stubble_state(float(edge.paddock["cut_height_m"])))
    table = fetch(pieces.mids, burnable(edge.area, edge.assets), HEADINGS_DEG)
    response = limits.value("response_time", RESPONSE_MIN)
    hourly = exposure_by_hour(pieces.facing_deg, table, fires, load, response)
    crossing = breach_chance(hourly.intensity_kw_m, width, edge.trees).value
    breach = np.where(hourly.reach_m > 0, crossing, 0.0)
    now, after = winds.now(window), winds.after(window)
    here = worst(hourly, now)
    chance = np.where(here.reach_m > 0, breach_chance(here.intensity_kw_m, width, edge.trees).value, 0.0)
    count, name = len(width), str(edge.paddock["paddock"])
    columns: dict[str, Any] = {
        "edge_id": [f"{name}-{k + 1}" for k in range(count)],
        "paddock": [name] * count,
        "side": edge.sides,
        "length_m": pieces.lengths_m,
        "facing_deg": pieces.facing_deg,
        "label": labels(here.chance_downwind, here.chance_flank),
        "label_after": [""] * count,
        "chance_downwind": here.chance_downwind,
        "chance_flank": here.chance_flank,
        "reach_m": here.reach_m,
        "intensity_kw_m": here.intensity_kw_m,
        "breach": chance,
        "present_m": width,
        "beyond": edge.beyond.words,
        "arrives_min": soonest_min(edge.beyond.across, [f for f, k in zip(fires, now | after, strict=True) if k]),
    }
    if after.any():
        then = worst(hourly, after)
        crossing = breach_chance(then.intensity_kw_m, width, edge.trees).value
        columns |= {
            "label_after": labels(then.chance_downwind, then.chance_flank),
            "chance_after": then.chance_downwind,
            "reach_after_m": then.reach_m,
            "intensity_after_kw_m": then.intensity_kw_m,
            "breach_after": np.where(then.reach_m > 0, crossing, 0.0),
        }
    layer = make_layer("edges", columns, shapely.linestrings(np.stack([pieces.starts, pieces.ends], axis=1)), crs)
    times = pd.DatetimeIndex(winds.hours["time_utc"])
    return layer, EdgeHours(times, layer["edge_id"].to_numpy(dtype=object), hourly, breach)


def burnable(area: BaseGeometry, assets: Things) -> BaseGeometry:
    """Return the area less the bare ground, green ground and water in it."""
    bare = assets.of(*BARE_AREAS).areas().shape
    bare = bare[shapely.intersects(bare, area)]
    return area.difference(shapely.union_all(bare)) if len(bare) else area


def trees_near(pieces: BoundaryPieces, assets: Things) -> NDArray[np.bool_]:
    """Return True where trees stand within 20 m of the piece."""
    trees = assets.of("tree", "trees").shape
    near = np.zeros(len(pieces.mids), dtype=bool)
    if len(trees):
        lines = shapely.linestrings(np.stack([pieces.starts, pieces.ends], axis=1))
        near[shapely.STRtree(lines).query(trees, predicate="dwithin", distance=TREES_NEAR_M)[1]] = True
    return near


def fuel(paddock: "pd.Series[Any]") -> tuple[float, float]:
    """Return stubble (t/ha) and curing (%), the starting values where the paddock says nothing."""
    load, curing = float(paddock["stubble_t_ha"]), float(paddock["curing_pct"])
    return (load if load > 0 else FUEL_T_HA), (curing if curing >= 0 else CURING_PCT)
