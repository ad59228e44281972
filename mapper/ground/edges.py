"""Every stretch of a paddock's boundary marked by how exposed it is to the forecast wind."""

from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from mapper.farm.layers import empty_layer, make_layer
from mapper.farm.limits import LocalLimits
from mapper.fire.behaviour import behaviour
from mapper.fire.breach import breach_chance
from mapper.ground.beyond import beyond_words
from mapper.ground.boundary import BoundaryPieces, cut_boundary, smooth
from mapper.ground.exposure import HEADINGS_DEG, Exposure, Hour, exposure, labels
from mapper.ground.fetch import fetch
from mapper.ground.present import BARE_AREAS, present_breaks
from mapper.hours.verdict import Window
from mapper.weather.wind import WindChange, direction_spread

# Used where the paddock or the limits say nothing. 4.5 t/ha: what South Australian tables take for grass.
FUEL_T_HA, CURING_PCT, RESPONSE_MIN = 4.5, 100.0, 30.0
# A change is looked at over these hours once it is sure to have come.
_AFTER = pd.Timedelta(hours=3)
TREES_NEAR_M = 20.0


def exposed_edges(
    paddock: "pd.Series[Any]",
    night_hours: pd.DataFrame,
    changes: Sequence[WindChange],
    breaks_there: gpd.GeoDataFrame,
    assets: gpd.GeoDataFrame,
    limits: LocalLimits,
    crs: Any,
    window: Window | None,
    neighbours: gpd.GeoDataFrame | None = None,
) -> gpd.GeoDataFrame:
    """Return layer "edges" of one paddock, in pieces of at most 25 m.

    label and chance_downwind are of the window (of the whole night where there is none); label_after is for the three
    hours after the first change that comes after the window has begun, empty where none comes. reach_m is the depth
    from which an escape would get here within the local response time (30 min where not known). breach is the chance
    that a fire which gets here crosses the break that is there, each direction weighted by its depth; Wilson (1988)
    knows head fires only, so flanks lean to the safe side. Fire behaviour is of stubble like grazed grass on flat
    ground. Raises LayerError for a paddock without area.
    """
    area = smooth(paddock.geometry)
    pieces = cut_boundary(area)
    if night_hours.empty:
        return empty_layer("edges", crs)
    width, _ = present_breaks(pieces, breaks_there, assets)
    table = fetch(pieces.mids, burnable(area, assets), HEADINGS_DEG)
    now = _found(pieces, table, paddock, _hours_now(night_hours, window), night_hours, changes, limits)
    chance = breach_chance(now.intensity_kw_m, width, trees_near(pieces, assets)).value
    after = _after(pieces, table, paddock, night_hours, changes, limits, window)
    name = str(paddock["paddock"])
    near = empty_layer("neighbours", crs) if neighbours is None else neighbours
    return make_layer(
        "edges",
        {
            "edge_id": [f"{name}-{k + 1}" for k in range(len(width))],
            "paddock": [name] * len(width),
            "length_m": pieces.lengths_m,
            "facing_deg": pieces.facing_deg,
            "label": labels(now),
            "label_after": [""] * len(width) if after is None else labels(after),
            "chance_downwind": now.chance_downwind,
            "reach_m": now.reach_m,
            "intensity_kw_m": now.intensity_kw_m,
            "breach": np.where(now.reach_m > 0, chance, 0.0),
            "beyond": beyond_words(pieces, assets, near),
        },
        shapely.linestrings(np.stack([pieces.starts, pieces.ends], axis=1)),
        crs,
    )


def burnable(area: BaseGeometry, assets: gpd.GeoDataFrame) -> BaseGeometry:
    """Return the area less the bare ground, green ground and water in it."""
    bare = assets[assets["kind"].isin(BARE_AREAS) & assets.geom_type.isin(["Polygon", "MultiPolygon"])]
    bare = bare[bare.intersects(area)]
    return area.difference(bare.union_all()) if len(bare) else area


def trees_near(pieces: BoundaryPieces, assets: gpd.GeoDataFrame) -> "np.ndarray[Any, np.dtype[np.bool_]]":
    """Return True where trees stand within 20 m of the piece."""
    trees = assets[assets["kind"].isin(["tree", "trees"])]
    if trees.empty:
        return np.zeros(len(pieces.mids), dtype=bool)
    lines = shapely.linestrings(np.stack([pieces.starts, pieces.ends], axis=1))
    return np.asarray(shapely.dwithin(lines, trees.union_all(), TREES_NEAR_M))


def fuel(paddock: "pd.Series[Any]") -> tuple[float, float]:
    """Return stubble (t/ha) and curing (%), the starting values where the paddock says nothing."""
    load, curing = float(paddock["stubble_t_ha"]), float(paddock["curing_pct"])
    return (load if load > 0 else FUEL_T_HA), (curing if curing >= 0 else CURING_PCT)


def head_intensity(paddock: "pd.Series[Any]", hours: pd.DataFrame) -> float:
    """Return the largest head fire intensity of some hours (kW/m), NaN where there are none."""
    if hours.empty:
        return float("nan")
    load, curing = fuel(paddock)
    fire = behaviour(hours["wind_km_h"], hours["temp_c"], hours["rh_pct"], curing, load)
    return float(np.fmax.reduce(fire.intensity_kw_m))


def _hours_now(night: pd.DataFrame, window: Window | None) -> pd.DataFrame:
    if window is None:
        return night
    hour = pd.Timedelta(hours=1)
    inside = night[(night["time_utc"] > window.starts_at - hour) & (night["time_utc"] < window.ends_at + hour)]
    return inside if len(inside) else night


def first_change(changes: Sequence[WindChange], window: Window | None) -> WindChange | None:
    """Return the first change that comes after the window has begun."""
    later = [c for c in changes if window is None or c.at > window.starts_at]
    return min(later, key=lambda c: c.at) if later else None


def _after(
    pieces: BoundaryPieces,
    table: Any,
    paddock: "pd.Series[Any]",
    night: pd.DataFrame,
    changes: Sequence[WindChange],
    limits: LocalLimits,
    window: Window | None,
) -> Exposure | None:
    change = first_change(changes, window)
    if change is None:
        return None
    comes = pd.Timestamp(change.at) + pd.Timedelta(minutes=change.sigma_min)
    hours = night[(night["time_utc"] >= comes) & (night["time_utc"] <= comes + _AFTER)]
    return _found(pieces, table, paddock, hours, night, changes, limits) if len(hours) else None


def _found(
    pieces: BoundaryPieces,
    table: Any,
    paddock: "pd.Series[Any]",
    hours: pd.DataFrame,
    night: pd.DataFrame,
    changes: Sequence[WindChange],
    limits: LocalLimits,
) -> Exposure:
    load, curing = fuel(paddock)
    known = hours.dropna(subset=["wind_km_h", "temp_c", "rh_pct"])
    fire = behaviour(known["wind_km_h"], known["temp_c"], known["rh_pct"], curing, load)
    wind = night[["time_utc", "wind_km_h", "wind_from_deg"]]
    winds = [
        Hour(direction_spread(wind, at.to_pydatetime(), changes), float(speed), float(rate), float(lb))
        for at, speed, rate, lb in zip(known["time_utc"], known["wind_km_h"], fire.head_m_s, fire.lb, strict=True)
    ]
    return exposure(pieces.facing_deg, table, winds, load, limits.value("response_time", RESPONSE_MIN))
