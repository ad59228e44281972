"""Invented paddocks with straight rows, for tests of the order."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import shapely
from shapely.affinity import rotate, translate

from mapper.farm.farm import Crew, RowBurn
from mapper.farm.layers import empty_layer, make_layer, stack_layers
from mapper.ground.buffers import care_buffers
from mapper.ground.guard import guard_paddock
from mapper.hours.verdict import Window
from mapper.order.burn import burn_order
from tests.farms import EAST, GRID, NORTH, evening_forecast, limits

ONE_CREW = (Crew("Crew 1"),)
START = datetime(2026, 4, 18, 8, tzinfo=UTC)


def window(hours=8.0):
    return Window(START, START + timedelta(hours=hours), "go")


def straight_rows(count=20, length=400.0, pitch=12.0, laps=0, name="P"):
    """A rectangle with rows running north, and headland laps round it as closed lines; lines at the farm's origin."""
    width, height = count * pitch + 2 * laps * pitch, length + 2 * laps * pitch
    area = shapely.box(0, 0, width, height)
    lines = [area.buffer(-(k + 0.5) * pitch, join_style="mitre").exterior for k in range(laps)]
    x = laps * pitch + (np.arange(count) + 0.5) * pitch
    rows = [shapely.LineString(ring.coords) for ring in lines]
    rows += [
        shapely.LineString([(a, laps * pitch), (a, height - laps * pitch)][:: 1 if k % 2 else -1])
        for k, a in enumerate(x)
    ]
    return translate(area, EAST, NORTH), [translate(r, EAST, NORTH) for r in rows], name


def turned(paddock, degrees=0.0, dx=0.0, dy=0.0):
    """Turn a paddock clockwise about the farm's origin, then shift it."""
    area, rows, name = paddock

    def move(shape):
        return translate(rotate(shape, -degrees, origin=(EAST, NORTH)), dx, dy)

    return move(area), [move(r) for r in rows], name


def layers_of(*paddocks):
    crs = GRID.crs
    names = [p[2] for p in paddocks]
    count = len(paddocks)
    fields = make_layer(
        "paddocks",
        {"paddock": names, "crop": ["wheat"] * count, "stubble_t_ha": [2.0] * count, "curing_pct": [100.0] * count,
         "header_width_m": [12.0] * count},
        [p[0] for p in paddocks],
        crs,
    )  # fmt: skip
    rows = [(name, r, k) for _, lines, name in paddocks for k, r in enumerate(lines)]
    windrows = make_layer(
        "windrows",
        {"row_id": [f"{n}-{k + 1}" for n, _, k in rows], "paddock": [n for n, _, _ in rows],
         "length_m": [r.length for _, r, _ in rows]},
        [r for _, r, _ in rows],
        crs,
    )  # fmt: skip
    return fields, windrows


def gates(*xy):
    return make_layer(
        "assets",
        {
            "asset": [f"G{k}" for k in range(len(xy))],
            "kind": ["gate"] * len(xy),
            "name": [f"G{k}" for k in range(len(xy))],
        },
        [shapely.Point(EAST + x, NORTH + y) for x, y in xy],
        GRID.crs,
    )


def night(from_deg=270.0, forecast=None):
    table = evening_forecast(from_deg=from_deg) if forecast is None else forecast
    hours = table[(table["time_utc"] >= pd.Timestamp("2026-04-18T02:00Z"))].reset_index(drop=True)
    return hours.assign(time_local=hours["time_utc"].dt.tz_convert("Australia/Melbourne"))


def order_of(*paddocks, from_deg=270.0, windows=None, changes=(), crews=ONE_CREW, row_burn=None, assets=None,
             breaks_there=None, forecast=None, rows_alight_max=None, **more):  # fmt: skip
    """Run ground and order for paddocks of straight_rows."""
    crs = GRID.crs
    fields, windrows = layers_of(*paddocks)
    things = empty_layer("assets", crs) if assets is None else assets
    there = empty_layer("breaks_there", crs) if breaks_there is None else breaks_there
    hours, spans = night(from_deg, forecast), (window(),) if windows is None else windows
    guards = [
        guard_paddock(p, hours, changes, spans, there, things, empty_layer("neighbours", crs), limits(), crs)
        for _, p in fields.iterrows()
    ]
    return burn_order(
        fields,
        windrows,
        stack_layers("edges", [g.edges for g in guards], crs),
        stack_layers("breaks", [g.breaks for g in guards], crs),
        care_buffers(things, limits(), crs),
        things,
        hours,
        spans,
        changes,
        crews,
        RowBurn() if row_burn is None else row_burn,
        limits() if rows_alight_max is None else limits(rows_alight_max=rows_alight_max),
        crs,
        breaks_there=there,
        **more,
    )
