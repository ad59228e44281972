"""What every sheet says of the night: clock times, winds, gate, people, sources."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import shapely

from mapper.draw.words import tr
from mapper.farm.magnetic import norths
from mapper.plan.burnplan import BurnPlan

# A gate this near to a paddock opens into it: a road verge or a headland lies between.
GATE_REACH_M = 25.0


def _evidence() -> dict[str, str]:
    """How rows came to be known, in words."""
    return {
        "log": tr("from the harvester log"),
        "header flag": tr("by its header flag"),
        "fresh ground": tr("by fresh ground"),
        "end of row estimated": tr("some row ends estimated"),
        "estimated": tr("estimated"),
    }


def compass(bearing_deg: float) -> str:
    """Return the nearest of sixteen compass points."""
    points = tr("N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW").split()
    return points[round(bearing_deg / 22.5) % 16]


def local(plan: BurnPlan, at: Any) -> datetime:
    """Return a UTC time as the farm's local time."""
    moment: datetime = pd.Timestamp(at).tz_convert(ZoneInfo(plan.farm.zone)).to_pydatetime()
    return moment


def clock(plan: BurnPlan, at: Any) -> str:
    """Return "18:30" in local time; empty where there is none. The nearest minute."""
    if at is None or pd.isna(at):
        return ""
    return local(plan, pd.Timestamp(at).round("min")).strftime("%H:%M")


def day(at: Any, year: bool = True) -> str:
    """Return "Sat 18 April 2026"."""
    return f"{at:%a} {at.day} {at:%B}" + (f" {at:%Y}" if year else "")


def when(plan: BurnPlan, at: Any, year: bool = False) -> str:
    """Return "Fri 17 Apr 16:40" in local time, "Fri 17 Apr 2026 16:40" with its year."""
    moment = local(plan, at)
    return f"{moment:%a} {moment.day} " + moment.strftime("%b %Y %H:%M" if year else "%b %H:%M")


@dataclass(frozen=True)
class NightWind:
    """Wind over a stretch of the night, from the forecast."""

    from_deg: float
    km_h: float
    gust_km_h: float
    starts_at: datetime | None
    ends_at: datetime | None

    @property
    def words(self) -> str:
        """The compass point it blows from."""
        return compass(self.from_deg)


def lands_of(plan: BurnPlan, paddock: str | None = None) -> Any:
    """Return the farm's layer of the paddock, or of all paddocks of the night."""
    lands = plan.farm.paddocks
    return lands[lands["paddock"].isin(plan.paddocks if paddock is None else (paddock,))]


def area_words(lands: Any) -> str:
    """Return the area of a layer of paddocks: "89 ha", "2.3 ha"."""
    area = float(lands.geometry.area.sum()) / 1e4
    return f"{area:.0f} ha" if area >= 10 else f"{area:.1f} ha"


def lit_span(plan: BurnPlan, paddock: str | None = None) -> tuple[Any, Any]:
    """Return first lighting and last row out, UTC, of a paddock or the night; NaT where nothing is lit."""
    pieces = plan.pieces[plan.pieces["order_no"] > 0]
    if paddock is not None:
        pieces = pieces[pieces["paddock"] == paddock]
    return (pieces["lit_at"].min(), pieces["out_at"].max()) if len(pieces) else (pd.NaT, pd.NaT)


def wind_while(plan: BurnPlan, starts_at: Any, ends_at: Any) -> NightWind | None:
    """Return the forecast wind between two times (or the first of the window's hours); None where there is none."""
    hours = plan.hours
    if not len(hours) or "wind_from_deg" not in hours:
        return None
    if pd.isna(starts_at) and plan.windows:
        starts_at, ends_at = plan.windows[0].starts_at, plan.windows[0].ends_at
    if pd.isna(starts_at):
        return None
    inside = hours[(hours["time_utc"] > starts_at - pd.Timedelta("1h")) & (hours["time_utc"] <= ends_at)]
    inside = inside[np.isfinite(inside["wind_from_deg"]) & np.isfinite(inside["wind_km_h"])]
    if inside.empty:
        return None
    turn = np.radians(inside["wind_from_deg"].to_numpy())
    weight = np.maximum(inside["wind_km_h"].to_numpy(), 0.1)
    mean = float(np.degrees(np.arctan2((weight * np.sin(turn)).sum(), (weight * np.cos(turn)).sum())) % 360)
    return NightWind(
        mean, float(inside["wind_km_h"].mean()), float(inside["gust_km_h"].max()), starts_at, ends_at
    )  # fmt: skip


