"""The plan of one night: all that paper and screen need, frozen."""

from dataclasses import dataclass, field
from datetime import date, datetime

import geopandas as gpd
import pandas as pd

from mapper.farm.farm import Farm
from mapper.farm.notes import Figure, Remark
from mapper.hours.verdict import BanCheck, Window
from mapper.plan.nightweather import NightWeather
from mapper.plan.reach import no_reach
from mapper.weather.wind import WindChange

CAUTION = (
    "This sheet is advice only. The permit, the local burning code and the fire authority decide whether, when and how "
    "you may burn; the person in charge decides on the night. Distances, wind limits, crew and water shown are local "
    "limits typed in by the farm: check them before lighting."
)
NEIGHBOUR_CAUTION = (
    "The smoke areas are drawn from a forecast and can be wrong. This notice does not replace the permit, the local "
    "burning code or the fire authority's notice; they decide whether the burn may go ahead."
)


@dataclass(frozen=True)
class BurnPlan:
    """One night's plan.

    Layers (farm/layers.py): windrows, heaps, edges, breaks, buffers, pieces, lighting_points, blocks, ways_out, smoke.
    hours: table of hours/judge.py for the night (12:00 to 12:00 local). tell: table of who must be told, columns
    of plan/tell.py. paddocks: names planned, in burning order. windows: per paddock.
    escapes: table of plan/escapes.py, minutes from the worst point of each exposed side to what it reaches; arrival:
    its lines of equal minutes (layer "arrival").
    routes: layer "routes", the crews' drives between pieces.
    raking: rows that run into breaks, rings and strips under wires (ground/raking.py).
    weather: what is said beside the hours (plan/nightweather.py), None without a forecast. smoke_reach: whom smoke may
    reach and when, in words (plan/reach.py).
    go is True only where nothing stands against lighting; against says what does, one sentence each.
    """

    number: int
    farm: Farm
    night: date
    made_at: datetime
    author: str
    paddocks: tuple[str, ...]
    windrows: gpd.GeoDataFrame
    heaps: gpd.GeoDataFrame
    edges: gpd.GeoDataFrame
    breaks: gpd.GeoDataFrame
    buffers: gpd.GeoDataFrame
    pieces: gpd.GeoDataFrame
    lighting_points: gpd.GeoDataFrame
    blocks: gpd.GeoDataFrame
    ways_out: gpd.GeoDataFrame
    smoke: gpd.GeoDataFrame
    hours: pd.DataFrame
    windows: tuple[Window, ...]
    changes: tuple[WindChange, ...]
    sunset: datetime | None
    sunrise: datetime | None
    ban: BanCheck
    tell: pd.DataFrame
    go: bool
    against: tuple[str, ...]
    remarks: tuple[Remark, ...]
    figures: tuple[Figure, ...]
    weather: NightWeather | None = None
    smoke_reach: pd.DataFrame = field(default_factory=no_reach)
    escapes: pd.DataFrame = field(default_factory=pd.DataFrame)
    arrival: gpd.GeoDataFrame | None = None
    raking: pd.DataFrame = field(default_factory=pd.DataFrame)
    routes: gpd.GeoDataFrame | None = None
