"""Stop now: if lighting stops at a minute of the night, what is alight, what is left, and how long to patrol."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.plan.burnplan import BurnPlan


@dataclass(frozen=True)
class StopNow:
    """A plan stopped at a moment (UTC). Lines are those of the plan's layer "pieces", with its columns.

    alight: pieces that still burn, whole, out_at as it will be (a piece begun burns to its far end from its last point
    lit, if nobody puts it out). left: pieces in the order that are not lit. burnt_m, alight_m, left_m: metres of row.
    out_at: when the last of them is out; None where nothing burns. patrol_until: out_at and the local limit
    "patrol_min"; None where that is not known.
    """

    at: datetime
    alight: gpd.GeoDataFrame
    left: gpd.GeoDataFrame
    burnt_m: float
    alight_m: float
    left_m: float
    out_at: datetime | None
    patrol_until: datetime | None


def stop_now(plan: BurnPlan, at: datetime) -> StopNow:
    """Return what a stop at `at` leaves. Points lit at that very moment count as lit; no clock, nothing is changed."""
    pieces = plan.pieces[plan.pieces["order_no"] > 0].sort_values("order_no")
    moment = pd.Timestamp(at)
    begun = pieces["lit_at"] <= moment
    outs = [_out_at(plan, piece, moment) for piece in pieces[begun].itertuples()]
    lit = pieces[begun].assign(out_at=pd.Series(outs, index=pieces.index[begun], dtype="datetime64[ns, UTC]"))
    alight, left = lit[lit["out_at"] > moment], pieces[~begun]
    # What burns out on its own after a stop, and what was out before.
    last = (alight if len(alight) else lit)["out_at"].max() if len(lit) else None
    patrol = plan.farm.limits.get("patrol_min")
    out_at = None if last is None else last.floor("s").to_pydatetime()
    until = out_at + timedelta(minutes=patrol.value) if out_at is not None and patrol is not None else None
    return StopNow(
        at,
        alight,
        left,
        float(lit["length_m"].sum() - alight["length_m"].sum()),
        float(alight["length_m"].sum()),
        float(left["length_m"].sum()),
        out_at if len(alight) else None,
        until,
    )


def _out_at(plan: BurnPlan, piece: Any, moment: pd.Timestamp) -> pd.Timestamp:
    """When a piece is out if no point of it is lit after a moment."""
    points = plan.lighting_points[plan.lighting_points["piece_id"] == piece.piece_id]
    done = points[points["lit_at"] <= moment]
    if len(done) == len(points):
        return pd.Timestamp(piece.out_at)
    along = shapely.line_locate_point(piece.geometry, done.geometry.to_numpy())
    burn = plan.farm.row_burn
    # The fire runs from the points lit to both ends; what it reaches last burns for the time a point burns.
    run_m = max(float(np.min(along)), piece.geometry.length - float(np.max(along)))
    last = pd.Timestamp(done["lit_at"].max())
    return last + pd.Timedelta(minutes=run_m / burn.spread_m_min + burn.burnout_min)
