"""Are the rows dry: a plain verdict for every hour and for a moment, until when to wait, with its reasons and doubt."""

from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.limits import LocalLimits
from mapper.farm.ranged import Array
from mapper.hours.fuel import Fuel, Fuels
from mapper.weather.forecast import seconds
from mapper.weather.moisture import DAMP_PCT, Dampness, days_known, days_since_soak

_DAY_S = 86_400.0
# Packed, soaked rows took two weeks or more to reach seed-kill heat (AHRI trial 2007, read); 11 mm in the week before
# spoilt another burn (SARDI S416, read).
SOAKED_LONG_DAYS = 14.0
SOIL = (
    "Damp soil under a dry row is not by itself a stop: about 100 mm in the month before did no harm once rows were "
    "dry (common practice, no source)."
)


class RowStates(NamedTuple):
    """By hour, shape (n,) or (paddocks, n): state "dry", "surface damp", "soaked" or "not known"; days since soaking
    rain (inf where none is known); whether rain long enough back is known; days needed (nan where not known)."""

    state: NDArray[np.object_]
    days: Array
    known: NDArray[np.bool_]
    need_days: float


def row_states(hours: pd.DataFrame, limits: LocalLimits, fuels: Fuels) -> RowStates:
    """Return whether rows are dry, hour by hour. hours: the forecast with moisture_pct (of the row's surface).

    Soaked while fewer than the limit dry_days have passed since the limit soaking_rain fell within 24 h; else by the
    surface, damp from 15 % (common practice, no source). Rain since soaking that does not soak counts in the surface.
    """
    soak, dry_days = limits.get("soaking_rain"), limits.get("dry_days")
    surface = hours["moisture_pct"].to_numpy()
    shape = fuels.shape(len(hours))
    if soak is None or dry_days is None:
        days, known, need = np.full(shape, np.inf), np.zeros(shape, bool), float("nan")
    else:
        need = dry_days.value
        before = fuels.since_soak_s(seconds(hours["time_utc"])) / _DAY_S
        days = np.broadcast_to(np.minimum(days_since_soak(hours, hours["time_utc"], soak.value), before), shape)
        reaches = days_known(hours, hours["time_utc"]) >= need
        known = np.broadcast_to(reaches | fuels.soak_known() | (days < np.inf), shape)
    soaked = days < need if np.isfinite(need) else np.zeros(shape, bool)
    by_surface = np.where(np.isnan(surface), "not known", np.where(surface >= DAMP_PCT, "surface damp", "dry"))
    return RowStates(np.where(soaked, "soaked", by_surface).astype(object), np.asarray(days), np.asarray(known), need)


@dataclass(frozen=True)
class RowState:
    """Whether rows are dry enough at a moment, in plain words.

    surface_pct with low and high: moisture of the row's surface, % (NaN not known). wait_until: UTC, when rows are
    likely to be dry, with earliest and latest; None where they are dry now, or will not be within the hours known.
    words: the verdict and until when to wait; why: its reasons, one sentence each.
    """

    state: Dampness
    surface_pct: float
    low_pct: float
    high_pct: float
    days_dry: float
    wait_until: datetime | None
    earliest: datetime | None
    latest: datetime | None
    words: str
    why: tuple[str, ...]


