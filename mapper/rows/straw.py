"""Grain and straw at every second of harvest, and what had to be assumed for it."""

from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.ranged import Array
from mapper.rows import load
from mapper.rows.account import Account
from mapper.rows.flow import shifted, yield_along
from mapper.rows.machines import Machine


def grain_yield(
    machines: list[Machine], area_m2: Array, lags: list[int], paddock: "pd.Series[Any]", told: Account
) -> Array:
    """Return grain yield (t/ha) at every second: the log's, else the paddock's, else an assumption that is said."""
    own = np.split(area_m2, np.cumsum([len(m.path) for m in machines])[:-1])
    found = np.concatenate([_along(m, a, lag) for m, a, lag in zip(machines, own, lags, strict=True)])
    cut = area_m2 > 0
    known = cut & np.isfinite(found)
    if known.any():
        mean = float(np.average(found[known], weights=area_m2[known]))
        told.figure("grain yield", round(mean, 2), "t/ha", "harvester's log, over the cut area", f"delay {max(lags)} s")
        return np.where(np.isfinite(found), found, mean)
    return np.full(len(area_m2), paddock_yield(paddock, told))


def _along(machine: Machine, area_m2: Array, lag_s: int) -> Array:
    """A flow reckoned from the yield shows the delay, but how wide the logger took the cut to be is not known."""
    path = machine.path
    if machine.flow_reckoned:
        late = shifted(path.yield_t_ha, path.piece, lag_s)
        path = replace(path, flow_kg_s=np.full(len(path), np.nan), yield_t_ha=late)
    return yield_along(path, area_m2, lag_s)


def paddock_yield(paddock: "pd.Series[Any]", told: Account) -> float:
    """Return the paddock's own grain yield (t/ha), else an assumption that is said."""
    given = float(paddock.get("yield_t_ha", np.nan))
    if np.isfinite(given):
        told.figure("grain yield", given, "t/ha", "the paddock's figure; no log gives a yield")
        return given
    told.look(
        f"Neither log nor paddock gives a yield: {load.ASSUMED_YIELD_T_HA:g} t/ha is assumed. "
        "Loads are a guess until a yield is given"
    )
    source = "assumed; neither log nor paddock gives one"
    told.figure("grain yield", load.ASSUMED_YIELD_T_HA, "t/ha", source, outside=True)
    return load.ASSUMED_YIELD_T_HA


def straw_through_header(yields: Array, paddock: "pd.Series[Any]", told: Account) -> Array:
    """Return straw and chaff through the header, t/ha, from grain yield, the paddock's crop and its cut height."""
    name = str(paddock.get("crop") or "")
    crop = load.crop_of(name)
    if not crop.known:
        told.look(
            f"No harvest index is known for {name.strip()}: wheat's is taken"
            if name.strip()
            else "The paddock names no crop: wheat's harvest index is taken"
        )
    cut_m = float(paddock.get("cut_height_m", np.nan))
    if not np.isfinite(cut_m):
        cut_m = load.ASSUMED_CUT_M
        told.look(f"The paddock has no cut height: {100 * cut_m:.0f} cm is taken for the straw", "note")
    middle_yield = float(np.median(yields))
    straw = load.residue_to_row(yields, name, cut_m)
    middle = load.residue_to_row(middle_yield, name, cut_m)
    if middle_yield > load.YIELD_RANGE_T_HA[1]:
        told.look(
            f"A grain yield of {middle_yield:.1f} t/ha is beyond what the straw figures were made for "
            f"({load.YIELD_RANGE_T_HA[1]:g} t/ha): check the log's unit, and that it is grain"
        )
    told.figure(
        "straw through the header",
        round(float(middle.value), 2),
        "t/ha",
        load.SOURCE,
        f"{crop.name}, harvest index {crop.harvest_index:g}, cut {cut_m:.2f} m, yield {middle_yield:.2f} t/ha",
        bool(middle.outside),
    )
    return straw.value
