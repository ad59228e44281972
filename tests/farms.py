"""Small invented farms for tests, built in the farm's grid."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import shapely
from pyproj import CRS

from mapper.farm.crs import Grid
from mapper.farm.farm import Crew, Farm, Harvester, RowBurn
from mapper.farm.layers import make_layer
from mapper.farm.limits import LIMIT_KINDS, Limit, LocalLimits, Permit

GRID = Grid(CRS.from_epsg(7854))
EAST, NORTH = 612_000.0, 5_993_000.0

VALUES = {
    "wind_max": 20, "wind_min": 2, "gust_max": 35, "index_max": 12, "index_min": 0.5, "index_stop": 15,
    "temperature_max": 30, "humidity_min": 20, "humidity_max": 80, "light_from": 16, "out_by": 24, "change_margin": 30,
    "soaking_rain": 10, "dry_days": 14, "break_edge": 4, "break_building": 10, "break_haystack": 20, "break_pole": 2,
    "break_tree": 4, "break_crop": 10, "breach_chance": 0.05, "response_time": 30, "care_house": 300, "care_road": 100,
    "care_vineyard": 5000, "care_power_line": 20, "people_min": 3, "units_min": 1, "water_min": 1000,
    "notice_hours": 24, "blade_width": 3, "grade_speed": 5, "smoke_pm25": 150, "visibility_min": 300,
    "row_spacing": 0.25, "row_load_min": 15, "row_load_max": 60, "ground_cover_min": 50,
}  # fmt: skip


def limits(**changes: float) -> LocalLimits:
    """All limits set, as an invented local source; changes override values."""
    made = {}
    for key, value in {**VALUES, **changes}.items():
        index = "gfdi_mk4" if LIMIT_KINDS[key].key.startswith("index_") else ""
        made[key] = Limit(key, float(value), "invented for a test", "2026-03-01", index=index)
    return LocalLimits(made, permit=Permit("not needed", "invented for a test"))


def evening_forecast(wind_km_h: float = 8.0, from_deg: float = 315.0) -> pd.DataFrame:
    """48 steady hours from noon UTC 17 April 2026: a workable evening on the 18th at Australia/Melbourne."""
    times = pd.date_range("2026-04-17T12:00Z", periods=48, freq="h")
    n = len(times)
    return pd.DataFrame(
        {
            "time_utc": times.astype("datetime64[ns, UTC]"),
            "temp_c": np.full(n, 20.0),
            "rh_pct": np.full(n, 45.0),
            "wind_km_h": np.full(n, float(wind_km_h)),
            "gust_km_h": np.full(n, 1.4 * wind_km_h),
            "wind_from_deg": np.full(n, from_deg),
            "rain_mm": np.zeros(n),
            "cloud_pct": np.full(n, 60.0),
        }
    )


def box(x: float, y: float, width: float, height: float) -> shapely.Polygon:
    """A rectangle whose corner lies x, y metres from the farm's origin."""
    return shapely.box(EAST + x, NORTH + y, EAST + x + width, NORTH + y + height)


def small_farm(**changes: object) -> Farm:
    """Two paddocks side by side, bare breaks round both, a house, a road, two neighbours, a crew; no logs."""
    west, east = box(0, 0, 400, 300), box(420, 0, 300, 300)
    paddocks = make_layer(
        "paddocks",
        {
            "paddock": ["West", "East"],
            "crop": ["wheat", "wheat"],
            "yield_t_ha": [2.5, 2.5],
            "cut_height_m": [0.13, 0.13],
            "stubble_t_ha": [2.0, 2.0],
            "curing_pct": [100.0, 100.0],
            "header_width_m": [12.0, 12.0],
            "row_heading_deg": [0.0, 0.0],
            "headland_laps": [1.0, 1.0],
        },
        [west, east],
        GRID.crs,
    )
    assets = make_layer(
        "assets",
        {
            "asset": ["H1", "R1", "G1", "W1"],
            "kind": ["house", "road", "gate", "water"],
            "name": ["House 1", "Tank Road", "G1", "W1"],
            "neighbour": ["N1", "", "", ""],
            "water_l": [np.nan, np.nan, np.nan, 5000.0],
        },
        [
            shapely.Point(EAST + 1500, NORTH - 900),
            shapely.LineString([(EAST - 300, NORTH - 15), (EAST + 1200, NORTH - 15)]),
            shapely.Point(EAST + 200, NORTH),
            shapely.Point(EAST - 40, NORTH + 150),
        ],
        GRID.crs,
    )
    neighbours = make_layer(
        "neighbours",
        {
            "neighbour": ["N1", "N2"],
            "name": ["Neighbour 1", "Neighbour 2"],
            "phone": ["0491 570 006", "0491 570 156"],
        },
        [box(725, -1500, 1000, 2000), box(-9000, 5000, 300, 300)],
        GRID.crs,
    )
    breaks = make_layer(
        "breaks_there",
        {"width_m": [10.0, 10.0], "made_by": ["grader", "grader"]},
        [shapely.LineString(p.buffer(5, join_style="mitre").exterior.coords) for p in (west, east)],
        GRID.crs,
    )
    fields: dict[str, object] = {
        "name": "Test farm (invented)",
        "grid": GRID,
        "zone": "Australia/Melbourne",
        "paddocks": paddocks,
        "assets": assets,
        "neighbours": neighbours,
        "breaks_there": breaks,
        "limits": limits(),
        "harvesters": (Harvester("1", 12.0),),
        "crews": (Crew("Crew 1", people=3, units=1, water_l=2000),),
        "row_burn": RowBurn(),
        "forecast": evening_forecast(),
        "in_charge": "Farm manager",
        "phone": "0491 570 157",
        "invented": True,
    }
    return Farm(**{**fields, **changes})  # type: ignore[arg-type]


MADE_AT = datetime(2026, 4, 17, 6, 0, tzinfo=UTC)
