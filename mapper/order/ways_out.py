"""A way out of every block: a line to safe ground, upwind or across the wind, never over the burnt side."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import geopandas as gpd
import numpy as np
import shapely
import shapely.ops
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from mapper.ground.boundary import unit
from mapper.weather.wind import WindChange

# All of these are our choices. A line may lean this far downwind of square across the wind.
_LEAN_DEG = 15.0
_AT_EDGE_M, _ACROSS_M = 40.0, 60.0
_SMOKE_RUN_M, _CLEAR_M = 500.0, 12.0
# A break this wide is a road for a vehicle and ground to stand on.
SAFE_BREAK_M = 4.0
_SIGMAS_EARLY = 2.0
_BLOCKED_BY = ("water", "trees", "house", "shed", "haystack", "crop", "vineyard")


@dataclass(frozen=True)
class Safe:
    """Safe ground: its name on paper and where it is."""

    name: str
    place: BaseGeometry


@dataclass(frozen=True)
class WayOut:
    """A line to safe ground, until when it holds (None: all night)."""

    line: shapely.LineString
    to: str
    until: datetime | None


def safe_ground(paddock: BaseGeometry, assets: gpd.GeoDataFrame, breaks: gpd.GeoDataFrame) -> tuple[Safe, ...]:
    """Return safe ground that touches a paddock: gates, roads and tracks, bare and green ground, breaks wide enough."""
    edge = paddock.boundary
    found = []
    for asset in assets.itertuples():
        away = asset.geometry.distance(edge)
        if asset.kind == "gate" and away <= _AT_EDGE_M:
            found.append(Safe(f"gate {asset.name}".strip(), asset.geometry))
        elif asset.kind in ("road", "track", "bare", "green") and away <= _ACROSS_M:
            found.append(Safe(str(asset.name or asset.kind), asset.geometry))
    for b in breaks.itertuples():
        if b.present_m >= SAFE_BREAK_M and not str(b.side).startswith(("Ring", "Inside")):
            found.append(Safe(f"{b.present_m:g} m break, {str(b.side).lower()}", b.geometry))
    return tuple(found)


def way_out(
    start: shapely.Point,
    safe: Sequence[Safe],
    live: Sequence[shapely.LineString],
    paddock: BaseGeometry,
    assets: gpd.GeoDataFrame,
    wind_to_deg: float,
    change: WindChange | None,
    done_at: datetime,
) -> WayOut | None:
    """Return the best way out from where the crew ends a block at done_at, or None where there is none.

    live : pieces alight while the block is worked. It must lead upwind or across, stay out of the smoke of live pieces
    (swept 500 m downwind), cross none of them, no water and no trees, and stay in the paddock up to its edge. Ways that
    do so after the wind change too come first; failing those, one that holds until two sigma before the change, which
    `until` says; none where the crew is still there when the change is due. Lines are straight: gates through inner
    fences are not known here.
    """
    early = None if change is None else change.at - timedelta(minutes=_SIGMAS_EARLY * change.sigma_min)
    blocked = assets[assets["kind"].isin(_BLOCKED_BY)]
    walls = shapely.union_all([g for g in blocked.geometry if g.intersects(paddock.buffer(_ACROSS_M))])
    ground = paddock.buffer(2.0)
    best: WayOut | None = None
    after = None if change is None else (change.to_deg + 180) % 360
    for s in safe:
        goal = shapely.ops.nearest_points(start, s.place)[1]
        line = shapely.LineString([start, goal])
        outside = line.difference(ground).length
        if outside > _ACROSS_M or line.intersects(walls) or not _clear(line, live, wind_to_deg):
            continue
        until = None if after is None or _clear(line, live, after) else early
        if until is not None and change is not None and done_at > change.at:
            continue
        if best is None or (until is not None, line.length) < (best.until is not None, best.line.length):
            best = WayOut(line, s.name, until)
    return best


def _clear(line: shapely.LineString, live: Sequence[shapely.LineString], to_deg: float) -> bool:
    """Whether a line leads upwind or across and stays clear of live pieces and their smoke."""
    if line.length <= _CLEAR_M:
        return True
    a, b = np.asarray(line.coords[0]), np.asarray(line.coords[-1])
    if (b - a) @ unit(to_deg) > np.sin(np.radians(_LEAN_DEG)) * line.length:
        return False
    away = line.difference(shapely.Point(a).buffer(_CLEAR_M))
    if any(away.intersects(piece) for piece in live):
        return False
    east, north = _SMOKE_RUN_M * unit(to_deg)
    start = shapely.Point(a)
    # The crew stands at the edge of its own smoke; what counts is that the way leaves it.
    smoke = [shapely.MultiLineString([piece, translate(piece, east, north)]).convex_hull for piece in live]
    return all(away.intersection(s).length <= 0.1 * line.length for s in smoke if not s.covers(start)) and not any(
        s.covers(shapely.Point(b)) for s in smoke
    )
