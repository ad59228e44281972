"""Probe and camera traces of a burning row: how hot, how long, what it does to seed and to the farm's figures."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from mapper.farm.farm import RowBurn
from mapper.fire.heat import effective_burn_time, heat_index, killed, longest_above
from mapper.record.entry import standing
from mapper.record.night import NightRecord

HEAT_COLUMNS = ("entry_id", "at", "by", "row", "place", "peak_c", "heat_index", "burn_time_s", "above_400_s",
                "burning_min", "ryegrass", "radish", "all_seed", "why_not")  # fmt: skip
# Under this at the soil surface a row has gone out: half of the 100 degC at
# which the least seed dies (Hoyle & McElroy, read).
OUT_C = 50.0
# Fewer traces than this do not move the farm's figures: our choice.
FEWEST_TRACES = 3


def heat_table(record: NightRecord) -> pd.DataFrame:
    """Return a line a trace, HEAT_COLUMNS: heat index and effective burn time as in fire/heat.py, kill points reached.

    A trace with gaps is measured over what is there, so its index is a lower bound and why_not says so.
    """
    rows = []
    for entry in (e for e in standing(record.entries) if e.kind == "heat"):
        trace = np.asarray(entry.body["temp_c"], dtype=float)
        step = float(entry.body["step_s"])
        ambient = float(entry.body.get("ambient_c") or np.nanmin(trace))
        filled = np.where(np.isnan(trace), ambient, trace)
        reached = killed(filled, ambient, step)
        rows.append({
            "entry_id": entry.entry_id, "at": entry.happened, "by": entry.by, "row": entry.body.get("row"),
            "place": entry.body.get("place", ""), "peak_c": float(np.nanmax(trace)),
            "heat_index": heat_index(filled, ambient, step), "burn_time_s": effective_burn_time(filled, step),
            "above_400_s": longest_above(filled, 400.0, step),
            "burning_min": longest_above(filled, OUT_C, step) / 60.0,
            "ryegrass": reached["annual ryegrass"], "radish": reached["wild radish in pods"],
            "all_seed": reached["all seed tested"],
            "why_not": "gaps in the trace: at least this" if np.isnan(trace).any() else "",
        })  # fmt: skip
    return pd.DataFrame(rows, columns=list(HEAT_COLUMNS))


@dataclass(frozen=True)
class Adjusted:
    """The farm's row figures from its own traces: the figures, from how many traces, and the lowest and highest."""

    row_burn: RowBurn
    traces: int
    lowest_min: float
    highest_min: float
    text: str


def adjust_row_burn(row_burn: RowBurn, traces: pd.DataFrame) -> Adjusted | None:
    """Return the farm's burn-out time from its own traces, or None where there are too few.

    traces: one or more heat_table()s together. The largest measured time counts, not the mean: a way out and a window
    are planned with it, and too long is the safe side.
    """
    times = traces["burning_min"][traces["burning_min"] > 0]
    if len(times) < FEWEST_TRACES:
        return None
    longest = float(min(max(times.max(), 0.1), 600))
    source = f"longest of {len(times)} probe traces on this farm ({times.min():.0f} to {times.max():.0f} min)"
    changed = replace(row_burn, burnout_min=longest, source=source)
    text = f"Burn-out time {row_burn.burnout_min:.0f} min becomes {longest:.0f} min: {source}."
    return Adjusted(changed, len(times), float(times.min()), float(times.max()), text)
