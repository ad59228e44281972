"""One night's hours, and the windows in them in which rows may be lit."""

import re
from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.limits import LocalLimits
from mapper.hours.reasons import ORDER
from mapper.hours.rules import MARGIN_MIN, light_hours
from mapper.hours.verdict import Window
from mapper.weather.wind import WindChange

_HOUR = pd.Timedelta(hours=1)
_FIGURES = re.compile(r"[0-9.]+")


def night_hours(hours: pd.DataFrame, night: date, zone: str) -> pd.DataFrame:
    """Return the judged hours from 12:00 local on the night's date to 12:00 the next day (that hour left out)."""
    noon = pd.Timestamp(night.isoformat()) + pd.Timedelta(hours=12)
    # By the wall clock: a night on which the clocks go back has 25 hours.
    first = noon.tz_localize(zone).tz_convert("UTC")
    last = (noon + timedelta(days=1)).tz_localize(zone).tz_convert("UTC")
    return hours[(hours["time_utc"] >= first) & (hours["time_utc"] < last)].reset_index(drop=True)


def windows(
    night_hours: pd.DataFrame, changes: Sequence[WindChange], limits: LocalLimits, burnout_min: float
) -> tuple[Window, ...]:
    """Return the runs of hours in which lighting is allowed (go or caution), in time order.

    ends_at is the last moment to light: rows lit then are out (burnout_min later) before the hour to be out by, before
    a wind change less its spare time (change_margin, 60 min where not known), and before an hour in which fire would
    not stay in the row or of which nothing is known. After a change the next window begins when it should have come
    (at plus sigma). A window's verdict is the worst of its hours, and caution where the spare time is not known.
    """
    if night_hours.empty:
        return ()
    # The last line stands as long as the one before it, an hour at most.
    steps = night_hours["time_utc"].diff().dropna()
    last_step = min(_HOUR, steps.iloc[-1]) if len(steps) else _HOUR
    times = [*night_hours["time_utc"], night_hours["time_utc"].iloc[-1] + last_step]
    out_by = _out_by(night_hours, limits)
    found: list[Window] = []
    for i, j in _runs((night_hours["verdict"] != "no-go").to_numpy(), times):
        # What follows a gap in the table is not known, and neither is what follows its end.
        known_to = min(times[j], times[j - 1] + _HOUR)
        trouble = j == len(night_hours) or known_to < times[j] or night_hours["stay_in_row"].iloc[j] == "no-go"
        ends = [(known_to, "")]
        burn_out = pd.Timedelta(minutes=burnout_min)
        less = f"less {burnout_min:g} min to burn out"
        if trouble:
            ends.append((known_to - burn_out, f"from {_local(known_to, night_hours)} on no-go or not known, {less}"))
        if out_by is not None:
            ends.append((out_by - burn_out, f"out by {_local(out_by, night_hours)}, {less}"))
        last, reason = min(ends, key=lambda e: e[0])
        for starts, stops, because in _round_changes(times[i], last, reason, changes, limits, burnout_min, night_hours):
            if stops > starts:
                found.append(_window(night_hours, starts, stops, because, limits, changes))
    return tuple(found)


def _runs(allowed: NDArray[np.bool_], times: list[pd.Timestamp]) -> list[tuple[int, int]]:
    """First and one-past-last index of each unbroken run of allowed hours."""
    runs: list[tuple[int, int]] = []
    for k in (int(k) for k in np.flatnonzero(allowed)):
        if runs and runs[-1][1] == k and times[k] - times[k - 1] <= _HOUR:
            runs[-1] = (runs[-1][0], k + 1)
        else:
            runs.append((k, k + 1))
    return runs


def _out_by(hours: pd.DataFrame, limits: LocalLimits) -> pd.Timestamp | None:
    """The moment to be out by, on the wall clock of the day on which the night begins."""
    out_by = light_hours(limits)[1]
    if np.isnan(out_by):
        return None
    first = hours["time_local"].iloc[0]
    # Hours that begin after midnight belong to the evening before.
    day = (first.tz_localize(None) - pd.Timedelta(hours=12)).normalize()
    wall = day + pd.Timedelta(hours=out_by)
    # An hour that the clocks skip or show twice: the earlier moment.
    return wall.tz_localize(first.tz, ambiguous=True, nonexistent="shift_backward").tz_convert("UTC")


def _local(at: pd.Timestamp, hours: pd.DataFrame) -> str:
    return f"{at.tz_convert(hours['time_local'].dt.tz):%H:%M}"


def _round_changes(
    begin: pd.Timestamp,
    end: pd.Timestamp,
    reason: str,
    changes: Sequence[WindChange],
    limits: LocalLimits,
    burnout_min: float,
    hours: pd.DataFrame,
) -> list[tuple[pd.Timestamp, pd.Timestamp, str]]:
    """Cut a run of hours round every wind change: start, last lighting, why then."""
    margin = limits.value("change_margin", MARGIN_MIN)
    spans = []
    for change in sorted(changes, key=lambda c: c.at):
        at = pd.Timestamp(change.at)
        last, after = at - pd.Timedelta(minutes=margin + burnout_min), at + pd.Timedelta(minutes=change.sigma_min)
        if after <= begin or last >= end:
            continue
        why = f"wind change about {_local(at, hours)}, less {margin:g} min to spare and {burnout_min:g} min to burn out"
        spans.append((begin, last, why))
        begin = after
    return [*spans, (begin, end, reason)]


def _window(
    night: pd.DataFrame,
    starts: pd.Timestamp,
    stops: pd.Timestamp,
    because: str,
    limits: LocalLimits,
    changes: Sequence[WindChange],
) -> Window:
    """The window's verdict and reasons, each reason once."""
    held = night[(night["time_utc"] > starts - _HOUR) & (night["time_utc"] < stops)]
    worst = max(held["verdict"], key=ORDER.index)
    # Only the hours that spoil the window speak; the same words with another figure are said once, as first met.
    said: dict[str, str] = {}
    for why in held.loc[held["verdict"] == worst, "why"] if worst != "go" else ():
        for sentence in filter(None, why.split("; ")):
            said.setdefault(_FIGURES.sub("#", sentence), sentence)
    if changes and limits.get("change_margin") is None:
        worst = "caution"
        said["margin"] = f"Spare time before a wind change is not known: {MARGIN_MIN:g} min taken"
    if because:
        said["end"] = f"Last lighting {_local(stops, night)}: {because}"
    return Window(starts.floor("s").to_pydatetime(), stops.floor("s").to_pydatetime(), worst, "; ".join(said.values()))
