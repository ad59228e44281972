"""Escapes from the worst point of each exposed side of the paddocks planned: who has how long."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from mapper.farm.errors import SettingError, Stopped
from mapper.farm.farm import Farm
from mapper.farm.layers import empty_layer, stack_layers
from mapper.farm.notes import Figure, Remark
from mapper.hours.verdict import Window
from mapper.plan.arrival import Escape, escape_from
from mapper.plan.fireground import fire_ground
from mapper.weather.wind import WindChange

# How far ahead the plan looks; and the minutes its lines are drawn at.
HORIZON_MIN, LINES_MIN = 120.0, (5.0, 10.0, 20.0, 30.0, 60.0, 120.0)
_SIDES = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
# What the soonest of each paddock is taken from: a road or line beside the edge is there at once and can wait.
_TO_LOSE = ("house", "shed", "haystack", "crop", "vineyard", "trees", "reserve", "town")
_COLUMNS = ("paddock", "side", "edge_id", "at", "what", "id", "name", "kind", "minutes")
_SOURCE = (
    "Earliest arrival over the farm's fuel and slope; spread by Cheney, Gould & Catchpole (1998), no crew, no embers"
)


@dataclass(frozen=True)
class Escapes:
    """What escapes would reach. table: paddock, side, edge_id, at (UTC, when fire would be out), and Escape.reached's.

    lines: layer "arrival". remarks, figures: the soonest thing to lose of each paddock.
    """

    table: pd.DataFrame
    lines: gpd.GeoDataFrame
    remarks: tuple[Remark, ...] = field(default=())
    figures: tuple[Figure, ...] = field(default=())


def no_escapes(crs: Any) -> Escapes:
    """Return the answer of a plan in which nothing is lit."""
    return Escapes(pd.DataFrame(columns=list(_COLUMNS)), empty_layer("arrival", crs))


def worst_escapes(
    farm: Farm,
    edges: gpd.GeoDataFrame,
    windows: Sequence[Window],
    changes: Sequence[WindChange],
    paddocks: Sequence[str],
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Escapes:
    """Return where escapes from the worst points of the exposed sides of some paddocks would get to.

    Sides exposed in the windows: fire is out in their windiest hour; sides exposed after the first change: at that
    change. Both look HORIZON_MIN ahead. Nothing where there is no window. Raises Stopped when cancelled.
    """
    if not windows or edges.empty or farm.paddocks.empty:
        return no_escapes(farm.grid.crs)
    start = windows[0].starts_at
    later = [c.at for c in changes if c.at > start]
    moments = [(_windiest(farm, windows), "label"), *([(min(later), "label_after")] if later else [])]
    points = [(at, worst_points(edges, column, paddocks)) for at, column in moments]
    total, done, outside = sum(len(p) for _, p in points), 0, False
    tables: list[pd.DataFrame] = []
    lines: list[gpd.GeoDataFrame] = []
    for at, worst in points:
        if worst.empty:
            continue
        try:
            ground = fire_ground(farm, at, HORIZON_MIN * 60.0, changes)
        except SettingError as exc:
            text = f"How soon an escape would arrive is not known: {exc.what}."
            return Escapes(*_empty(farm), (Remark("breaks", "look", text),))
        outside |= ground.outside
        for piece in worst.itertuples():
            if cancelled is not None and cancelled():
                raise Stopped
            if progress is not None:
                progress(done, total)
            done += 1
            middle = piece.geometry.interpolate(0.5, normalized=True)
            try:
                escape = escape_from(ground, middle.x, middle.y, HORIZON_MIN, piece.facing_deg)
            except SettingError:
                # Nothing burns beyond this edge as far as is known: no escape to follow.
                continue
            tables.append(_labelled(escape, piece, at))
            lines.append(escape.lines(LINES_MIN).assign(paddock=piece.paddock, side=piece.side, edge_id=piece.edge_id))
    filled = [t for t in tables if len(t)]
    table = pd.concat(filled, ignore_index=True) if filled else no_escapes(farm.grid.crs).table
    return Escapes(table, stack_layers("arrival", lines, farm.grid.crs), *_said(farm, table, outside))


def worst_points(edges: gpd.GeoDataFrame, column: str = "label", paddocks: Sequence[str] = ()) -> gpd.GeoDataFrame:
    """Return the worst piece of each side that may lie downwind: rows of layer "edges" with a column "side".

    column: "label" or "label_after". The worst has the largest chance of breach times depth of reach. paddocks: names
    wanted, empty for all.
    """
    exposed = edges[edges[column] == "downwind"]
    exposed = exposed[exposed["paddock"].isin(paddocks)] if paddocks else exposed
    side = np.array(_SIDES)[np.rint(exposed["facing_deg"].to_numpy() / 45.0).astype(int) % 8]
    exposed = exposed.assign(side=side, weight=exposed["breach"] * exposed["reach_m"])
    worst = exposed.sort_values("weight", ascending=False, kind="stable").drop_duplicates(["paddock", "side"])
    return worst.drop(columns="weight").sort_values(["paddock", "side"], ignore_index=True)


def _windiest(farm: Farm, windows: Sequence[Window]) -> datetime:
    """When in the windows the wind is strongest; their start where no hour says."""
    start, end = windows[0].starts_at, max(w.ends_at for w in windows)
    hours = pd.DataFrame(columns=["time_utc", "wind_km_h"]) if farm.forecast is None else farm.forecast
    inside = hours[(hours["time_utc"] > start - pd.Timedelta(hours=1)) & (hours["time_utc"] < end)]
    known = inside.dropna(subset=["wind_km_h"])
    if known.empty:
        return start
    return max(start, known["time_utc"].iloc[int(known["wind_km_h"].argmax())].to_pydatetime())


def _empty(farm: Farm) -> tuple[pd.DataFrame, gpd.GeoDataFrame]:
    nothing = no_escapes(farm.grid.crs)
    return nothing.table, nothing.lines


def _labelled(escape: Escape, piece: Any, at: Any) -> pd.DataFrame:
    where = {"paddock": piece.paddock, "side": piece.side, "edge_id": piece.edge_id, "at": pd.Timestamp(at)}
    return escape.reached.assign(**where)[list(_COLUMNS)]


def _said(farm: Farm, table: pd.DataFrame, outside: bool) -> tuple[tuple[Remark, ...], tuple[Figure, ...]]:
    """The soonest thing reached from each paddock; a remark where that is sooner than the crew."""
    response = farm.limits.value("response_time")
    lie = "taken as flat, no elevation model" if farm.heights is None else "slope from the elevation model"
    remarks, figures = [], []
    for paddock, group in table[table["kind"].isin(_TO_LOSE)].groupby("paddock", sort=True):
        first = group.iloc[int(group["minutes"].argmin())]
        figures.append(
            Figure(
                f"{paddock}: escape over the {first['side']} edge to {first['name']}", float(first["minutes"]), "min",
                _SOURCE, f"forecast wind and a sigma of its direction to each side; {lie}", outside,
            )
        )  # fmt: skip
        # Where nobody has said how long the crew takes, any arrival is worth a look.
        if not first["minutes"] > response:
            crew = f"your crew takes {response:g} min" if np.isfinite(response) else "the crew's time is not known"
            text = (
                f"Fire over the {first['side']} edge of {paddock} could be at {first['name']} in "
                f"{first['minutes']:.0f} min; {crew}."
            )
            where = farm.assets.geometry[farm.assets["asset"] == first["id"]].union_all()
            remarks.append(Remark("breaks", "look", text, str(paddock), where))
    return tuple(remarks), tuple(figures)
