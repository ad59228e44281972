"""The farm: everything known about it, in one frozen value. Every change is a new Farm."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import geopandas as gpd
import pandas as pd

from mapper.farm.crs import Grid
from mapper.farm.errors import SettingError
from mapper.farm.heights import Heights
from mapper.farm.issues import ForecastIssue
from mapper.farm.layers import check_layer, empty_layer
from mapper.farm.limits import LocalLimits
from mapper.farm.notices import Authority, Told
from mapper.farm.rowedit import RowEdit
from mapper.farm.wording import Wording


def _between(value: float, low: float, high: float, what: str, where: str) -> None:
    if not low <= value <= high:
        raise SettingError(f"{what} {value:g} is outside {low:g} to {high:g}", where, "Correct it")


SNAP = ("if sure", "yes", "no")


@dataclass(frozen=True)
class Harvester:
    """How one machine drops its straw.

    chute_behind_m: antenna to chute, positive to the rear. antenna_right_m: antenna right of the header's centre.
    header_ahead_m: cutter bar ahead of the antenna. threshing_delay_s: cut to chute, mean. row_width_m: width of the
    row. mixing_s: of the delay, the part in which straw mixes: rows begin that much earlier and thin out later
    (starting value: a guess, no source; calibrate it from observed row ends). snap: "yes" puts straight passes of a
    drifting receiver on their even grid, "no" never does, "if sure" only where the drift is beyond doubt.
    """

    machine: str
    header_width_m: float
    chute_behind_m: float = 4.0
    header_ahead_m: float = 3.5
    antenna_right_m: float = 0.0
    threshing_delay_s: float = 12.0
    row_width_m: float = 0.6
    mixing_s: float = 0.5
    snap: str = "if sure"

    def __post_init__(self) -> None:
        where = f"harvester {self.machine}"
        _between(self.header_width_m, 1, 60, "header width", where)
        _between(self.chute_behind_m, -15, 20, "antenna to chute", where)
        _between(self.header_ahead_m, -5, 15, "antenna to cutter bar", where)
        _between(self.antenna_right_m, -10, 10, "antenna off centre", where)
        _between(self.threshing_delay_s, 0, 60, "threshing delay", where)
        _between(self.row_width_m, 0.2, 3, "row width", where)
        _between(self.mixing_s, 0, 10, "mixing while threshing", where)
        if self.snap not in SNAP:
            raise SettingError(f"putting passes on a grid is {self.snap!r}", where, f"Write one of {', '.join(SNAP)}")


@dataclass(frozen=True)
class Crew:
    """A lighting crew. light_km_h: driving along a row while lighting it; travel_km_h: between rows."""

    crew: str
    people: int = 3
    units: int = 1
    water_l: float = 1000.0
    light_km_h: float = 12.0
    travel_km_h: float = 20.0
    dwell_s: float = 5.0

    def __post_init__(self) -> None:
        where = f"crew {self.crew}"
        _between(self.people, 1, 50, "people", where)
        _between(self.units, 0, 20, "fire units", where)
        _between(self.water_l, 0, 100_000, "water", where)
        _between(self.light_km_h, 1, 40, "lighting speed", where)
        _between(self.travel_km_h, 1, 60, "travel speed", where)
        _between(self.dwell_s, 0, 300, "time at a lighting point", where)


@dataclass(frozen=True)
class RowBurn:
    """How rows burn here: figures of the farm, since no published rate was found.

    spread_m_min: along the row from a lighting point. burnout_min: a point of row, lit to out.
    point_gap_m: distance between lighting points along a row. block_min: time one block may take.
    emission_g_kg: PM2.5 per dry kg burnt.
    """

    spread_m_min: float = 4.0
    burnout_min: float = 20.0
    point_gap_m: float = 100.0
    block_min: float = 40.0
    emission_g_kg: float = 16.9
    source: str = "starting values: common practice, no published figure; adjust from a test row"

    def __post_init__(self) -> None:
        _between(self.spread_m_min, 0.1, 60, "spread along a row", "row burn")
        _between(self.burnout_min, 1, 600, "burn-out time", "row burn")
        _between(self.point_gap_m, 5, 2000, "distance between lighting points", "row burn")
        _between(self.block_min, 5, 600, "time for a block", "row burn")
        _between(self.emission_g_kg, 1, 50, "smoke per kg", "row burn")


# Layers a farm may go without.
OPTIONAL_LAYERS = ("rows_seen", "rows_before")


@dataclass(frozen=True)
class Farm:
    """All that is known of a farm, in its metric grid; layers as in farm/layers.py.

    tracks: log name to track columns (farm/tracks.py). forecast: table of weather/forecast.py in UTC, or None:
    the one used. forecasts: every issue kept (see issue, with_issue). readings: of a hand-held meter, table of
    weather/readings.py. last_soak: UTC, the last soaking rain before the forecast begins, where somebody knows.
    image, elevation: paths of rasters as text, empty where there are none. heights: what the elevation model says here.
    authorities: who besides neighbours is told of every burn (none: notices.USUAL_AUTHORITIES); told: who of them, and
    of others who are no neighbours, was told. row_edits: what was done to rows by hand, in the order it was done.
    rows_seen: rows drawn or walked, to fit a pattern to. rows_before: last season's. wording: texts for paper in the
    farm's own words, by name (resources/wording.toml holds the program's).
    """

    name: str
    grid: Grid
    zone: str
    paddocks: gpd.GeoDataFrame
    assets: gpd.GeoDataFrame
    neighbours: gpd.GeoDataFrame
    breaks_there: gpd.GeoDataFrame
    limits: LocalLimits = field(default_factory=LocalLimits)
    harvesters: tuple[Harvester, ...] = ()
    crews: tuple[Crew, ...] = ()
    row_burn: RowBurn = field(default_factory=RowBurn)
    tracks: dict[str, pd.DataFrame] = field(default_factory=dict)
    forecast: pd.DataFrame | None = None
    forecasts: tuple[ForecastIssue, ...] = ()
    readings: pd.DataFrame | None = None
    last_soak: datetime | None = None
    row_edits: tuple[RowEdit, ...] = ()
    rows_seen: gpd.GeoDataFrame | None = None
    rows_before: gpd.GeoDataFrame | None = None
    image: str = ""
    elevation: str = ""
    heights: Heights | None = None
    wording: Mapping[str, Wording] = field(default_factory=dict)
    authorities: tuple[Authority, ...] = ()
    told: tuple[Told, ...] = ()
    in_charge: str = ""
    phone: str = ""
    emergency_number: str = "000"
    invented: bool = False

    def __post_init__(self) -> None:
        try:
            ZoneInfo(self.zone)
        except (ZoneInfoNotFoundError, ValueError) as exc:
            raise SettingError(
                f"time zone {self.zone!r} is not known", "farm", "Give a name such as Australia/Adelaide"
            ) from exc
        for name in ("paddocks", "assets", "neighbours", "breaks_there", *OPTIONAL_LAYERS):
            if getattr(self, name) is None and name in OPTIONAL_LAYERS:
                continue
            layer = check_layer(name, getattr(self, name))
            if layer.crs != self.grid.crs:
                raise SettingError(f"layer {name} is on {layer.crs.name}, the farm on {self.grid.name}", "farm")

    def with_(self, **changes: Any) -> "Farm":
        """Return a copy with some fields changed, checked again."""
        return replace(self, **changes)

    @property
    def issue(self) -> ForecastIssue | None:
        """The issue of the forecast that is used; named "typed in" where its hours were corrected or typed by hand."""
        if self.forecast is None:
            return None
        used = next((i for i in self.forecasts if i.table is self.forecast), None)
        return used or ForecastIssue("typed in", self.forecast)

    def with_issue(self, issue: ForecastIssue) -> "Farm":
        """Return a copy that keeps an issue of the forecast and uses it; the others stay, except the same one."""
        others = (i for i in self.forecasts if (i.source, i.issued_at) != (issue.source, issue.issued_at))
        return self.with_(forecasts=(*others, issue), forecast=issue.table)

    def paddock(self, name: str) -> "pd.Series[Any]":
        """Return one paddock's row. Raises SettingError where there is none of that name."""
        found = self.paddocks[self.paddocks["paddock"] == name]
        if found.empty:
            known = ", ".join(self.paddocks["paddock"])
            raise SettingError(f"no paddock is called {name!r}", "farm", f"There are: {known}")
        return found.iloc[0]


def empty_farm(grid: Grid, zone: str, name: str = "New farm") -> Farm:
    """Return a farm with nothing on it."""
    layers = {n: empty_layer(n, grid.crs) for n in ("paddocks", "assets", "neighbours", "breaks_there")}
    return Farm(name=name, grid=grid, zone=zone, **layers)
