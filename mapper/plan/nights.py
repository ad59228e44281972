"""The nights to come: which paddocks on which, and why not the others."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from mapper.farm.errors import Stopped
from mapper.farm.farm import Crew, Farm
from mapper.farm.layers import empty_layer
from mapper.farm.notes import Remark
from mapper.ground.guard import Guard
from mapper.hours.coming import NightToCome, nights_to_come
from mapper.hours.verdict import Window
from mapper.order.lighting import lighting_times
from mapper.order.nights import choose_nights
from mapper.plan.check import check_crew
from mapper.plan.job import work
from mapper.plan.request import NightRequest
from mapper.plan.tell import NOT_TOLD, TOLD, who_to_tell
from mapper.plan.workings import Workings

# A night later is worth this share less, so that of two like nights the nearer is taken. Our choice.
_LATER = 0.01
# Longer than this share of the longest night a paddock is parted over several nights at once. Our choice.
_MOST_PARTS = 4
SUITED, TELL_FIRST, BREAK_OPEN, NOT = "suited", "tell first", "break open", "not"


@dataclass(frozen=True)
class NightsRequest:
    """Which nights to look at. made_at: UTC, the clock passed in. matters: how much a paddock counts against others,
    1 where nothing is said. paddocks: names to consider; empty means all that have rows. seconds: for the solver.
    """

    first: date
    made_at: datetime
    nights: int = 7
    matters: Mapping[str, float] = field(default_factory=dict)
    paddocks: tuple[str, ...] = ()
    seconds: float = 5.0


@dataclass(frozen=True)
class NightsPlan:
    """The nights to come.

    nights: as far as the forecast reaches. table: one line a paddock and night, columns paddock, night, state (SUITED,
    TELL_FIRST, BREAK_OPEN or NOT), chosen, why (one sentence), need_h, there_h, risk (chance that a fire which gets to
    an edge crosses it, mean over the edge by depth of reach; NaN where not known), tell_by (UTC), part ("1 of 2" of a
    paddock that takes more than one night, else ""). worth and bound: of the choice (order/nights.py).
    """

    nights: tuple[NightToCome, ...]
    table: pd.DataFrame
    remarks: tuple[Remark, ...]
    worth: float
    bound: float


@dataclass(frozen=True)
class _Offer:
    """A paddock on a night."""

    state: str
    why: str
    risk: float
    tell_by: Any


def plan_nights(
    farm: Farm,
    request: NightsRequest,
    workings: Workings | None = None,
    progress: Callable[[str, int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[NightsPlan, Workings]:
    """Return which paddocks to burn on which of the coming nights, and the workings (as plan/job.run).

    A paddock suits a night that has a window, with its breaks in order under that night's wind and enough time to tell
    those who must be told. Of what suits, the choice burns the most hectares that matter, less the risk, sooner rather
    than later, within each night's hours. Left out: waiting for one row to burn before the next (the order of a night
    knows it), neighbours told for smoke alone, bans of nights to come.
    """
    workings, asked = workings or Workings(), cancelled or (lambda: False)
    nights: list[NightToCome] = []
    offers: dict[tuple[str, date], _Offer] = {}
    names: tuple[str, ...] = ()
    windrows = empty_layer("windrows", farm.grid.crs)
    for k in range(request.nights):
        if asked():
            raise Stopped
        if progress is not None:
            progress("hours", k, request.nights)
        day = request.first + timedelta(days=k)
        workings = work(
            farm, NightRequest(day, request.made_at), workings, ("rows", "hours", "ground"), None, cancelled
        )
        windrows = workings.done["rows"].output[0]
        judged, _, changes, open_, _ = workings.done["hours"].output
        coming = nights_to_come(judged, farm.zone, farm.limits, changes, farm.row_burn.burnout_min)
        night = next((c for c in coming if c.night == day), None)
        if night is None:
            continue
        nights.append(night)
        names = tuple(n for n in dict.fromkeys(windrows["paddock"]) if n in (request.paddocks or (n,)))
        guard: Guard = workings.done["ground"].output[0]
        for name in names:
            offers[name, day] = _offer(farm, name, night, open_, guard, request.made_at)
    table, worth, bound = _chosen(farm, request, tuple(nights), names, offers, windrows)
    remarks = (*check_crew(farm), *_not_seen(request, tuple(nights), names))
    return NightsPlan(tuple(nights), table, remarks, worth, bound), workings


def _offer(farm: Farm, name: str, night: NightToCome, open_: tuple[Window, ...], guard: Guard, now: datetime) -> _Offer:
    """Judge one paddock on one night: hours first, then breaks, then notice."""
    stops = [r for r in guard.remarks if r.paddock == name and r.level == "stop"]
    risk = _risk(guard.edges[guard.edges["paddock"] == name])
    if not open_:
        return _Offer(NOT, f"not: {night.against or 'no window'}", risk, pd.NaT)
    if stops:
        return _Offer(BREAK_OPEN, stops[0].text, risk, pd.NaT)
    burnt = farm.paddock(name).geometry
    tell = who_to_tell(farm, burnt, empty_layer("smoke", farm.grid.crs), open_[0].starts_at, now)
    waiting = tell[tell["blocks"].astype(bool) & (tell["state"] != TOLD)]
    late = waiting[(waiting["by"] < now) | (waiting["state"] != NOT_TOLD)]
    if len(late):
        return _Offer(NOT, f"not: too late to tell {_listed(late['who'])}", risk, waiting["by"].min())
    if waiting["by"].isna().any():
        return _Offer(NOT, "not: how long before lighting to tell is not known", risk, pd.NaT)
    if len(waiting):
        by = pd.Timestamp(waiting["by"].min()).tz_convert(farm.zone)
        why = f"Tell {_listed(waiting['who'])} by {by:%a} {by.day} {by:%b %H:%M}"
        return _Offer(TELL_FIRST, why, risk, waiting["by"].min())
    return _Offer(SUITED, "Hours, breaks and notice are in order", risk, pd.NaT)


def _listed(names: "pd.Series[Any]") -> str:
    said = list(dict.fromkeys(str(n) for n in names))
    return ", ".join(said) if len(said) <= 3 else f"{', '.join(said[:2])} and {len(said) - 2} more"


def _risk(edges: gpd.GeoDataFrame) -> float:
    """Chance that a fire which gets to the edge crosses it, weighted by length and depth of reach."""
    weight = (edges["reach_m"] * edges["length_m"]).to_numpy()
    return float((edges["breach"].to_numpy() * weight).sum() / weight.sum()) if weight.sum() > 0 else float("nan")


def hours_needed(windrows: gpd.GeoDataFrame, farm: Farm) -> float:
    """Return hours to light all rows with all crews: along each row, its points, and the way to the next.

    Crews share the rows evenly. Waiting for a row downwind to burn is left out, and the last rows' burn-out too: it
    lies after the last lighting.
    """
    crews = farm.crews or (Crew("1"),)
    lengths = windrows["length_m"].to_numpy()
    lighting = lighting_times(lengths, crews, farm.row_burn).lighting_s.sum(axis=1)
    pitch = farm.harvesters[0].header_width_m if farm.harvesters else 12.0
    travel = np.array([len(lengths) * pitch / (c.travel_km_h / 3.6) for c in crews])
    return float(1.0 / (1.0 / np.maximum(lighting + travel, 1e-9)).sum() / 3600.0)


def _chosen(
    farm: Farm,
    request: NightsRequest,
    nights: tuple[NightToCome, ...],
    names: tuple[str, ...],
    offers: Mapping[tuple[str, date], _Offer],
    windrows: gpd.GeoDataFrame,
) -> tuple[pd.DataFrame, float, float]:
    there = np.array([sum((w.ends_at - w.starts_at).total_seconds() for w in n.windows) / 3600.0 for n in nights])
    needs = [hours_needed(windrows[windrows["paddock"] == n], farm) for n in names]
    longest = float(there.max(initial=0.0))
    # A paddock longer than any night is lit in parts.
    parts = [int(min(max(np.ceil(h / longest - 1e-9), 1), _MOST_PARTS)) if longest > 0 else 1 for h in needs]
    item = [(i, k) for i, count in enumerate(parts) for k in range(count)]
    shape = (len(item), len(nights))
    worth, allowed = np.zeros(shape), np.zeros(shape, dtype=bool)
    for row, (i, _) in enumerate(item):
        ha = farm.paddock(names[i]).geometry.area / 1e4 / parts[i]
        for col, night in enumerate(nights):
            offer = offers[names[i], night.night]
            risk = 1.0 if np.isnan(offer.risk) else offer.risk
            worth[row, col] = ha * request.matters.get(names[i], 1.0) * (1.0 - risk) * (1.0 - _LATER * col)
            allowed[row, col] = offer.state in (SUITED, TELL_FIRST)
    need = np.array([needs[i] / parts[i] for i, _ in item])
    choice = choose_nights(need, there, np.maximum(worth, 0.0), allowed, request.seconds)
    lines = []
    for row, (i, k) in enumerate(item):
        part = f"{k + 1} of {parts[i]}" if parts[i] > 1 else ""
        for col, night in enumerate(nights):
            offer = offers[names[i], night.night]
            state, why, chosen = offer.state, offer.why, bool(choice.night[row] == col)
            if allowed[row, col] and need[row] > there[col] + 1e-9:
                state, why = NOT, f"not: takes {need[row]:.1f} h, the night has {there[col]:.1f} h"
            lines.append(
                (names[i], night.night, state, chosen, why, need[row], there[col], offer.risk, offer.tell_by, part)
            )
    columns = ["paddock", "night", "state", "chosen", "why", "need_h", "there_h", "risk", "tell_by", "part"]
    return pd.DataFrame(lines, columns=columns), choice.worth, choice.bound


def _not_seen(request: NightsRequest, nights: tuple[NightToCome, ...], names: tuple[str, ...]) -> list[Remark]:
    found = []
    if len(nights) < request.nights:
        text = f"The forecast reaches {len(nights)} of the {request.nights} nights asked for."
        found.append(Remark("evening", "look", text))
    if not names and nights:
        found.append(Remark("rows", "look", "No paddock has rows: there is nothing to plan."))
    return found
