"""The smoke of the order: which rows are alight in which hour, where their smoke goes, whom it reaches.

Leaves out: plume rise (ground level is judged, which is the safe side), terrain, and calm-air drainage down valleys;
calm hours are judged by the words of hours/judge.py, not by this footprint.
"""

from datetime import datetime
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.farm.farm import Farm
from mapper.farm.layers import empty_layer, make_layer
from mapper.farm.notes import Figure, Remark
from mapper.farm.ranged import Array
from mapper.weather.smoke import LEVELS_UG_M3, concentration_at, row_rate_g_s, smoke_footprint
from mapper.weather.wind import WindChange, direction_spread

# A row's smoke is carried by at most this many point sources an hour; their sum keeps the whole rate.
_MOST_SOURCES = 160
_RECEIVERS = ("house", "road", "vineyard", "town", "railway")


def sources_alight(
    pieces: gpd.GeoDataFrame, loads_kg_m: "pd.Series[float]", at: datetime, burnout_min: float, emission_g_kg: float
) -> tuple[Array, Array]:
    """Return positions (n, 2) in metres and rates (n,) in g/s of PM2.5 from the pieces alight at a moment.

    loads_kg_m: load by row_id. A point of row burns for burnout_min; of a long piece only the part between the
    lighting front and the burnt-out end is alight, taken here as the share burnout / (out_at - lit_at).
    """
    lit = pieces[(pieces["lit_at"] <= at) & (pieces["out_at"] > at)]
    if lit.empty:
        return np.empty((0, 2)), np.empty(0)
    minutes = np.maximum((lit["out_at"] - lit["lit_at"]).dt.total_seconds().to_numpy() / 60.0, 1.0)
    alight_m = lit["length_m"].to_numpy() * np.minimum(1.0, burnout_min / minutes)
    kg_m = lit["row_id"].map(loads_kg_m).fillna(loads_kg_m.median() if len(loads_kg_m) else 1.0).to_numpy(dtype=float)
    rate = row_rate_g_s(alight_m * kg_m, burnout_min * 60.0, emission_g_kg)
    middle = shapely.get_coordinates(shapely.line_interpolate_point(lit.geometry.to_numpy(), 0.5, normalized=True))
    if len(rate) > _MOST_SOURCES:
        groups = np.arange(len(rate)) * _MOST_SOURCES // len(rate)
        total = np.bincount(groups, rate)
        weighted = [np.bincount(groups, rate * middle[:, k]) / np.maximum(total, 1e-12) for k in (0, 1)]
        middle, rate = np.column_stack(weighted), total
    return middle, rate


