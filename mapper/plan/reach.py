"""Whom the night's smoke may reach, when, how thick and how likely, in words for paper and for those who are told.

Two ends are told. High: smoke that keeps to the ground, from damp straw; the safe side, and what the map's footprints
show. Low: smoke that rises with all the heat of clean, dry burning. Where even the low end passes a limit in a wind as
likely as not, the plan stops. Where only the high end does, or in a less likely wind, nobody can say: caution, with
what to do, and no go before those there have been told (plan/tell.py): with smoke on a road somebody must stand there.
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
import shapely

from mapper.farm.assets import ASSET_KINDS
from mapper.farm.farm import Farm
from mapper.farm.notes import Remark
from mapper.farm.ranged import Array
from mapper.weather.smoke import FOG_RH_PCT, LEVELS_UG_M3, visibility_m
from mapper.weather.smokeat import smoke_between
from mapper.weather.wind import DirectionSpread

RECEIVERS = ("house", "road", "vineyard", "town", "railway")
_SEEN_THROUGH = ("road", "railway")
# Points for judging smoke along lines and round areas.
_EVERY_M = 200.0
# Thicker smoke and shorter sight than these are beyond the published table (5000 ug/m3, 160 m): not told in figures.
_MOST_UG_M3, _LEAST_SIGHT_M = 5000.0, 100.0
_HOUR = pd.Timedelta(hours=1)
# As likely as not: our choice of what stops a plan.
LIKELY = 0.5

REACH_COLUMNS: dict[str, str] = {
    "asset": "object",
    "kind": "object",
    "name": "object",
    "level": "object",  # of smoke.LEVELS_UG_M3, the thickest the high end reaches
    "first": "datetime64[ns, UTC]",
    "last": "datetime64[ns, UTC]",  # end of the last hour
    "thickest": "datetime64[ns, UTC]",  # start of the hour with the most smoke
    "chance": "float64",  # of a wind that brings haze or more, in the likeliest hour, 0 to 1
    "pm25_low_ug_m3": "float64",
    "pm25_high_ug_m3": "float64",
    "sight_m": "float64",  # at the high end, the least in dry air; NaN in damp air or away from roads
    "damp": "bool",  # smoke in damp air: fog danger, sight not worked out
    "over": "object",  # "" no limit passed; "may" at the high end; "will" at the low end too, in a likely wind
    "words": "object",
}


def no_reach() -> pd.DataFrame:
    """Return the table with nobody in it."""
    return pd.DataFrame({c: pd.Series([], dtype=t) for c, t in REACH_COLUMNS.items()})


@dataclass
class _Met:
    """What one receiver met, hour by hour."""

    hours: list[pd.Timestamp] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    chance: list[float] = field(default_factory=list)
    sight: list[float] = field(default_factory=list)
    damp: bool = False
    over: str = ""


class Reach:
    """Gathers hour by hour whom the smoke may reach; then table() and remarks()."""

    def __init__(self, farm: Farm) -> None:
        self.farm = farm
        self.receivers = farm.assets[farm.assets["kind"].isin(RECEIVERS)].reset_index(drop=True)
        points = [_points(shape) for shape in self.receivers.geometry]
        self._owner = np.repeat(np.arange(len(points)), [len(p) for p in points])
        self._points = np.concatenate(points) if points else np.empty((0, 2))
        self._met = [_Met() for _ in points]
        self._limit = farm.limits.value("smoke_pm25", LEVELS_UG_M3["haze"])
        self._least_sight = farm.limits.value("visibility_min")

    def hour(self, hour: "pd.Series[Any]", xy: Array, rate: Array, spread: DirectionSpread) -> list[tuple[str, str]]:
        """Take one hour in; return (verdict, sentence) for each receiver it does something to."""
        haze = LEVELS_UG_M3["haze"]
        at = (hour["wind_km_h"], spread, hour["stability"], haze, self._limit, self.farm.row_burn.emission_g_kg)
        found = smoke_between(self._points, xy, rate, *at, self._owner)
        said = []
        for k in np.flatnonzero(found.high >= haze):
            met, asset = self._met[k], self.receivers.iloc[k]
            met.hours.append(hour["time_utc"])
            for kept, value in ((met.high, found.high), (met.low, found.low), (met.chance, found.chance)):
                kept.append(float(value[k]))
            said += self._judge(met, asset, hour, float(found.high[k]), float(found.sure[k]))
        return said

    def _judge(
        self, met: _Met, asset: "pd.Series[Any]", hour: "pd.Series[Any]", high: float, sure: float
    ) -> list[tuple[str, str]]:
        name, said = name_of(asset), []
        if sure >= LIKELY:
            met.over = "will"
            said.append(("no-go", f"Smoke will pass your limit of {self._limit:g} ug/m3 at {name}, even if it rises"))
        elif high > self._limit:
            met.over = met.over or "may"
            said.append(("caution", f"Smoke may pass your limit of {self._limit:g} ug/m3 at {name}"))
        if asset["kind"] not in _SEEN_THROUGH:
            return said
        if not hour["rh_pct"] < FOG_RH_PCT:
            met.damp = True
            return [*said, ("caution", f"Air is damp: smoke on {name} can turn to fog thicker than smoke")]
        sight = float(visibility_m(high, hour["rh_pct"]))
        met.sight.append(sight)
        if sight < self._least_sight:
            met.over = met.over or "may"
            limit = f"your limit is {self._least_sight:g} m"
            said.append(("caution", f"Sight on {name} may fall to {_metres(sight)}; {limit}"))
        return said

    def table(self) -> pd.DataFrame:
        """Return one line for each receiver that haze or more may reach, the likeliest first (REACH_COLUMNS)."""
        lines = [self._line(k) for k, met in enumerate(self._met) if met.hours]
        if not lines:
            return no_reach()
        table = pd.DataFrame({c: [line[c] for line in lines] for c in REACH_COLUMNS})
        for c in ("first", "last", "thickest"):
            table[c] = pd.to_datetime(table[c], utc=True).astype("datetime64[ns, UTC]")
        return table.sort_values(["chance", "pm25_high_ug_m3"], ascending=False, kind="stable", ignore_index=True)

    def _line(self, k: int) -> dict[str, Any]:
        met, asset = self._met[k], self.receivers.iloc[k]
        worst = int(np.argmax(met.high))
        level = max((n for n, v in LEVELS_UG_M3.items() if v <= met.high[worst]), key=_thickness)
        line = {
            "asset": asset["asset"],
            "kind": asset["kind"],
            "name": name_of(asset),
            "level": level,
            "first": met.hours[0],
            "last": met.hours[-1] + _HOUR,
            "thickest": met.hours[worst],
            "chance": max(met.chance),
            "pm25_low_ug_m3": max(met.low),
            "pm25_high_ug_m3": met.high[worst],
            "sight_m": min(met.sight, default=float("nan")),
            "damp": met.damp,
            "over": met.over,
        }
        return {**line, "words": self._words(line)}

    def _words(self, line: dict[str, Any]) -> str:
        first, last, thickest = (
            f"{pd.Timestamp(line[c]).tz_convert(self.farm.zone):%H:%M}" for c in ("first", "last", "thickest")
        )
        text = f"{line['name']}: {line['level']} may come {first} to {last}"
        if last != first and line["last"] - line["first"] > _HOUR:
            text += f", most about {thickest}"
        text += f"; {odds(line['chance'])} that the wind brings it"
        low = max(
            (n for n, v in LEVELS_UG_M3.items() if v <= line["pm25_low_ug_m3"]), key=_thickness, default="clear air"
        )
        if low != line["level"]:
            text += f". If it rises well, {low}; if it keeps to the ground, {line['level']}"
        text += f" ({_amount(line['pm25_low_ug_m3'])} to {_amount(line['pm25_high_ug_m3'])} ug/m3)"
        if line["damp"]:
            text += ". Damp air: smoke can turn to fog there; how far one sees cannot be worked out"
        elif line["kind"] in _SEEN_THROUGH:
            text += f". One may see only {_metres(line['sight_m'])}"
        return text + "."

    def remarks(self) -> tuple[Remark, ...]:
        """Return a stop where smoke is likely to pass a limit, a look where it may or where damp air lies on a road."""
        found = []
        for k, met in enumerate(self._met):
            if not met.hours or not (met.over or met.damp):
                continue
            line, shape = self._line(k), self.receivers.geometry.iloc[k]
            words = line["words"]
            kind = ASSET_KINDS[self.receivers["kind"].iloc[k]]
            if met.over == "will":
                text = f"{words} Even if it rises it passes your limit, in the likely wind: burn in another."
                found.append(Remark("order", "stop", text, where=shape))
            else:
                todo = "signs and a lookout there" if kind.kind in _SEEN_THROUGH else "tell them, and watch it"
                found.append(
                    Remark("order", "look", f"{words} At the ground it may pass your limit: {todo}.", where=shape)
                )
        return tuple(found)


def odds(chance: float) -> str:
    """Return a chance in words: "about 3 in 10", "under 1 in 20"."""
    if chance < 0.05:
        return "under 1 in 20"
    if chance >= 0.95:
        return "almost sure"
    return f"about {max(1, round(10 * chance))} in 10"


def name_of(asset: "pd.Series[Any]") -> str:
    """Return what an asset is called."""
    return str(asset["name"] or asset["asset"] or asset["kind"])


def _points(shape: Any) -> Array:
    """Where smoke is judged: every 200 m on lines and round areas, and a point inside an area."""
    if shape.geom_type.endswith("Point"):
        return np.asarray(shapely.get_coordinates(shape))
    along = shape.boundary if shape.geom_type.endswith("Polygon") else shape
    points = shapely.get_coordinates(shapely.segmentize(along, _EVERY_M))
    if shape.geom_type.endswith("Polygon"):
        points = np.vstack([points, shapely.get_coordinates(shape.representative_point())])
    return np.asarray(points)


def _thickness(level: str) -> float:
    return LEVELS_UG_M3[level]


def _amount(pm25: float) -> str:
    """Two figures of smoke; beyond what the equations were made for only that it is over."""
    if pm25 > _MOST_UG_M3:
        return f"over {_MOST_UG_M3:g}"
    return "under 1" if pm25 < 1 else f"{float(f'{pm25:.2g}'):g}"


def _metres(sight_m: float) -> str:
    """One figure of sight; nearer than the plume's own least distance nobody can tell."""
    return f"{float(f'{sight_m:.1g}'):g} m" if sight_m >= _LEAST_SIGHT_M else f"under {_LEAST_SIGHT_M:g} m"
