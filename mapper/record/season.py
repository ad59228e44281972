"""A season's nights together: what was burnt, in how many hours, by whom, at what cost, and what it left."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.farm.errors import SettingError
from mapper.farm.farm import Farm
from mapper.farm.layers import stack_layers
from mapper.fire.cost import stubble_cover
from mapper.fire.stubble import standing_stubble_t_ha
from mapper.plan.check import SCORCHED_M
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
COVER_COLUMNS = ("paddock", "bared", "stubble_t_ha", "source", "left", "wanted")


@dataclass(frozen=True)
class Season:
    """A season. nights: NIGHT_COLUMNS, a line a night. burnt_share: burnt ground over the farm's cropped area.

    cover: COVER_COLUMNS, a line a paddock burnt. twice: layer "row_parts" of stretches burnt on last season's burnt
    strips; twice_share: their share of what was burnt, NaN where nothing is known of last season. worked: sentence on
    weed counts, "" where there are none.
    """

    season: str
    nights: pd.DataFrame
    burnt_share: float
    cover: pd.DataFrame
    twice: gpd.GeoDataFrame
    twice_share: float
    worked: str


def night_line(record: NightRecord, cost_h: float = float("nan"), cost_km: float = 0.0) -> dict[str, object]:
    """Return one night as a line of NIGHT_COLUMNS. cost_h: money a person-hour; cost_km: a kilometre of row lit.

    hours run from the first time written to the last; NaN where no times were written. Burnt ground is row width times
    length where fire went, and what got away. wind_error_km_h: mean of the readings less the forecast at the meter's
    height, 0 within what is known of that height (weather/readings.py).
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
    error = readings["wind_km_h_off"].dropna()
    return {
        "night": record.night,
        "paddocks": ", ".join(record.land["paddock"]),
        "rows": len(record.numbers),
        "rows_burnt": int(burnt.loc[burnt["order_no"] > 0, "order_no"].nunique()),
        "km_burnt": km,
        "km_planned": float(parts.loc[parts["order_no"] > 0, "length_m"].sum() / 1000),
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
    farm: Farm,
    records: Sequence[NightRecord],
    last_season: Sequence[NightRecord] = (),
    cost_h: float = float("nan"),
    cost_km: float = 0.0,
) -> Season:
    """Return a season of a farm from its nights' records; last_season: those of the season before, where kept.

    Raises SettingError where the records are of several seasons.
    """
    ordered = sorted(records, key=lambda r: (r.night, r.plan_number))
    seasons = list(dict.fromkeys(season_name(r.night) for r in ordered))
    if len(seasons) > 1:
        raise SettingError(f"the records are of several seasons ({', '.join(seasons)})", "season", "Choose one season")
    nights = pd.DataFrame([night_line(r, cost_h, cost_km) for r in ordered], columns=list(NIGHT_COLUMNS))
    burnt = burnt_parts(ordered)
    farm_ha = float(farm.paddocks.area.sum()) / 10_000
    width = max((r.row_width_m for r in ordered), default=0.6)
    twice = burnt_twice(burnt, burnt_parts(last_season), width) if len(last_season) and len(burnt) else burnt.iloc[:0]
    length = float(burnt["length_m"].sum()) if len(burnt) else 0.0
    return Season(
        seasons[0] if seasons else "",
        nights,
        float(nights["burnt_ha"].sum()) / farm_ha if farm_ha > 0 else float("nan"),
        cover_left(farm, burnt),
        twice,
        float(twice["length_m"].sum()) / length if length and len(last_season) else float("nan"),
        _worked(ordered),
    )


def cover_left(farm: Farm, burnt: gpd.GeoDataFrame) -> pd.DataFrame:
    """Return the ground cover left in each paddock burnt, COVER_COLUMNS: shares from 0 to 1, NaN where not known.

    Rows bare SCORCHED_M of ground along them; between them the cover is that of the farm's own stubble figure
    (stubble_t_ha; without one, by yield and cut height as in fire/stubble.py). wanted is the limit ground_cover_min.
    """
    wanted = farm.limits.value("ground_cover_min") / 100
    lines = []
    for paddock in farm.paddocks[farm.paddocks["paddock"].isin(set(burnt["paddock"]))].itertuples():
        length = float(burnt.loc[burnt["paddock"] == paddock.paddock, "length_m"].sum())
        bared = min(length * SCORCHED_M / paddock.geometry.area, 1.0)
        load, source = float(paddock.stubble_t_ha), "typed in"
        if not load > 0 and paddock.yield_t_ha > 0 and paddock.cut_height_m >= 0:
            load = float(standing_stubble_t_ha(paddock.yield_t_ha, paddock.cut_height_m))
            source = "by yield and cut height"
        cover = float(stubble_cover(load)) if load > 0 else float("nan")
        lines.append({
            "paddock": paddock.paddock, "bared": bared, "stubble_t_ha": load if load > 0 else float("nan"),
            "source": source if load > 0 else "not known", "left": cover * (1.0 - bared), "wanted": wanted,
        })  # fmt: skip
    return pd.DataFrame(lines, columns=list(COVER_COLUMNS))


def burnt_parts(records: Sequence[NightRecord]) -> gpd.GeoDataFrame:
    """Return layer "row_parts" of all rows along which fire went."""
    layers = [row_parts(r) for r in records]
    crs = records[0].pieces.crs if records else "EPSG:7854"
    return stack_layers("row_parts", [p[p["state"].isin(FIRE_WENT_ALONG)] for p in layers], crs)


def burnt_twice(burnt: gpd.GeoDataFrame, before: gpd.GeoDataFrame, row_width_m: float) -> gpd.GeoDataFrame:
    """Return the stretches of burnt rows that lie on strips burnt the season before too: closer than a row's width."""
    strips = shapely.union_all(before.to_crs(burnt.crs).geometry.buffer(row_width_m, cap_style="flat").to_numpy())
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