def smoke_of_order(
    farm: Farm,
    pieces: gpd.GeoDataFrame,
    windrows: gpd.GeoDataFrame,
    night_hours: pd.DataFrame,
    changes: tuple[WindChange, ...],
) -> tuple[gpd.GeoDataFrame, pd.DataFrame, tuple[Remark, ...], tuple[Figure, ...]]:
    """Return the smoke layer, the night's hours judged again with it, remarks, and figures.

    Each forecast hour in which a row is alight gives a footprint a level, marked "now" before the first wind change and
    "after" from it on. Where everything is to be out before the change, "after" is the last lit hour's fire under the
    changed wind: where smoke goes if the burn runs late or the change comes early.
    """
    lit = pieces[pieces["order_no"] > 0]
    if lit.empty or night_hours.empty:
        return empty_layer("smoke", farm.grid.crs), night_hours, (), ()
    loads = windrows.set_index("row_id")["load_kg_m"]
    burn = farm.row_burn
    change = next((c for c in changes if c.at >= lit["lit_at"].min()), None)
    rows: list[dict[str, Any]] = []
    shapes: list[Any] = []
    hours = night_hours.copy()
    receivers = farm.assets[farm.assets["kind"].isin(_RECEIVERS)]
    points = _points_of(receivers)
    worst = np.zeros(len(receivers))
    worst_at: list[datetime | None] = [None] * len(receivers)
    limit = farm.limits.value("smoke_pm25")

    def add(when: str, starts: pd.Timestamp, hour: Any, xy: Array, rate: Array, wind_at: pd.Timestamp) -> None:
        spread = direction_spread(farm.forecast, wind_at, changes, stability=hour.stability)
        found = smoke_footprint(xy, rate, hour.wind_km_h, spread, hour.stability, LEVELS_UG_M3)
        for level, area in found.items():
            if not area.is_empty:
                rows.append({"when": when, "level": level, "starts_at": starts, "ends_at": starts + pd.Timedelta("1h"),
                             "pm25_ug_m3": LEVELS_UG_M3[level]})  # fmt: skip
                shapes.append(area)

    for index, hour in hours.iterrows():
        start = hour["time_utc"]
        xy, rate = sources_alight(lit, loads, start + pd.Timedelta("30min"), burn.burnout_min, burn.emission_g_kg)
        if not len(rate) or not np.isfinite(hour["wind_km_h"]):
            continue
        when = "after" if change is not None and start + pd.Timedelta("30min") >= change.at else "now"
        add(when, start, hour, xy, rate, start + pd.Timedelta("30min"))
        if len(points):
            spread = direction_spread(
                farm.forecast, start + pd.Timedelta("30min"), changes, stability=hour["stability"]
            )
            level = concentration_at(points, xy, rate, hour["wind_km_h"], spread, hour["stability"])
            here = _worst_of(level, receivers)
            for k in np.flatnonzero(here > worst):
                worst[k], worst_at[k] = here[k], start
            if np.isfinite(limit) and here.max(initial=0) > limit:
                name = _name(receivers.iloc[int(here.argmax())])
                text = f"Smoke of this order may reach {here.max():.0f} ug/m3 at {name}; your limit is {limit:g}"
                hours.loc[index, "smoke"] = "no-go" if here.max() > 4 * limit else _worse(hour["smoke"], "caution")
                hours.loc[index, "smoke_why"] = "; ".join(t for t in (hour["smoke_why"], text) if t)
    if change is not None and not any(r["when"] == "after" for r in rows):
        later = hours[hours["time_utc"] >= change.at]
        last = lit["lit_at"].max()
        xy, rate = sources_alight(lit, loads, last, burn.burnout_min, burn.emission_g_kg)
        if len(later) and len(rate):
            add("after", later["time_utc"].iloc[0], later.iloc[0], xy, rate, later["time_utc"].iloc[0])
    layer = make_layer("smoke", pd.DataFrame(rows).to_dict("list") if rows else {}, shapes, farm.grid.crs)
    return layer, hours, tuple(_remarks(receivers, worst, worst_at, limit)), _figures(lit, loads, burn.emission_g_kg)


def _points_of(receivers: gpd.GeoDataFrame) -> Array:
    """Where smoke is judged on each receiver: a point every 200 m on lines, the point or the middle otherwise."""
    return np.array([p for points in receivers.geometry.map(_along) for p in points]).reshape(-1, 2)


def _along(shape: Any) -> list[tuple[float, float]]:
    if shape.geom_type.endswith("LineString"):
        return [tuple(c) for c in shapely.get_coordinates(shapely.segmentize(shape, 200.0))]
    middle = shape.representative_point()
    return [(middle.x, middle.y)]


def _worst_of(level: Array, receivers: gpd.GeoDataFrame) -> Array:
    owner = np.repeat(np.arange(len(receivers)), [len(_along(g)) for g in receivers.geometry])
    worst = np.zeros(len(receivers))
    np.maximum.at(worst, owner, level)
    return worst


def _worse(now: str, then: str) -> str:
    order = ("go", "caution", "no-go")
    return max(now, then, key=order.index)


def _name(asset: "pd.Series[Any]") -> str:
    return str(asset["name"] or asset["asset"] or asset["kind"])


def _remarks(receivers: gpd.GeoDataFrame, worst: Array, worst_at: list[datetime | None], limit: float) -> list[Remark]:
    haze = min(LEVELS_UG_M3.values())
    found = []
    for k, asset in enumerate(receivers.itertuples()):
        if worst[k] <= haze or worst_at[k] is None:
            continue
        over = np.isfinite(limit) and worst[k] > limit
        name = asset.name or asset.asset or asset.kind
        tail = f" Your limit is {limit:g}." if over else ""
        text = f"Smoke may reach {name}: up to about {float(f'{worst[k]:.2g}'):g} ug/m3 in an hour.{tail}"
        found.append(Remark("order", "look" if over else "note", text, where=asset.geometry))
    return found


def _figures(lit: gpd.GeoDataFrame, loads: "pd.Series[float]", emission: float) -> tuple[Figure, ...]:
    kg = float((lit["row_id"].map(loads) * lit["length_m"]).sum())
    source = "emission of the farm's row burn settings (damp piles 16.9 g/kg, 0.89 burnt: Environ. Pollut. 236:795-806)"
    return (Figure("Fine smoke of the night", float(row_rate_g_s(kg, 1.0, emission)) / 1000.0, "kg PM2.5", source, f"{kg:,.0f} kg of row"),)
