"""One night's hours, and the windows in them in which rows may be lit."""

import re
from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.limits import LocalLimits
from mapper.hours.lighting import MARGIN_MIN, hour_ends, last_light, spare_min, trouble_from
from mapper.hours.reasons import ORDER
from mapper.hours.rules import light_hours
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


# What an hour says of itself; whether rows may be lit in it follows from the hours after it, which windows cut.
OF_THE_HOUR = ("stay_in_row", "heat", "smoke", "local_rules")


def windows(
    night_hours: pd.DataFrame, changes: Sequence[WindChange], limits: LocalLimits, burnout_min: float
) -> tuple[Window, ...]:
    """Return the runs of hours in which lighting is allowed (go or caution), in time order.

    ends_at is the last moment to light: rows lit then are out (burnout_min later) before the hour to be out by, with
    spare time (limit burnout_margin, 30 min where not set) before an hour in which fire would not stay in the row or of
    which nothing is known, and before a wind change less its spare time (change_margin, 60 min where not known) or two
    sigma of the change if that is more. After a change the next window begins when it should have come (at plus sigma).
    A window's verdict is the worst of its hours, and caution where the spare time is not known.
    """
    if night_hours.empty:
        return ()
    _, end = hour_ends(night_hours["time_utc"])
    times = [*night_hours["time_utc"], _stamp(end[-1])]
    out_by = _out_by(night_hours, limits)
    trouble = trouble_from(night_hours["time_utc"], (night_hours["stay_in_row"] != "no-go").to_numpy())
    spare = spare_min(limits)
    less = f"less {burnout_min:g} min to burn out"
    found: list[Window] = []
    allowed = (night_hours[list(OF_THE_HOUR)] != "no-go").all(axis=1).to_numpy()
    for i, j in _runs(allowed, times):
        # What follows a gap in the table is not known, and neither is what follows its end.
        ends = [(_stamp(end[j - 1]), "")]
        stops = _stamp(trouble[j - 1])
        ends.append(
            (
                stops - pd.Timedelta(minutes=burnout_min + spare),
                f"from {_local(stops, night_hours)} on no-go or not known, {less} and {spare:g} min to spare",
            )
        )
        if out_by is not None:
            ends.append((out_by - pd.Timedelta(minutes=burnout_min), f"out by {_local(out_by, night_hours)}, {less}"))
        last, reason = min(ends, key=lambda e: e[0])
        for starts, stops, because in _round_changes(times[i], last, reason, changes, limits, burnout_min, night_hours):
            if stops > starts:
                found.append(_window(night_hours, starts, stops, because, limits, changes))
    return tuple(found)


def _stamp(at_s: float) -> pd.Timestamp:
    return pd.Timestamp(at_s, unit="s", tz="UTC")


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
    spans = []
    for change in sorted(changes, key=lambda c: c.at):
        at, light = pd.Timestamp(change.at), last_light(change, limits, burnout_min)
        last, after = _stamp(light.at_s), at + pd.Timedelta(minutes=change.sigma_min)
        if after <= begin or last >= end:
            continue
        why = (
            f"wind change about {_local(at, hours)}, less {light.minutes:g} min to spare and {burnout_min:g} min to "
            "burn out"
        )
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
    parts = held[list(OF_THE_HOUR)]
    worst = max(parts.to_numpy().ravel(), key=ORDER.index)
    # Only what spoils the window speaks; the same words with another figure are said once, as first met.
    said: dict[str, str] = {}
    for k in held.index if worst != "go" else ():
        for part in OF_THE_HOUR:
            if held.at[k, part] == worst:
                for sentence in filter(None, str(held.at[k, f"{part}_why"]).split("; ")):
                    said.setdefault(_FIGURES.sub("#", sentence), sentence)
    if changes and limits.get("change_margin") is None:
        worst = "caution"
        said["margin"] = f"Spare time before a wind change is not known: {MARGIN_MIN:g} min taken"
    if because:
        said["end"] = f"Last lighting {_local(stops, night)}: {because}"
    return Window(starts.floor("s").to_pydatetime(), stops.floor("s").to_pydatetime(), worst, "; ".join(said.values()))
