"""The nights to come: each night the forecast reaches, with its windows, at a glance."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import pandas as pd

from mapper.farm.limits import LocalLimits
from mapper.hours.evening import OF_THE_HOUR, night_hours, windows
from mapper.hours.fourways import PARTS
from mapper.hours.verdict import Window
from mapper.weather.wind import WindChange


@dataclass(frozen=True)
class NightToCome:
    """One night: its windows in time order, and words for a list: "Sat 18 Apr: 16:00 to 18:10, go".

    known: the forecast holds the hours from 16:00 to midnight. against: which of the four judgements bars every hour,
    as words; "" where one is open.
    """

    night: date
    windows: tuple[Window, ...]
    known: bool
    against: str
    words: str


def nights_to_come(
    judged: pd.DataFrame, zone: str, limits: LocalLimits, changes: Sequence[WindChange], burnout_min: float
) -> tuple[NightToCome, ...]:
    """Return every night of which a judged hour between 16:00 and midnight is known, in order."""
    local = judged["time_local"]
    evenings = sorted(set(local[local.dt.hour >= 16].dt.date))
    return tuple(_night(night_hours(judged, day, zone), day, limits, changes, burnout_min) for day in evenings)


def _night(
    hours: pd.DataFrame, day: date, limits: LocalLimits, changes: Sequence[WindChange], burnout_min: float
) -> NightToCome:
    head = f"{day:%a} {day.day} {day:%b}"
    evening = hours[hours["time_local"].dt.hour >= 16]
    known = len(evening) >= 8 and bool(evening[["wind_km_h", "temp_c", "rh_pct"]].notna().all(axis=None))
    found = windows(hours, changes, limits, burnout_min)
    zone = hours["time_local"].dt.tz
    if found:
        spans = ", ".join(
            f"{pd.Timestamp(w.starts_at).tz_convert(zone):%H:%M} to {pd.Timestamp(w.ends_at).tz_convert(zone):%H:%M} "
            f"({w.verdict})"
            for w in found
        )
        return NightToCome(day, found, known, "", f"{head}: light {spans}.")
    barred = [PARTS[p] for p in OF_THE_HOUR if (hours[p] == "no-go").all()]
    against = " and ".join(barred) if barred else "no hour passes all four, or none long enough to burn out"
    tail = "" if known else "; not all of the evening is in the forecast"
    return NightToCome(day, (), known, against, f"{head}: no window ({against}{tail}).")
