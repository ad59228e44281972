"""What local rules say about an hour: bans, hours of the day, days off, and limits nobody has set."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.limits import LIMIT_KINDS, LocalLimits, Permit
from mapper.farm.ranged import Array
from mapper.hours.reasons import Reasons
from mapper.hours.verdict import BanCheck

# Limits this room holds hours against.
_USED = tuple(k for k, kind in LIMIT_KINDS.items() if kind.group in ("weather", "hours"))
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
# So begins what is said of an hour of the day that nobody may light in.
OUTSIDE_HOURS = "Outside your hours"
# Bans are declared for a day: an older look says nothing.
CHECK_HOLDS = pd.Timedelta(hours=24)


def clock(hour: float) -> str:
    """Return an hour of the day (24 is midnight, 25.5 half past one the next day) as people say it."""
    minutes = round(hour * 60)
    text = f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"
    if minutes == 24 * 60:
        return "midnight"
    return text if minutes < 24 * 60 else f"{text} next day"


def hour_of_day(hours: pd.DataFrame) -> Array:
    """Return the local wall-clock hour, 0 to 24."""
    local = hours["time_local"].dt
    return np.asarray(local.hour + local.minute / 60.0 + local.second / 3600.0, dtype=float)


def light_hours(limits: LocalLimits) -> tuple[float, float]:
    """Return light_from and out_by as hours after local midnight of the burn's day; nan where not known."""
    light_from, out_by = limits.value("light_from"), limits.value("out_by")
    if np.isfinite(light_from) and np.isfinite(out_by) and out_by <= light_from:
        # "light from 18, out by 2": two the next morning.
        out_by += 24.0
    return light_from, out_by


def local_rules(hours: pd.DataFrame, limits: LocalLimits, ban: BanCheck) -> Reasons:
    """Return the reasons of local rules against lighting, hour by hour. Not known is never a go."""
    said = Reasons(len(hours))
    _ban(said, hours, ban)
    _hours_of_day(said, hours, limits)
    weekday = hours["time_local"].dt.day_of_week.to_numpy()
    for day in limits.days_off:
        said.add(weekday == day, "no-go", f"Nothing is lit on a {_DAYS[day]} here")
    days = hours["time_local"].dt.date.to_numpy()
    for off in limits.dates_off:
        said.add(days == off, "no-go", f"Nothing is lit on {off.day} {off:%b} here")
    _permit(said, days, limits.permit)
    starting = [LIMIT_KINDS[k].label for k in _USED if (found := limits.get(k)) is not None and found.starting]
    if starting:
        said.add(True, "caution", f"Starting value, nobody has set it here: {', '.join(starting)}")
    return said


def _permit(said: Reasons, days: NDArray[np.object_], permit: Permit | None) -> None:
    if permit is None:
        said.add(True, "caution", "Whether a permit is held or needed is not known: type it in with the local limits")
        return
    if permit.state == "not needed":
        return
    name = f"Permit {permit.number}".rstrip()
    if permit.first is not None:
        said.add(days < permit.first, "no-go", f"{name} holds from {permit.first.day} {permit.first:%b} on")
    if permit.last is not None:
        said.add(days > permit.last, "no-go", f"{name} ended on {permit.last.day} {permit.last:%b}")


def _ban(said: Reasons, hours: pd.DataFrame, ban: BanCheck) -> None:
    if ban.state == "declared":
        which = f": {', '.join(ban.kinds)}" if ban.kinds else ""
        said.add(True, "no-go", f"A ban is declared{which}")
    elif ban.state == "unknown" or ban.checked_at is None:
        said.add(True, "caution", "Not a go until a ban check is typed in: nobody has looked whether a ban is declared")
    else:
        old = (hours["time_utc"] - pd.Timestamp(ban.checked_at) > CHECK_HOLDS).to_numpy()
        checked = pd.Timestamp(ban.checked_at).tz_convert(hours["time_local"].dt.tz)
        said.add(old, "caution", f"Bans were looked up {checked:%d %b %H:%M}, more than 24 h before: look again")


def _hours_of_day(said: Reasons, hours: pd.DataFrame, limits: LocalLimits) -> None:
    light_from, out_by = light_hours(limits)
    hour = hour_of_day(hours)
    if np.isnan(light_from):
        said.add(True, "caution", "The hour from which you may light is not known")
    if np.isnan(out_by):
        said.add(True, "caution", "The hour to be out by is not known")
    begin, end = np.nan_to_num(light_from, nan=0.0), np.nan_to_num(out_by, nan=24.0 + np.nan_to_num(light_from))
    allowed = ((hour >= begin) & (hour < end)) | (hour + 24.0 < end)
    words = []
    if not np.isnan(light_from):
        words.append(f"light from {clock(light_from)}")
    if not np.isnan(out_by):
        words.append(f"out by {clock(out_by)}")
    said.add(~allowed, "no-go", f"{OUTSIDE_HOURS}: {', '.join(words)}")
