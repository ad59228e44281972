"""What got worse between two plans of one night: finish, driving, time to spare, rows left unlit."""

import numpy as np
import pandas as pd

from mapper.plan.burnplan import BurnPlan

# Smaller differences are not worth a sentence. Our choices.
_MINUTES, _METRES, _KM = 1.0, 10.0, 0.1


def what_got_worse(before: BurnPlan, after: BurnPlan) -> tuple[str, ...]:
    """Return one sentence for each thing that is worse in `after`; empty where nothing is."""
    zone = after.farm.zone
    said = []
    ended, ends = (p.pieces["out_at"].max() for p in (before, after))
    if pd.notna(ended) and pd.notna(ends) and _minutes(ends - ended) > _MINUTES:
        said.append(
            f"Last row out at {ends.tz_convert(zone):%H:%M}, {_minutes(ends - ended):.0f} min later than before."
        )
    spare, less = (_spare_min(p) for p in (before, after))
    if less < spare - _MINUTES:
        said.append(f"Time to spare before what ends the night: {less:.0f} min, {spare - less:.0f} min less.")
    drove, drives = (_driven_km(p) for p in (before, after))
    if drives > drove + _KM:
        said.append(f"Driving between rows: {drives:.1f} km, {drives - drove:.1f} km more.")
    was, is_ = (_unlit_m(p, before.paddocks) for p in (before, after))
    if is_ > was + _METRES:
        said.append(f"{(is_ - was) / 1000:.2f} km more of row stays unlit ({is_ / 1000:.2f} km in these paddocks).")
    said += [f"Now stands against lighting: {text}" for text in after.against if text not in before.against]
    return tuple(said)


def _unlit_m(plan: BurnPlan, names: tuple[str, ...]) -> float:
    left = plan.pieces[(plan.pieces["order_no"] == 0) & plan.pieces["paddock"].isin(names)]
    return float(left["length_m"].sum())


def _minutes(span: pd.Timedelta) -> float:
    return float(span.total_seconds()) / 60.0


def _spare_min(plan: BurnPlan) -> float:
    """Minutes between the last row out and the next wind change, else the end of the last window's burn-out."""
    out = plan.pieces["out_at"].max()
    if pd.isna(out) or not plan.windows:
        return np.inf
    burn_out = pd.Timedelta(minutes=plan.farm.row_burn.burnout_min)
    ends = [pd.Timestamp(c.at) for c in plan.changes if c.at > out]
    ends = ends or [pd.Timestamp(plan.windows[-1].ends_at) + burn_out]
    return _minutes(min(ends) - out)


def _driven_km(plan: BurnPlan) -> float:
    return sum(f.value for f in plan.figures if f.name.endswith(": driving between pieces"))
