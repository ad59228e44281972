"""A season's nights together: what was burnt, in how many hours, by whom, at what cost, and what it left."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.farm.layers import stack_layers
from mapper.record.counts import counts_table, worked_words
from mapper.record.entry import standing
from mapper.record.escape import area_ha, escapes
from mapper.record.night import NightRecord
from mapper.record.parts import row_parts
from mapper.record.readings import readings_table
from mapper.record.states import FIRE_WENT_ALONG

NIGHT_COLUMNS = ("night", "paddocks", "rows", "rows_burnt", "km_burnt", "km_planned", "paddock_ha", "burnt_ha", "hours",
                 "people", "person_hours", "readings", "outside_limits", "wind_error_km_h", "escapes", "escaped_ha",
                 "cost", "closed")  # fmt: skip


@dataclass(frozen=True)
class Season:
    """A season. nights: NIGHT_COLUMNS, a line a night. burnt_share: burnt ground over the farm's cropped area.

    twice: layer "row_parts" of stretches burnt on last season's burnt strips; twice_share: their share of what was
    burnt. worked: sentence on weed counts, "" where there are none.
    """

    season: str
    nights: pd.DataFrame
    burnt_share: float
    cover_left: float
    twice: gpd.GeoDataFrame
    twice_share: float
    worked: str


def night_line(record: NightRecord, cost_h: float = float("nan"), cost_km: float = 0.0) -> dict[str, object]:
    """Return one night as a line of NIGHT_COLUMNS. cost_h: money a person-hour; cost_km: a kilometre of row lit.

    hours run from the first time written to the last; NaN where no times were written. Burnt ground is row width times
    length where fire went, and what got away.
    """
    parts = row_parts(record)
    burnt = parts[parts["state"].isin(FIRE_WENT_ALONG)]
    times = [
        e.at for e in standing(record.entries) if e.at and e.kind in ("rows", "reading", "hold", "patrol", "escape")
    ]
    hours = (max(times) - min(times)).total_seconds() / 3600 if len(times) > 1 else float("nan")
    readings = readings_table(record)
    got_away = escapes(record)
    escaped = float(np.nansum([area_ha(e) for e in got_away])) if got_away else 0.0
    km = float(burnt["length_m"].sum() / 1000)
    error = (readings["wind_10m_km_h"] - readings["wind_km_h_forecast"]).dropna()
    return {
        "night": record.night,
        "paddocks": ", ".join(record.land["paddock"]),
        "rows": len(record.numbers),
        "rows_burnt": int(burnt.loc[burnt["order_no"] > 0, "order_no"].nunique()),
        "km_burnt": km,
        "km_planned": float(parts["length_m"].sum() / 1000),
        "paddock_ha": float(record.land.area.sum() / 10_000),
        "burnt_ha": km * 1000 * record.row_width_m / 10_000 + escaped,
        "hours": hours,
        "people": record.people,
        "person_hours": hours * record.people,
        "readings": len(readings),
        "outside_limits": int((~readings["carry_on"]).sum()),
        "wind_error_km_h": float(error.mean()) if len(error) else float("nan"),
        "escapes": len(got_away),
        "escaped_ha": escaped,
        "cost": hours * record.people * cost_h + km * cost_km,
        "closed": record.closed,
    }


def season_of(
    season: str,
    records: Sequence[NightRecord],
    farm_ha: float,
    last_season: gpd.GeoDataFrame | None = None,
    cost_h: float = float("nan"),
    cost_km: float = 0.0,
) -> Season:
    """Return a season from its nights' records.

    farm_ha: cropped area of the farm. last_season: layer "row_parts" of what burnt the season before, in the same
    grid, or None. Cover left counts burnt ground as bare and all else as it was; it is no measure of the stubble's own
    cover, which the farm's figure for it gives.
    """
    ordered = sorted(records, key=lambda r: (r.night, r.plan_number))
    lines = [night_line(r, cost_h, cost_km) for r in ordered]
    nights = pd.DataFrame(lines, columns=list(NIGHT_COLUMNS))
    burnt = burnt_parts(ordered)
    share = float(nights["burnt_ha"].sum()) / farm_ha if farm_ha > 0 else float("nan")
    width = max((r.row_width_m for r in ordered), default=0.6)
    twice = burnt_twice(burnt, last_season, width) if last_season is not None and len(last_season) else burnt.iloc[:0]
    length = float(burnt["length_m"].sum()) if len(burnt) else 0.0
    return Season(
        season,
        nights,
        share,
        1.0 - share,
        twice,
        float(twice["length_m"].sum()) / length if length else 0.0,
        _worked(ordered),
    )


def burnt_parts(records: Sequence[NightRecord]) -> gpd.GeoDataFrame:
    """Return layer "row_parts" of all rows along which fire went."""
    layers = [row_parts(r) for r in records]
    crs = records[0].pieces.crs if records else "EPSG:7854"
    return stack_layers("row_parts", [p[p["state"].isin(FIRE_WENT_ALONG)] for p in layers], crs)


def burnt_twice(burnt: gpd.GeoDataFrame, before: gpd.GeoDataFrame, row_width_m: float) -> gpd.GeoDataFrame:
    """Return the stretches of burnt rows that lie on strips burnt the season before too: closer than a row's width."""
    strips = shapely.union_all(before.geometry.buffer(row_width_m, cap_style="flat").to_numpy())
    lines = shapely.intersection(burnt.geometry.to_numpy(), strips)
    found = burnt.set_geometry(gpd.GeoSeries(lines, crs=burnt.crs, index=burnt.index)).explode(ignore_index=True)
    found = found[(found.geom_type == "LineString") & (found.length > row_width_m)].reset_index(drop=True)
    return found.assign(length_m=found.length)


def season_name(night: date, harvest_month: int = 10) -> str:
    """Return the harvest that a night's rows are of: "2025/26" for rows cut from October 2025 on and burnt in 2026.

    harvest_month: first month of harvest; the program passes the farm's (October in southern Australia).
    """
    year = night.year if night.month >= harvest_month else night.year - 1
    return f"{year}/{(year + 1) % 100:02d}"


def _worked(records: Sequence[NightRecord]) -> str:
    counts = pd.concat([counts_table(r) for r in records], ignore_index=True) if records else pd.DataFrame()
    return worked_words(counts) if len(counts) else ""
