"""What an order says about itself: what stays unlit and why, how long it takes, where its figures come from."""

from collections.abc import Sequence
from datetime import datetime

import numpy as np
import pandas as pd
import shapely

from mapper.farm.notes import Figure, Remark
from mapper.order.cutground import Night
from mapper.order.paddock import PaddockOrder
from mapper.order.pieces import Piece


def remarks_of(
    burnt: Sequence[PaddockOrder],
    waiting: Sequence[PaddockOrder],
    left: Sequence[tuple[Piece, str]],
    ends: str,
    crews: int,
) -> list[Remark]:
    """Return what to look at: paddocks and rows left, rows that cross. ends: when all must be out, in words."""
    remarks = []
    for order in waiting:
        text = (
            f"Stays unlit tonight: row by row the lighting alone takes "
            f"{hours(order.lighting_s / crews)}; what is left before {ends} is not enough to light it and see it out."
        )
        remarks.append(Remark("order", "look", text, order.paddock))
    for order in burnt:
        if not order.whole:
            lit, rest = len(order.burning), len(order.pieces) - len(order.burning)
            text = f"{lit} pieces are lit, {rest} stay unlit, so that all is out by {ends}."
            remarks.append(Remark("order", "look", text, order.paddock))
        if order.in_strips:
            text = (
                "The rows run close to the wind's direction: they are lit in passes across them, strip by strip from "
                "the downwind end. Every row is alight at once: light only what can be held."
            )
            remarks.append(Remark("order", "look", text, order.paddock))
        if order.dropped:
            text = f"Rows that cross one another: for {order.dropped} pairs either may be lit first."
            remarks.append(Remark("order", "note", text, order.paddock))
    by_ground: dict[tuple[str, str], list[Piece]] = {}
    for piece, reason in left:
        if piece.left_reason:
            by_ground.setdefault((piece.paddock, reason), []).append(piece)
    for (name, reason), pieces in by_ground.items():
        rows, longest = len({p.row_id for p in pieces}), max(p.line.length for p in pieces)
        what = "1 row stays" if rows == 1 else f"{rows} rows stay"
        text = f"{what} unlit for up to {max(longest, 1):.0f} m each: {reason}."
        remarks.append(Remark("order", "note", text, name, shapely.MultiLineString([p.line for p in pieces])))
    return remarks


def figures_of(orders: Sequence[PaddockOrder], night: Night) -> tuple[Figure, ...]:
    """Return how long the order takes, how long lighting along the rows alone would, and how far the crews drive."""
    found = []
    crews = ", ".join(f"{c.crew} {c.light_km_h:g} km/h, {c.dwell_s:g} s a point" for c in night.crews)
    for order in (o for o in orders if o.burning):
        took = max(b.out_s for b in order.burning) - min(b.begin_s for b in order.burning)
        alone = order.lighting_s / len(night.crews)
        how = "in passes across the rows" if order.in_strips else "row by row"
        name = order.paddock
        found += [
            Figure(f"{name}: first light to last out", took / 3600.0, "h", f"this order, {how}", night.row_burn.source),
            Figure(f"{name}: lighting along every row, shared by the crews", alone / 3600.0, "h", "row length", crews),
        ]
        if not order.in_strips:
            found.append(
                Figure(
                    f"{name}: driving between pieces",
                    order.driven_m / 1000.0,
                    "km",
                    "along rows and headlands, end to end",
                )
            )
    return tuple(found)


def clock(at: datetime, night_hours: pd.DataFrame) -> str:
    """Return a time as the farm's clock shows it, where the hours carry local time; else UTC, said so."""
    if "time_local" in night_hours and len(night_hours):
        zone = night_hours["time_local"].dt.tz
        return pd.Timestamp(at).tz_convert(zone).strftime("%H:%M")
    return pd.Timestamp(at).strftime("%H:%M UTC")


def hours(seconds: float) -> str:
    """Return a length of time in words, to ten minutes."""
    minutes = int(np.ceil(seconds / 600.0) * 10)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"
