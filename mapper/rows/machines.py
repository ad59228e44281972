"""Each machine in the log with its settings, its way and where its header and chute were."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.farm import Harvester
from mapper.rows.account import Account
from mapper.rows.antenna import antenna_side
from mapper.rows.body import Body, place_body
from mapper.rows.clean import Fixes, clean_fixes
from mapper.rows.path import Path, resample
from mapper.rows.snap import snap_to_grid
from mapper.rows.state import cutting_state, pass_heading_deg

_ASSUMED_WIDTH_M = 12.0
FLAG, FLOW, GROUND = "log, header flag", "log, fresh ground and flow", "log, fresh ground only"
# Fewer fixes than this tell nothing.
_FEW = 20
# Of the fixes so many must lie on ways that could be driven, each of so many fixes.
_LEAST_PLAUSIBLE, _LONG_WAY = 0.5, 8


@dataclass(frozen=True)
class Machine:
    """One machine in the paddock.

    clocked: its log tells the time. noise_m: its receiver's, from fix to fix. flow_reckoned: its log holds a yield
    alone, and the flow is that yield times the header's width and the speed.
    """

    name: str
    harvester: Harvester
    path: Path
    body: Body
    clocked: bool
    noise_m: float
    flow_reckoned: bool = False

    @property
    def evidence(self) -> str:
        """What tells cutting from driving in its log, best first."""
        if (self.path.down_after >= 0).any():
            return FLAG
        flow = self.path.flow_kg_s
        return FLOW if np.isfinite(flow).sum() > _FEW and np.nanmax(flow) > 0 else GROUND


def find_machines(
    track: pd.DataFrame, harvesters: Mapping[str, Harvester], paddock: "pd.Series[Any]", told: Account
) -> list[Machine]:
    """Return the machines of a log already cut to the paddock's surroundings, by name."""
    machines = []
    names = track["machine"].fillna("").astype(str)
    for name in sorted(names.unique()):
        own = track[(names == name).to_numpy()]
        if len(own) < _FEW:
            continue
        harvester = _settings(name, own, harvesters, paddock, told)
        fixes = clean_fixes(own)
        told.step()
        if len(fixes.t_s) < _FEW or _driven_share(fixes, len(own)) < _LEAST_PLAUSIBLE:
            told.look(
                f"The fixes of {name or 'the log'} follow one another in no way that a harvester drives: its log needs "
                "a time, a point number or the order it was driven in. No rows are made of it"
            )
            continue
        if not fixes.clocked:
            told.look(
                f"The log of {name or 'the harvester'} has no time of day: its fixes are strung together as they stand "
                "in the file, at one even interval. Rows carry no date",
                "note",
            )
        path = resample(fixes, own)
        if len(path) > 1:
            reckoned = not np.isfinite(path.flow_kg_s).any() and np.isfinite(path.yield_t_ha).sum() > _FEW
            if reckoned:
                path = _flow_of_yield(path, harvester)
            path = _on_grid(path, harvester, told)
            body = place_body(path, harvester)
            machines.append(Machine(name, harvester, path, body, fixes.clocked, fixes.noise_m, reckoned))
    return machines


def _driven_share(fixes: Fixes, logged: int) -> float:
    """Share of a log's seconds (or fixes, where it has no clock) that lie on ways long enough to be no chance."""
    size = np.bincount(fixes.tracklet)
    if fixes.clocked:  # fixes closer than a second were thinned, twins and wild ones dropped
        return float(size[size >= _LONG_WAY].sum() / len(fixes.t_s))
    return float(size[size >= _LONG_WAY].sum() / logged)


def _flow_of_yield(path: Path, harvester: Harvester) -> Path:
    """Turn a logged yield back into the flow that it came from: it dies down in turns and across waterways."""
    width = np.where(path.width_m > 1, path.width_m, harvester.header_width_m)
    return replace(path, flow_kg_s=path.yield_t_ha / 10 * width * path.speed_m_s)


def _on_grid(path: Path, harvester: Harvester, told: Account) -> Path:
    """Put straight passes on their grid where asked or where drift is beyond doubt; say what was moved or found."""
    state = cutting_state(path, np.zeros(len(path), bool))
    passes = (path, state, pass_heading_deg(path, state), harvester.header_width_m, harvester.antenna_right_m)
    side = antenna_side(*passes)
    if side.clear:
        where = "right" if side.right_m > 0 else "left"
        told.look(
            f"Passes of {harvester.machine} lie unevenly apart by turns, as if the antenna sat "
            f"{abs(side.right_m):.2f} m (+-{side.error_m:.2f}) further {where} of the header's centre than is set. "
            "Measure it; nothing was moved",
            "note",
        )
    if harvester.snap == "no":
        return path
    snapped = snap_to_grid(*passes, asked=harvester.snap == "yes")
    if len(snapped.moved_m):
        usual, most = np.percentile(np.abs(snapped.moved_m), (50, 95))
        told.look(
            f"Straight passes of {harvester.machine} were put on an even grid {snapped.spacing_m:.2f} m apart "
            f"({snapped.reason}): half of them moved by over {usual:.1f} m, a twentieth by over {most:.1f} m. Say no "
            "in the harvester's settings to leave them as logged"
        )
    elif harvester.snap == "yes":
        told.look(f"Passes of {harvester.machine} were not put on an even grid: {snapped.reason}")
    return snapped.path


def _settings(
    name: str, own: pd.DataFrame, harvesters: Mapping[str, Harvester], paddock: "pd.Series[Any]", told: Account
) -> Harvester:
    width = own["width_m"].to_numpy(float)
    logged = float(np.median(width[width > 1])) if (width > 1).any() else float("nan")
    found = harvesters.get(name) or (next(iter(harvesters.values())) if len(harvesters) == 1 else None)
    if found is None:
        given = float(paddock.get("header_width_m", np.nan))
        use = logged if np.isfinite(logged) else given if np.isfinite(given) else _ASSUMED_WIDTH_M
        origin = "from the log" if np.isfinite(logged) else "from the paddock" if np.isfinite(given) else "assumed"
        told.look(
            f"No harvester is set up for {name or 'the log'}: a header of {use:.1f} m ({origin}), chute 4.0 m behind "
            "the antenna and a threshing delay of 12 s are taken. Row ends may be 5 m out"
        )
        return Harvester(name or "harvester", use)
    if np.isfinite(logged) and abs(logged - found.header_width_m) > 0.05 * found.header_width_m:
        told.look(
            f"The log of {name or 'the harvester'} says a header of {logged:.1f} m, its settings "
            f"{found.header_width_m:.1f} m; the settings are used"
        )
    return found