def winds(plan: BurnPlan, paddock: str | None = None) -> tuple[NightWind | None, NightWind | None]:
    """Return the wind while burning before any change, and the wind after the first change that follows lighting."""
    first, last = lit_span(plan, paddock)
    change = next((c for c in plan.changes if pd.isna(first) or c.at > first), None)
    until = last if change is None or pd.isna(last) else min(last, pd.Timestamp(change.at))
    now = wind_while(plan, first, until)
    if change is None:
        return now, None
    after = plan.hours[(plan.hours["time_utc"] >= change.at)].head(3) if len(plan.hours) else plan.hours
    gust = float(after["gust_km_h"].max()) if len(after) else float("nan")
    return now, NightWind(change.to_deg, change.to_km_h, gust, change.at, None)


@dataclass(frozen=True)
class GatePlace:
    """The gate to name in an emergency call, with its place on the grid (metres) and on the globe (degrees, WGS 84)."""

    name: str
    east: float
    north: float
    lon: float
    lat: float

    @property
    def words(self) -> str:
        """The gate and its latitude and longitude in degrees and decimal minutes."""
        return f"{self.name}: {_minutes(self.lat, tr('N'), tr('S'))}, {_minutes(self.lon, tr('E'), tr('W'))} (WGS 84)"


def _minutes(degrees: float, plus: str, minus: str) -> str:
    whole, minutes = divmod(round(abs(degrees) * 60_000), 60_000)
    # No line breaks inside a position.
    return f"{plus if degrees >= 0 else minus}\N{NO-BREAK SPACE}{whole}°\N{NO-BREAK SPACE}{minutes / 1000:06.3f}'"


def gate_place(plan: BurnPlan, paddock: str | None = None) -> GatePlace:
    """Return the gate to name in an emergency call.

    Of the gates at the paddock (GATE_REACH_M) the one nearest to the first lighting point; else the farm's gate
    nearest to the paddock; the paddock's own middle where the farm has no gate."""
    mine = lands_of(plan, paddock)
    points = plan.lighting_points
    points = points[(points["order_no"] > 0) & points["paddock"].isin(mine["paddock"])].sort_values(
        ["lit_at", "order_no"]
    )
    target = (
        points.geometry.iloc[0] if len(points) else shapely.union_all(mine.geometry.to_numpy()).representative_point()
    )
    gates = plan.farm.assets[plan.farm.assets["kind"] == "gate"]
    if len(gates):
        land = shapely.union_all(mine.geometry.to_numpy())
        apart = gates.geometry.distance(land).to_numpy()
        own = gates[apart <= GATE_REACH_M]
        gate = (
            own.iloc[int(np.argmin(own.geometry.distance(target)))] if len(own) else gates.iloc[int(np.argmin(apart))]
        )
        spot, name = (
            gate.geometry.representative_point(),
            tr("gate {gate}").format(gate=gate["name"] or gate["asset"]).replace("gate Gate", "gate"),
        )
    else:
        spot = shapely.union_all(mine.geometry.to_numpy()).representative_point()
        name = tr("middle of the paddock")
    lon, lat = plan.farm.grid.to_lonlat(spot.x, spot.y)
    return GatePlace(name, float(spot.x), float(spot.y), float(lon), float(lat))


def nearest_road(plan: BurnPlan, paddock: str | None = None) -> str:
    """Return the name of the public road nearest to the gate; empty where none is known."""
    roads = plan.farm.assets[(plan.farm.assets["kind"] == "road") & (plan.farm.assets["name"] != "")]
    if roads.empty:
        return ""
    gate = gate_place(plan, paddock)
    return str(roads.iloc[int(np.argmin(roads.geometry.distance(shapely.Point(gate.east, gate.north))))]["name"])


def source_line(plan: BurnPlan, paddock: str | None = None) -> str:
    """Return who made the plan and when, its data, and the grid: the source statement of the sheet."""
    rows = plan.windrows if paddock is None else plan.windrows[plan.windrows["paddock"] == paddock]
    said = {part for e in rows["evidence"].unique() for part in str(e).split(", ") if part} if len(rows) else set()
    known = _evidence()
    evidence = [words for part, words in known.items() if part in said] + sorted(said - set(known))
    by = tr(" by {author}").format(author=plan.author) if plan.author else ""
    gate = gate_place(plan, paddock)
    north = norths(plan.farm.grid, gate.east, gate.north, plan.night)
    made = tr("invented data; ") if plan.farm.invented else ""
    return tr(
        "Made {when}{by}, plan no. {number}. Sources: {made}rows {join}; boundary, assets and limits typed "
        "in by the farm; hours from the forecast. Grid and datum: {name}, metres. {words} Times: {zone}."
    ).format(
        when=when(plan, plan.made_at, year=True),
        by=by,
        number=plan.number,
        made=made,
        join=", ".join(evidence) or tr("not known"),
        name=plan.farm.grid.name,
        words=north.words,
        zone=plan.farm.zone,
    )


def in_charge(plan: BurnPlan) -> str:
    """Return the person in charge, or a line to write on."""
    return plan.farm.in_charge or "_______________"