def row_state(hours: pd.DataFrame, at: datetime, limits: LocalLimits, fuel: Fuel | None = None) -> RowState:
    """Return whether rows are dry at a moment (UTC) and, if not, until about when to wait.

    hours: of judge_hours, all of them (not only a night's: rain of days before counts). The doubt in the surface comes
    from not knowing how damp it was before the first hour, and from the equation.
    """
    states = row_states(hours, limits, Fuels(fuel or Fuel()))
    zone = hours["time_local"].dt.tz
    start = seconds(hours["time_utc"])
    now = at.timestamp()
    k = int(np.searchsorted(start, now, side="right")) - 1
    if k < 0 or now - start[k] > 3600.0 or states.state[k] == "not known":
        words = "Not known: the forecast says nothing of this hour."
        nan = float("nan")
        return RowState("not known", nan, nan, nan, nan, None, None, None, words, ())
    state: Dampness = states.state[k]
    surface, low, high = (float(hours[c].iloc[k]) for c in ("moisture_pct", "moisture_low_pct", "moisture_high_pct"))
    days = float(states.days[k])
    doubt = f"surface about {surface:.0f} % ({low:.0f} to {high:.0f}), damp from {DAMP_PCT:g} %"
    why = [doubt[0].upper() + doubt[1:] + "."]
    if np.isnan(states.need_days):
        why.append("How much rain soaks a row here, and how long it takes to dry, is not known.")
    elif not states.known[k]:
        why.append(f"Rain before {hours['time_local'].iloc[0]:%d %b %H:%M} is not known: test a row first.")
    waits = _waits(hours, states, k, now)
    if state == "soaked":
        why.insert(0, f"Soaking rain fell {_days(days)} before; rows need {states.need_days:g} days here.")
        why.append(
            "Packed rows stay wet inside for two weeks or more (AHRI trial 2007): open one up and feel it first."
        )
    elif np.isfinite(days):
        why.append(f"Soaking rain fell {_days(days)} before, and your {states.need_days:g} days to dry have passed.")
        why.append(SOIL)
    return RowState(state, surface, low, high, days, *waits, _words(state, waits, hours, zone), tuple(why))


def _days(days: float) -> str:
    return f"{days:.0f} days" if days >= 1.5 else f"{24 * days:.0f} h"


Waits = tuple[datetime | None, datetime | None, datetime | None]


def _waits(hours: pd.DataFrame, states: RowStates, k: int, now: float) -> Waits:
    """When rows are dry: likely, earliest, latest. None where not within the hours."""
    if states.state[k] == "dry":
        return None, None, None
    start = seconds(hours["time_utc"])
    soak_ends = 0.0
    if states.state[k] == "soaked":
        soak_ends = start[k] + _DAY_S * (states.need_days - float(states.days[k]))
    later = np.arange(len(start)) >= k
    # Rain to come soaks again.
    free = later & (start >= soak_ends) & (states.state != "soaked")

    def first(column: str) -> float:
        dry = np.flatnonzero(free & (hours[column].to_numpy() < DAMP_PCT))
        return float(start[dry[0]]) if len(dry) else np.nan

    found = [first(c) for c in ("moisture_pct", "moisture_low_pct", "moisture_high_pct")]
    if states.state[k] == "soaked":
        # Beyond the forecast the days alone speak.
        found = [soak_ends if np.isnan(f) and soak_ends > start[-1] else f for f in found]
        found[2] = max(start[k] + _DAY_S * (SOAKED_LONG_DAYS - float(states.days[k])), np.nan_to_num(found[2]))
    utc = [None if np.isnan(f) else pd.Timestamp(max(f, now), unit="s", tz="UTC").to_pydatetime() for f in found]
    return utc[0], utc[1], utc[2]


def _words(state: Dampness, waits: Waits, hours: pd.DataFrame, zone: object) -> str:
    head = {"dry": "Rows are dry.", "surface damp": "Rows are damp on the surface", "soaked": "Rows are soaked"}[state]
    if state == "dry":
        return head

    def when(at: datetime) -> str:
        local = pd.Timestamp(at).tz_convert(zone)  # type: ignore[arg-type]
        return f"{local:%a} {local.day} {local:%b}" + (f" {local:%H:%M}" if state == "surface damp" else "")

    likely, earliest, latest = waits
    if likely is None:
        end = hours["time_local"].iloc[-1]
        return f"{head}, and not dry again within the hours known (to {end:%a} {end.day} {end:%b %H:%M}): wait."
    doubt = ""
    if latest is not None and (earliest or likely) < latest:
        doubt = f" (between {when(earliest or likely)} and {when(latest)})"
    elif latest is None:
        doubt = f" (from {when(earliest or likely)} on; it may be later than the hours known)"
    return f"{head}: wait until about {when(likely)}{doubt}."
