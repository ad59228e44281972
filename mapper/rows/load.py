"""How much straw and chaff goes through the header, and what that makes of a row.

Residue through the header = total biomass x share above the cut - grain, with biomass = grain / harvest index.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import pandas as pd

from mapper.farm.limits import LocalLimits
from mapper.farm.ranged import Array, Ranged

# Unkovich M. et al. 2010, Adv. Agron. 105 (Australian means; from memory, to be confirmed).
HARVEST_INDEX: dict[str, float] = {
    "wheat": 0.37,
    "barley": 0.38,
    "oats": 0.35,
    "canola": 0.28,
    "lupin": 0.30,
    "chickpea": 0.37,
    "field pea": 0.35,
    "faba bean": 0.37,
}
_CROP_WORDS = {"lupins": "lupin", "narrow-leaf lupin": "lupin", "chickpeas": "chickpea", "peas": "field pea",
               "pea": "field pea", "field peas": "field pea", "beans": "faba bean", "faba beans": "faba bean",
               "oat": "oats", "durum": "wheat"}  # fmt: skip
# Share of wheat biomass above a cut: 61 % above 0.4 m (Walsh et al., 20th Australasian Weeds Conf.); 14 % of biomass
# more from cutting at 0.1 instead of 0.3 m (GRDC Ground Cover 126), taken on to 0.4 m; all of it at the ground.
_CUT_M = (0.0, 0.1, 0.3, 0.4)
_SHARE_ABOVE = (1.0, 0.82, 0.68, 0.61)
_LOWEST_CUT_M, _HIGHEST_CUT_M = 0.05, 0.4
YIELD_RANGE_T_HA = (0.3, 8.0)
# Used where neither log nor paddock names one; stated on the plan.
ASSUMED_YIELD_T_HA = 2.0
ASSUMED_CUT_M = 0.15
SOURCE = (
    "residue = yield / harvest index x share above the cut - yield; harvest index Unkovich et al. 2010 (from memory); "
    "share above the cut Walsh et al. (20th Australasian Weeds Conf.) and GRDC Ground Cover 126, wheat"
)


class Crop(NamedTuple):
    """A crop's harvest index, and whether it is known or wheat's was taken."""

    name: str
    harvest_index: float
    known: bool


def crop_of(name: str) -> Crop:
    """Return the crop a paddock's text means; wheat, marked unknown, where it means none."""
    word = name.strip().lower()
    word = _CROP_WORDS.get(word, word)
    if word in HARVEST_INDEX:
        return Crop(word, HARVEST_INDEX[word], True)
    return Crop("wheat", HARVEST_INDEX["wheat"], False)


def residue_to_row(yield_t_ha: Array | float, crop: str, cut_height_m: Array | float) -> Ranged:
    """Return residue through the header, t/ha, all of which lands in the row.

    Supported: the crops of HARVEST_INDEX, cut 0.05 to 0.4 m (clamped), yield 0.3 to 8 t/ha (taken on, flagged). The
    share above the cut was measured in wheat and stands in for other crops.

    Raises ValueError for a negative yield or height.
    """
    grain, cut = np.asarray(yield_t_ha, float), np.asarray(cut_height_m, float)
    if np.any(grain < 0) or np.any(cut < 0):
        raise ValueError("yield and cut height cannot be negative")
    kind = crop_of(crop)
    inside = np.clip(cut, _LOWEST_CUT_M, _HIGHEST_CUT_M)
    share = np.interp(inside, _CUT_M, _SHARE_ABOVE)
    residue = np.maximum(grain * (share / kind.harvest_index - 1), 0.0)
    low, high = YIELD_RANGE_T_HA
    outside = (inside != cut) | (grain < low) | (grain > high) | (not kind.known)
    return Ranged(residue, np.broadcast_to(outside, residue.shape))


def load_t_ha(load_kg_m: Array, row_width_m: Array | float) -> Array:
    """Return t/ha within the row's own width: 1 kg/m on 1 m is 10 t/ha."""
    result: Array = np.asarray(load_kg_m, float) / np.asarray(row_width_m, float) * 10
    return result


def classify_load(in_row_t_ha: Array, limits: LocalLimits) -> "pd.Series[str]":
    """Return "light", "right" or "heavy" against row_load_min and row_load_max; "" where neither is known.

    With only one of them known, what it does not exclude stays "": it may be wrong on the other side.
    """
    low, high = limits.value("row_load_min"), limits.value("row_load_max")
    load = np.asarray(in_row_t_ha, float)
    between = "right" if np.isfinite(low) and np.isfinite(high) else ""
    named = np.where(load < low, "light", np.where(load > high, "heavy", between))
    return pd.Series(np.where(np.isfinite(load), named, ""), dtype=object)


# A row is named after a wrong load that lies on more than this share of it.
NAMING_SHARE = 0.25


def classify_along(in_row_t_ha: Sequence[Array], limits: LocalLimits) -> "pd.Series[str]":
    """Return one class a row from its loads (t/ha in the row) along even parts of it.

    Heavy (looked at first) or light where more than a quarter of the row is; else right, or "" where the limits do not
    tell.
    """
    count = np.array([len(v) for v in in_row_t_ha], int)
    if not count.sum():
        return pd.Series([""] * len(count), dtype=object)
    each = classify_load(np.concatenate([np.atleast_1d(v) for v in in_row_t_ha]), limits).to_numpy()
    of = np.repeat(np.arange(len(count)), count)
    share = {k: np.bincount(of, each == k, len(count)) / np.maximum(count, 1) for k in ("heavy", "light", "")}
    named = np.where(share["heavy"] > NAMING_SHARE, "heavy", np.where(share["light"] > NAMING_SHARE, "light", "right"))
    unknown = (named == "right") & (share[""] > NAMING_SHARE)
    return pd.Series(np.where(unknown | (count == 0), "", named), dtype=object)
