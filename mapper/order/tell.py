"""What an order says about itself: what stays unlit and why, how long it takes, where its figures come from."""

from collections.abc import Sequence
from datetime import datetime

import numpy as np
import pandas as pd
import shapely

from mapper.farm.notes import Figure, Remark
from mapper.order.night import Night, PaddockOrder
from mapper.order.pieces import Piece


def remarks_of(
    orders: Sequence[PaddockOrder],
    left: Sequence[tuple[Piece, str]],
    ends: str,
) -> list[Remark]:
    """Return what to look at: paddocks and rows left, rows that cross. ends: when all must be out, in words."""
    remarks = []
    for order in orders:
        if order.schedule is None:
            text = (
                f"{order.paddock} stays unlit tonight: the lighting alone takes {hours(order.needs_s)}, "
                f"and what is left before {ends} is not enough to light it and see it out."
            )
            remarks.append(Remark("order", "look", text, order.paddock))
        elif len(order.schedule.pieces) < len(order.pieces):
            lit, rest = len(order.schedule.pieces), len(order.pieces) - len(order.schedule.pieces)
            text = f"{order.paddock}: {lit} pieces are lit, {rest} stay unlit, so that all is out by {ends}."
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
    """Return how long the lighting takes, what bounds it, and how far the crews drive."""
    found = []
    burn = night.row_burn
    for order in orders:
        s = order.schedule
        if s is None or len(s.pieces) == 0:
            continue
        lighting = float((s.end_s - s.begin_s).sum()) / 3600.0
        took = (float(s.out_s.max()) - float(s.begin_s.min())) / 3600.0
        crews = ", ".join(f"{c.crew} {c.light_km_h:g} km/h, {c.dwell_s:g} s a point" for c in night.crews)
        found += [
            Figure(f"{order.paddock}: first light to last out", took, "h", "this order", burn.source),
            Figure(
                f"{order.paddock}: lighting alone, all crews together", lighting, "h", "row length, crew speed", crews
            ),
            Figure(f"{order.paddock}: driving between pieces", s.driven_m / 1000.0, "km", "straight, end to end"),
        ]
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
