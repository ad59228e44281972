"""The smoke of the order: which rows are alight in which hour, where their smoke goes, whom it reaches.

Leaves out: plume rise in the footprints (ground level is the safe side; plan/reach.py tells both ends), terrain, and
calm-air drainage down valleys; calm hours are judged by the words of hours/judge.py, not by this footprint.
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
from mapper.plan.reach import Reach, no_reach
from mapper.weather.smoke import LEVELS_UG_M3, row_rate_g_s, smoke_footprint
from mapper.weather.wind import DirectionSpread, WindChange, direction_spread

# A row's smoke is carried by at most this many point sources an hour; their sum keeps the whole rate.
_MOST_SOURCES = 200
# Within the plume's own least distance a line and its points give the same.
_LINE_STEP_M, _MOST_ALONG = 150.0, 10
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
    middle, rate = _along(lit, rate)
    if len(rate) > _MOST_SOURCES:
        groups = np.arange(len(rate)) * _MOST_SOURCES // len(rate)  # neighbours in lighting order
        total: Array = np.bincount(groups, rate).astype(float)
        weighted = [np.bincount(groups, rate * middle[:, k]) / np.maximum(total, 1e-12) for k in (0, 1)]
        return np.column_stack(weighted), total
    return middle, rate


def _thickest(lit: gpd.GeoDataFrame, start: pd.Timestamp) -> pd.Timestamp:
    """The moment of an hour at which most row is alight: limits are for an hour's mean, but sight is lost at once."""
    moments = [start + pd.Timedelta(minutes=m) for m in range(5, 60, 10)]
    alight = [float(lit.loc[(lit["lit_at"] <= m) & (lit["out_at"] > m), "length_m"].sum()) for m in moments]
    return moments[int(np.argmax(alight))]


def _along(lit: gpd.GeoDataFrame, rate: Array) -> tuple[Array, Array]:
    """A row's smoke as a line: points along each piece, 150 m apart at the most, that share its rate."""
    lines = lit.geometry.to_numpy()
    count = np.clip(np.ceil(lit["length_m"].to_numpy() / _LINE_STEP_M), 1, _MOST_ALONG).astype(int)
    which = np.repeat(np.arange(len(lines)), count)
    first = np.repeat(np.cumsum(count) - count, count)
    share = (np.arange(len(which)) - first + 0.5) / count[which]
    points = shapely.line_interpolate_point(lines[which], share, normalized=True)
    return shapely.get_coordinates(points), rate[which] / count[which]


def smoke_of_order(
    farm: Farm,
    pieces: gpd.GeoDataFrame,
    windrows: gpd.GeoDataFrame,
    night_hours: pd.DataFrame,
    changes: tuple[WindChange, ...],
) -> tuple[gpd.GeoDataFrame, pd.DataFrame, tuple[Remark, ...], tuple[Figure, ...], pd.DataFrame]:
    """Return the smoke layer, the night's hours judged again with it, remarks, figures, and whom it may reach.

    Each forecast hour in which a row is alight gives a footprint a level, marked "now" before the first wind change and
    "after" from it on. Where everything is to be out before the change, "after" is the last lit hour's fire under the
    changed wind: where smoke goes if the burn runs late or the change comes early. An hour whose smoke passes a limit
    at a house, road, vineyard, railway or town becomes caution where only smoke kept to the ground would pass it,
    no-go where even risen smoke is likely to.
    """
    lit = pieces[pieces["order_no"] > 0]
    if lit.empty or night_hours.empty or farm.forecast is None:
        return empty_layer("smoke", farm.grid.crs), night_hours, (), (), no_reach()
    loads = windrows.set_index("row_id")["load_kg_m"]
    burn = farm.row_burn
    change = next((c for c in changes if c.at >= lit["lit_at"].min()), None)
    reach = Reach(farm)
    issued = None if farm.issue is None else farm.issue.issued_at
    prints: list[dict[str, Any]] = []
    hours = night_hours.copy()
    for index, hour in hours.iterrows():
        middle = hour["time_utc"] + _HALF_HOUR
        xy, rate = sources_alight(lit, loads, _thickest(lit, hour["time_utc"]), burn.burnout_min, burn.emission_g_kg)
        if not len(rate) or not np.isfinite(hour["wind_km_h"]):
            continue
        spread = direction_spread(farm.forecast, middle, changes, issued, hour["stability"])
        when = "after" if change is not None and middle >= change.at else "now"
        prints += _footprints(when, hour, xy, rate, spread)
        _add(hours, index, reach.hour(hour, xy, rate, spread))
    if change is not None and not any(p["when"] == "after" for p in prints):
        later = hours[hours["time_utc"] >= change.at]
        xy, rate = sources_alight(lit, loads, lit["lit_at"].max(), burn.burnout_min, burn.emission_g_kg)
        if len(later) and len(rate):
            hour = later.iloc[0]
            spread = direction_spread(farm.forecast, hour["time_utc"], changes, issued, hour["stability"])
            prints += _footprints("after", hour, xy, rate, spread)
    shapes = [p.pop("shape") for p in prints]
    columns = {k: [p[k] for p in prints] for k in prints[0]} if prints else {}
    layer = make_layer("smoke", columns, shapes, farm.grid.crs)
    return layer, hours, reach.remarks(), _figures(lit, loads, burn.emission_g_kg), reach.table()


def _add(hours: pd.DataFrame, index: Any, said: list[tuple[str, str]]) -> None:
    """Add reasons to one hour's smoke and to its whole verdict, in place."""
    if not said:
        return
    said = sorted(said, key=lambda s: -ORDER.index(s[0]))
    worst, sentences = said[0][0], [text for _, text in said]
    for column, why in (("smoke", "smoke_why"), ("verdict", "why")):
        before = str(hours.at[index, column])
        kept = str(hours.at[index, why]) if before != "go" else ""
        worse = ORDER.index(worst) > ORDER.index(before)
        parts = (*sentences, kept) if worse else (kept, *sentences)
        hours.at[index, why] = "; ".join(p for p in parts if p)
        if worse:
            hours.at[index, column] = worst
            if column == "verdict":
                hours.at[index, "reason"] = f"{worst.capitalize()}: {sentences[0]}."


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
