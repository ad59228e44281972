"""What each judgement allows of a night, side by side; where containment, heat and smoke quarrel, it is shown."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.hours.lighting import hour_ends

# Column, name in a sentence, and who speaks.
PARTS = {
    "stay_in_row": "staying in the row",
    "heat": "heat in the row",
    "smoke": "smoke",
    "local_rules": "bans and local rules",
}


@dataclass(frozen=True)
class FourWays:
    """The night by judgement. spans: part -> runs of hours it calls go, as (start, end) in UTC; "all" where all do.

    allowed: the same for go or caution. quarrel: a sentence for each two that have good hours and share none. words:
    one sentence a part, the quarrels, then what all leave together.
    """

    spans: dict[str, tuple[tuple[pd.Timestamp, pd.Timestamp], ...]]
    allowed: dict[str, tuple[tuple[pd.Timestamp, pd.Timestamp], ...]]
    quarrel: tuple[str, ...]
    words: tuple[str, ...]


def four_ways(night: pd.DataFrame) -> FourWays:
    """Return what each of the four judgements allows of a night's hours (of judge_hours), and where they quarrel."""
    if night.empty:
        return FourWays({}, {}, (), ("No hour of this night is known.",))
    go = {p: (night[p] == "go").to_numpy() for p in PARTS}
    may = {p: (night[p] != "no-go").to_numpy() for p in PARTS}
    go["all"], may["all"] = (np.logical_and.reduce(list(d.values())) for d in (go, may))
    spans, allowed = ({p: _runs(night, held) for p, held in d.items()} for d in (go, may))
    # Rules are nobody's physics: a quarrel is between what the fire, the seed and the air ask for.
    judged = ("stay_in_row", "heat", "smoke")
    quarrel = tuple(
        f"{_upper(PARTS[a])} and {PARTS[b]} have no good hour in common: you choose which gives way."
        for k, a in enumerate(judged)
        for b in judged[k + 1 :]
        if go[a].any() and go[b].any() and not (go[a] & go[b]).any()
    )
    zone = night["time_local"].dt.tz
    words = [_sentence(PARTS[p], spans[p], allowed[p], zone) for p in PARTS]
    words.extend(quarrel)
    words.append(_sentence("all four together", spans["all"], allowed["all"], zone))
    return FourWays(spans, allowed, quarrel, tuple(words))


def _runs(night: pd.DataFrame, held: NDArray[np.bool_]) -> tuple[tuple[pd.Timestamp, pd.Timestamp], ...]:
    start, end = hour_ends(night["time_utc"])
    runs: list[list[float]] = []
    for k in np.flatnonzero(held):
        if runs and runs[-1][1] == start[k]:
            runs[-1][1] = end[k]
        else:
            runs.append([start[k], end[k]])
    return tuple((pd.Timestamp(a, unit="s", tz="UTC"), pd.Timestamp(b, unit="s", tz="UTC")) for a, b in runs)


Spans = tuple[tuple[pd.Timestamp, pd.Timestamp], ...]


def _sentence(name: str, go: Spans, allowed: Spans, zone: object) -> str:
    if go:
        rest = ""
        if allowed != go:
            rest = f"; with caution {_listed(allowed, zone)}"
        return f"{_upper(name)}: go {_listed(go, zone)}{rest}."
    if allowed:
        return f"{_upper(name)}: no hour is a go; with caution {_listed(allowed, zone)}."
    return f"{_upper(name)}: no hour."


def _listed(spans: Spans, zone: object) -> str:
    if len(spans) == 1 and spans[0][1] - spans[0][0] >= pd.Timedelta(hours=23):
        return "all night"
    return ", ".join(
        f"{a.tz_convert(zone):%H:%M} to {b.tz_convert(zone):%H:%M}"  # type: ignore[arg-type]
        for a, b in spans
    )


def _upper(text: str) -> str:
    return text[0].upper() + text[1:]
