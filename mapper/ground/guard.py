"""One call a paddock: its exposed edges, its breaks, and what to look at."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import pandas as pd

from mapper.farm.assets import ASSET_KINDS
from mapper.farm.limits import LocalLimits
from mapper.farm.notes import Figure, Level, Remark
from mapper.ground.breaks import wanted_breaks
from mapper.ground.edges import FUEL_T_HA, exposed_edges, fuel, head_intensity
from mapper.ground.exposure import LABEL_CHANCE
from mapper.hours.verdict import Window
from mapper.weather.wind import WindChange

# Things this close to a paddock whose care distance nobody has set are named.
_NEAR_M = 1000.0
# How a ring's side begins (ground/rings.py).
_RING = "Ring round "


@dataclass(frozen=True)
class Guard:
    """What guards one paddock: layers "edges" and "breaks", what to look at, figures with their source."""

    edges: gpd.GeoDataFrame
    breaks: gpd.GeoDataFrame
    remarks: tuple[Remark, ...]
    figures: tuple[Figure, ...]


def guard_paddock(
    paddock: "pd.Series[Any]",
    night_hours: pd.DataFrame,
    changes: Sequence[WindChange],
    windows: Sequence[Window],
    breaks_there: gpd.GeoDataFrame,
    assets: gpd.GeoDataFrame,
    neighbours: gpd.GeoDataFrame,
    limits: LocalLimits,
    crs: Any,
) -> Guard:
    """Return what guards one paddock. windows: the night's, in time order; where there is none the whole night counts.

    Without a forecast the edges stay empty, and only rings are judged. Raises LayerError for a paddock without area.
    """
    window = _whole(windows)
    edges = exposed_edges(paddock, night_hours, changes, breaks_there, assets, limits, crs, window, neighbours)
    head = head_intensity(paddock, night_hours if window is None else _within(night_hours, window))
    breaks = wanted_breaks(paddock, edges, assets, breaks_there, limits, crs, head)
    remarks = (*_short(breaks), *_not_known(paddock, assets, limits))
    return Guard(edges, breaks, remarks, _figures(paddock, edges, head, limits))


def _whole(windows: Sequence[Window]) -> Window | None:
    """From the first window's start to the last one's end."""
    if not windows:
        return None
    return Window(windows[0].starts_at, max(w.ends_at for w in windows), windows[0].verdict)


def _within(night: pd.DataFrame, window: Window) -> pd.DataFrame:
    hour = pd.Timedelta(hours=1)
    return night[(night["time_utc"] > window.starts_at - hour) & (night["time_utc"] < window.ends_at + hour)]


def _short(breaks: gpd.GeoDataFrame) -> list[Remark]:
    """Say each side and ring that is too narrow once, with all its stretches."""
    short = breaks[breaks["short_m"] > 0.05]
    ring = short["side"].str.startswith(_RING)
    remarks = []
    for (side, present, wanted, by), group in short[~ring].groupby(
        ["side", "present_m", "wanted_m", "wanted_by"], sort=False
    ):
        metres = round(float(group["length_m"].sum()), -1)
        # An edge with nothing on it lets any fire out.
        level: Level = "look" if present > 0 else "stop"
        what = (
            f"{side.replace('edge', 'break')} is {present:g} m along {metres:.0f} m"
            if present > 0
            else f"{side}: no break along {metres:.0f} m"
        )
        remarks.append(_too_narrow(what, wanted, by, group, level))
    for (present, wanted, by), group in short[ring].groupby(["present_m", "wanted_m", "wanted_by"], sort=False):
        names = [str(s).removeprefix(_RING) for s in group["side"]]
        rings = f"{'Ring' if len(names) == 1 else 'Rings'} round {_listed(names)} {'is' if len(names) == 1 else 'are'}"
        # A ring can still be raked on the evening.
        remarks.append(
            _too_narrow(f"{rings} {f'{present:g} m' if present > 0 else 'not there'}", wanted, by, group, "look")
        )
    return remarks


def _too_narrow(what: str, wanted: float, by: str, group: gpd.GeoDataFrame, level: Level) -> Remark:
    limit = "Your local limit is" if str(by).startswith("local") else f"For a {by} it wants"
    return Remark("breaks", level, f"{what}. {limit} {wanted:g} m.", str(group["paddock"].iloc[0]), group.union_all())


def _listed(names: list[str]) -> str:
    """Up to five names; more as the first four and a count."""
    if len(names) <= 5:
        return ", ".join(names)
    return f"{', '.join(names[:4])} and {len(names) - 4} more"


def _not_known(paddock: "pd.Series[Any]", assets: gpd.GeoDataFrame, limits: LocalLimits) -> list[Remark]:
    name, remarks = str(paddock["paddock"]), []
    if limits.get("break_edge") is None:
        text = "Width of the break along the edge is not known. Ask who issues the permit, and type the limit in."
        remarks.append(Remark("breaks", "look", text, name, paddock.geometry.boundary))
    away = assets.distance(paddock.geometry) if len(assets) else pd.Series(dtype=float)
    for key, reach, what in (("break_limit", 60.0, "Bare ring"), ("care_limit", _NEAR_M, "Care distance")):
        near = assets[away <= reach]
        asked = {k: getattr(ASSET_KINDS[k], key) for k in near["kind"].unique() if k in ASSET_KINDS}
        unknown = [k for k, limit in asked.items() if limit and limits.get(limit) is None]
        if unknown:
            words = ", ".join(ASSET_KINDS[k].label.lower() for k in unknown)
            where = near[near["kind"].isin(unknown)].union_all()
            remarks.append(Remark("breaks", "look", f"{what} is not known for: {words}.", name, where))
    return remarks


def _figures(
    paddock: "pd.Series[Any]", edges: gpd.GeoDataFrame, head_kw_m: float, limits: LocalLimits
) -> tuple[Figure, ...]:
    if edges.empty:
        return ()
    name = str(paddock["paddock"])
    load, _ = fuel(paddock)
    typed = "" if paddock["stubble_t_ha"] > 0 else f" (not typed in, {FUEL_T_HA:g} taken)"
    worst = edges.loc[edges["reach_m"].idxmax()]
    downwind = float(edges.loc[edges["label"] == "downwind", "length_m"].sum())
    response = limits.value("response_time", 30.0)
    spread = "Cheney, Gould & Catchpole (1998), stubble as grazed grass, flat"
    return (
        Figure(f"{name}: head fire intensity, largest", head_kw_m, "kW/m", spread, f"stubble {load:g} t/ha{typed}"),
        Figure(
            f"{name}: edge that may lie downwind", downwind, "m",
            f"chance of wind within 60 degrees at least {LABEL_CHANCE:g} (our choice)",
            "forecast direction and its spread",
        ),
        Figure(
            f"{name}: deepest reach of an escape to an edge", float(worst["reach_m"]), "m",
            "run within the response time, ellipse after Alexander (1985)", f"response {response:g} min",
        ),
    )  # fmt: skip
