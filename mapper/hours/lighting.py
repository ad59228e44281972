"""May rows be lit in an hour: not only this hour counts, but all until they have burnt out, and a change to come."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.farm.limits import LocalLimits
from mapper.farm.ranged import Array
from mapper.hours.reasons import Reasons
from mapper.weather.forecast import seconds
from mapper.weather.wind import WindChange, compass_point

# Spare time where the farm has set none, before a wind change and after rows are out: our choice, and said.
MARGIN_MIN, SPARE_MIN = 60.0, 30.0
_HOUR_S = 3600.0


@dataclass(frozen=True)
class LastLight:
    """The last moment to light before a wind change (UTC, seconds since 1970), and why then."""

    change: WindChange
    at_s: float
    minutes: float


def last_light(change: WindChange, limits: LocalLimits, burnout_min: float) -> LastLight:
    """Return when to stop lighting before a change: rows are out with the farm's spare time, and no less than two sigma
    of the change's own uncertainty, before it is due."""
    minutes = max(limits.value("change_margin", MARGIN_MIN), 2.0 * change.sigma_min)
    return LastLight(change, float(seconds(change.at)) - 60.0 * (minutes + burnout_min), minutes)


def spare_min(limits: LocalLimits) -> float:
    """Return the spare time between rows burnt out and an hour in which fire would not stay in the row, minutes."""
    return limits.value("burnout_margin", SPARE_MIN)


def hour_ends(times: "pd.Series[pd.Timestamp]") -> tuple[Array, Array]:
    """Return start and end of each line's hour, seconds since 1970: to the next line, an hour at most."""
    start = seconds(times)
    if len(start) < 2:
        return start, start + _HOUR_S
    step = np.append(np.diff(start), min(start[-1] - start[-2], _HOUR_S))
    return start, start + np.minimum(step, _HOUR_S)


def trouble_from(times: "pd.Series[pd.Timestamp]", stays: NDArray[np.bool_]) -> Array:
    """Return for each hour when fire stops staying in the row or nobody knows: the first such moment from its start on.

    stays: shape (..., n), False in hours in which fire would not stay. What follows a gap or the last line is not
    known. Seconds since 1970.
    """
    start, end = hour_ends(times)
    unknown = np.append(start[1:] > end[:-1], True)
    here = np.where(stays, np.where(unknown, end, np.inf), start)
    return np.asarray(np.minimum.accumulate(here[..., ::-1], axis=-1)[..., ::-1])


def lighting(
    hours: pd.DataFrame,
    stays: NDArray[np.bool_],
    limits: LocalLimits,
    changes: Sequence[WindChange],
    burnout_min: float,
) -> Reasons:
    """Return the reasons against lighting in an hour that itself is well: where its rows would burn on into.

    stays: (n,) or (paddocks, n), as for trouble_from. No-go where no moment of the hour may be lit, caution where a
    part of it may.
    """
    said = Reasons(*stays.shape)
    start, end = hour_ends(hours["time_utc"])
    zone = hours["time_local"].dt.tz

    def clock(at_s: float) -> str:
        return f"{pd.Timestamp(at_s, unit='s', tz='UTC').tz_convert(zone):%H:%M}"

    spare = spare_min(limits)
    trouble = trouble_from(hours["time_utc"], stays)
    last = trouble - 60.0 * (burnout_min + spare)
    told = f"{burnout_min:g} min to burn out and {spare:g} min to spare"
    said.add(
        stays & (last <= start),
        "no-go",
        lambda i: f"Rows lit now would burn into {clock(trouble[i])}, no-go or not known from then on ({told})",
    )
    said.add(
        stays & (last > start) & (last < end),
        "caution",
        lambda i: f"Light only until {clock(last[i])}: from {clock(trouble[i])} on no-go or not known ({told})",
    )
    for change in changes:
        _before(said, start, end, last_light(change, limits, burnout_min), burnout_min, clock)
    return said


def _before(
    said: Reasons, start: Array, end: Array, last: LastLight, burnout_min: float, clock: Callable[[float], str]
) -> None:
    change = last.change
    comes, late = float(seconds(change.at)), 60.0 * change.sigma_min
    turn = f"{compass_point(change.from_deg)} to {compass_point(change.to_deg)}"
    name = f"the wind change about {clock(comes)}, {turn}"
    told = f"{last.minutes:g} min to spare and {burnout_min:g} min to burn out"
    said.add(
        (start >= last.at_s) & (end <= comes + late),
        "no-go",
        f"Too near {name}: last lighting was {clock(last.at_s)} ({told})",
    )
    said.add(
        (start < last.at_s) & (end > last.at_s), "caution", f"Light only until {clock(last.at_s)}: {name} ({told})"
    )
    said.add(
        (end > comes + late) & (start < comes + 2 * late),
        "caution",
        f"Only once {name} has come: it may be {2 * change.sigma_min:g} min late",
    )
