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
from mapper.hours.reasons import ORDER
from mapper.weather.smoke import LEVELS_UG_M3, concentration_at, row_rate_g_s, smoke_footprint, visibility_m
from mapper.weather.wind import DirectionSpread, WindChange, direction_spread

# A row's smoke is carried by at most this many point sources an hour; their sum keeps the whole rate.
_MOST_SOURCES = 160
_RECEIVERS = ("house", "road", "vineyard", "town", "railway")
_HALF_HOUR = pd.Timedelta(minutes=30)


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
        groups = np.arange(len(rate)) * _MOST_SOURCES // len(rate)  # neighbours in lighting order
        total: Array = np.bincount(groups, rate).astype(float)
        weighted = [np.bincount(groups, rate * middle[:, k]) / np.maximum(total, 1e-12) for k in (0, 1)]
        return np.column_stack(weighted), total
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
    changed wind: where smoke goes if the burn runs late or the change comes early. An hour whose smoke may pass a limit
    at a house, road, vineyard, railway or town becomes caution, not no-go: without plume rise the figure is a bound.
    """
    lit = pieces[pieces["order_no"] > 0]
    if lit.empty or night_hours.empty or farm.forecast is None:
        return empty_layer("smoke", farm.grid.crs), night_hours, (), ()
    loads = windrows.set_index("row_id")["load_kg_m"]
    burn = farm.row_burn
    change = next((c for c in changes if c.at >= lit["lit_at"].min()), None)
    receivers = farm.assets[farm.assets["kind"].isin(_RECEIVERS)].reset_index(drop=True)
    reached = _Reached(farm, receivers)
    prints: list[dict[str, Any]] = []
    hours = night_hours.copy()
    for index, hour in hours.iterrows():
        middle = hour["time_utc"] + _HALF_HOUR
        xy, rate = sources_alight(lit, loads, middle, burn.burnout_min, burn.emission_g_kg)
        if not len(rate) or not np.isfinite(hour["wind_km_h"]):
            continue
        spread = direction_spread(farm.forecast, middle, changes, stability=hour["stability"])
        when = "after" if change is not None and middle >= change.at else "now"
        prints += _footprints(when, hour, xy, rate, spread)
        said = reached.judge(hour, xy, rate, spread)
        if said:
            for column in ("smoke", "verdict"):
                hours.loc[index, column] = max(hour[column], "caution", key=ORDER.index)
            for column in ("smoke_why", "why"):
                hours.loc[index, column] = "; ".join(t for t in (hour[column], *said) if t)
    if change is not None and not any(p["when"] == "after" for p in prints):
        later = hours[hours["time_utc"] >= change.at]
        xy, rate = sources_alight(lit, loads, lit["lit_at"].max(), burn.burnout_min, burn.emission_g_kg)
        if len(later) and len(rate):
            hour = later.iloc[0]
            spread = direction_spread(farm.forecast, hour["time_utc"], changes, stability=hour["stability"])
            prints += _footprints("after", hour, xy, rate, spread)
    shapes = [p.pop("shape") for p in prints]
    columns = {k: [p[k] for p in prints] for k in prints[0]} if prints else {}
    layer = make_layer("smoke", columns, shapes, farm.grid.crs)
    return layer, hours, reached.remarks(), _figures(lit, loads, burn.emission_g_kg)


def _footprints(
    when: str, hour: "pd.Series[Any]", xy: Array, rate: Array, spread: DirectionSpread
) -> list[dict[str, Any]]:
    start = hour["time_utc"]
    found = smoke_footprint(xy, rate, hour["wind_km_h"], spread, hour["stability"])
    return [
        {"when": when, "level": level, "starts_at": start, "ends_at": start + 2 * _HALF_HOUR,
         "pm25_ug_m3": LEVELS_UG_M3[level], "shape": area}
        for level, area in found.items() if not area.is_empty
    ]  # fmt: skip


class _Reached:
    """Whom the smoke reaches, hour by hour: the worst level at each receiver, and when."""

    def __init__(self, farm: Farm, receivers: gpd.GeoDataFrame) -> None:
        self.receivers, self.limits, self.zone = receivers, farm.limits, farm.zone
        along = [_along(shape) for shape in receivers.geometry]
        self.owner = np.repeat(np.arange(len(along)), [len(p) for p in along])
        self.points = np.concatenate(along) if along else np.empty((0, 2))
        self.level = np.zeros(len(along))
        self.hours: list[list[pd.Timestamp]] = [[] for _ in along]

    def judge(self, hour: "pd.Series[Any]", xy: Array, rate: Array, spread: DirectionSpread) -> list[str]:
        """Take one hour in, and return what it does to people: one sentence each."""
        here = np.zeros(len(self.receivers))
        smoke = concentration_at(self.points, xy, rate, hour["wind_km_h"], spread, hour["stability"])
        np.maximum.at(here, self.owner, smoke)
        limit = self.limits.value("smoke_pm25", min(LEVELS_UG_M3.values()))
        for k in np.flatnonzero(here > limit):
            self.hours[k].append(hour["time_utc"])
        self.level = np.maximum(self.level, here)
        said = [f"Smoke may reach {_name(self.receivers.iloc[k])}" for k in np.flatnonzero(here > limit)]
        return said + self._sight(hour, here)

    def _sight(self, hour: "pd.Series[Any]", here: Array) -> list[str]:
        least = self.limits.value("visibility_min")
        said = []
        for k in np.flatnonzero(self.receivers["kind"].isin(("road", "railway")) & (here > min(LEVELS_UG_M3.values()))):
            name = _name(self.receivers.iloc[k])
            sight = float(visibility_m(here[k], hour["rh_pct"]))
            if np.isnan(sight):
                said.append(f"Air is damp: smoke on {name} can turn to fog thicker than smoke")
            elif sight < least:
                said.append(f"Sight on {name} may fall to {float(f'{sight:.1g}'):g} m; your limit is {least:g} m")
        return said

    def remarks(self) -> tuple[Remark, ...]:
        """One remark for each receiver that smoke over the limit may reach: how thick, from when to when."""
        found = []
        for k, asset in self.receivers.iterrows():
            if not self.hours[k]:
                continue
            level = max((n for n, v in LEVELS_UG_M3.items() if v <= self.level[k]), key=LEVELS_UG_M3.__getitem__)
            first = self.hours[k][0].tz_convert(self.zone)
            last = self.hours[k][-1].tz_convert(self.zone) + 2 * _HALF_HOUR
            text = (
                f"{level.capitalize()} may reach {_name(asset)}, {first:%H:%M} to {last:%H:%M} "
                "(a bound: at the ground, without plume rise)."
            )
            found.append(Remark("order", "look", text, where=asset.geometry))
        return tuple(found)


def _along(shape: Any) -> Array:
    """Where smoke is judged: a point every 200 m on lines, a point inside otherwise."""
    if shape.geom_type.endswith("LineString"):
        return shapely.get_coordinates(shapely.segmentize(shape, 200.0))
    return shapely.get_coordinates(shape.representative_point())


def _name(asset: "pd.Series[Any]") -> str:
    return str(asset["name"] or asset["asset"] or asset["kind"])


def _figures(lit: gpd.GeoDataFrame, loads: "pd.Series[float]", emission: float) -> tuple[Figure, ...]:
    kg = float((lit["row_id"].map(loads) * lit["length_m"]).sum())
    source = "emission of the farm's row burn settings (damp piles 16.9 g/kg, 0.89 burnt: Environ. Pollut. 236:795-806)"
    return (
        Figure(
            "Fine smoke of the night",
            float(row_rate_g_s(kg, 1.0, emission)) / 1000.0,
            "kg PM2.5",
            source,
            f"{kg:,.0f} kg of row",
        ),
    )
