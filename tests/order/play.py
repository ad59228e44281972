"""Plays an order minute by minute, by itself: fronts along rows, crews, wind. Shares no code with the solver.

What it asserts is the trade's own rules (common practice, no source): nothing is lit while a row right downwind of it
is not; edge rows are out before the inside is lit; no crew lights with a live row right upwind of it; crews do not fly;
all is out in time.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
import shapely

RUN_M = 500.0
# A lighting point may stand this near another row that it meets: rows that touch or cross.
TOUCH_M = 2.0
# A point at the very end of a row is looked at from this far inside: two sides of a lap meet end to end at its corners.
END_M = 0.5


@dataclass
class Row:
    """A piece as it burns: lighting points at metres along it, seconds."""

    line: shapely.LineString
    at_m: np.ndarray
    lit_s: np.ndarray
    spread_m_s: float
    burnout_s: float
    paddock: str

    def reached_s(self, places_m):
        """When fire reaches places along the row."""
        away = np.abs(np.asarray(places_m, dtype=float)[:, None] - self.at_m[None, :])
        return (self.lit_s[None, :] + away / self.spread_m_s).min(axis=1)

    def out_s(self):
        """When all of it is out."""
        return float(self.reached_s(np.linspace(0, self.line.length, 60)).max() + self.burnout_s)

    def live_at(self, place, t):
        """Whether the row burns at a place beside it at t."""
        reached = self.reached_s([self.line.project(shapely.Point(place))])[0]
        return reached <= t < reached + self.burnout_s


def heading(to_deg):
    """Unit vector of a direction, degrees clockwise from north."""
    return np.array([np.sin(np.radians(to_deg)), np.cos(np.radians(to_deg))])


def first_met(rows, names, start, to_deg, own):
    """The piece met first along a ray, and where."""
    ray = shapely.LineString([start + TOUCH_M * heading(to_deg), start + RUN_M * heading(to_deg)])
    best, found, where = np.inf, None, None
    for name in names:
        if name == own:
            continue
        cut = shapely.get_coordinates(shapely.intersection(ray, rows[name].line))
        for xy in cut:
            far = float(np.hypot(*(xy - start)))
            if far < best:
                best, found, where = far, name, xy
    return found, where


def play(order, crews, row_burn, to_deg_at, begins, most_alight=None):
    """Assert the rules for an order of burn_order; to_deg_at(seconds): the wind. Returns how many points it lit."""
    pieces = order.pieces[order.pieces["order_no"] > 0].set_index("piece_id")
    points = order.lighting_points.copy()
    points["s"] = (points["lit_at"] - pd.Timestamp(begins)).dt.total_seconds()
    speed = {c.crew: max(c.light_km_h, c.travel_km_h) / 3.6 for c in crews}
    rows, light = {}, []
    for name, mine in points.groupby("piece_id", sort=False):
        line = pieces.loc[name].geometry
        along = np.array([line.project(p) for p in mine.geometry])
        rows[name] = Row(
            line,
            along,
            mine["s"].to_numpy(),
            row_burn.spread_m_min / 60,
            row_burn.burnout_min * 60,
            pieces.loc[name].paddock,
        )
        light += [
            (s, name, np.array(p.coords[0]), c) for s, p, c in zip(mine["s"], mine.geometry, mine["crew"], strict=True)
        ]
    light.sort(key=lambda x: x[0])
    begin = {n: float(r.lit_s.min()) for n, r in rows.items()}
    out = {n: r.out_s() for n, r in rows.items()}
    for name, row in pieces.iterrows():
        assert out[name] <= (row["out_at"] - pd.Timestamp(begins)).total_seconds() + 1.0
    last = {}
    for s, name, xy, crew in light:
        names = [n for n in rows if rows[n].paddock == rows[name].paddock]
        # What lies right downwind is lit already: the piece has begun, and where the ray meets it fire comes no later.
        line = rows[name].line
        inside = line.interpolate(np.clip(line.project(shapely.Point(xy)), END_M, line.length - END_M))
        near = np.array(inside.coords[0])
        met, where = first_met(rows, names, near, to_deg_at(s), name)
        if met is not None:
            assert begin[met] <= s + 1e-6, f"{name} lit before {met} downwind of it"
        # Nobody lights in the lee of a live row.
        above, where = first_met(rows, names, near, to_deg_at(s) + 180.0, name)
        if above is not None:
            assert not rows[above].live_at(where, s), f"{name} lit in the lee of {above}"
        if crew in last:
            then, there = last[crew]
            assert np.hypot(*(xy - there)) <= speed[crew] * (s - then) + 1.0, f"{crew} flies to {name}"
        last[crew] = (s, xy)
    if most_alight is not None:
        for s in begin.values():
            assert sum(begin[n] <= s < out[n] for n in rows) <= most_alight
    return len(light)


def edges_out_first(order, begins):
    """Assert for a paddock of one field that its edge rows are out before anything else is lit."""
    notes = order.blocks.set_index("block")["note"].str.startswith("edge rows")
    lit = order.pieces[order.pieces["order_no"] > 0]
    edge = lit["block"].map(notes).astype(bool)
    if edge.any() and (~edge).any():
        assert lit.loc[edge, "out_at"].max() <= lit.loc[~edge, "lit_at"].min()
