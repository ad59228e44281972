"""Weed seed: how much of it went through the header, and what the burn does to next season's seedlings."""

from typing import Any

import numpy as np

from mapper.farm.ranged import beyond, possible
from mapper.fire.kill import Band

# Ryegrass seed collected by cut height: 70 % at 10 cm, 24 % at 40 cm (25 Western Australian crops, Ground Cover 126,
# read); spread evenly below 40 cm, so a straight line (Walsh et al., 20th Australasian Weeds Conf., read).
_LOW_CUT, _HIGH_CUT = (0.10, 0.70), (0.40, 0.24)
# Seed above 15 cm at maturity and 28 days on (Walsh & Powles 2014, Weed Technol. 28:486, from memory).
_ABOVE_15_CM: dict[str, tuple[float, float]] = {
    "annual ryegrass": (0.85, 0.63),
    "wild radish in pods": (0.99, 0.79),
    "brome grass": (0.77, 0.41),
    "wild oats": (0.84, 0.39),
}
_MEASURED_DAYS = 28.0
# Shedding after maturity, a day (AHRI rules of thumb, read: about 1 %).
_SHED = 0.01
# Share of next season's seedlings that comes from this season's seed, the rest from seed already in the ground. Derived
# so that the usual capture gives the 37-90 % (mean 60 %) fewer seedlings of 24 sites (Walsh et al. 2017, read).
_FROM_NEW_SEED = 0.6, 1.0


def through_header(cut_height_m: Any, days_after_maturity: Any, weed: str = "annual ryegrass") -> Band:
    """Return the share (0 to 1) of the season's seed that enters the header; inputs broadcast.

    Careful: collected by cut height (Ground Cover 126) less 1 % a day shed; hopeful: the weed's own retention above 15
    cm (Walsh & Powles 2014), moved to the cut height along the same line; the sources differ, so the smaller is the
    careful end. Weeds without a figure take ryegrass's. Range 0.10-0.40 m, 0-28 days; lower cuts count as 0.10.
    """
    height = possible("cut height", cut_height_m, 0, 3)
    days = possible("days after maturity", days_after_maturity, 0, 400)
    fall = (_HIGH_CUT[1] - _LOW_CUT[1]) / (_HIGH_CUT[0] - _LOW_CUT[0])
    collected = np.clip(_LOW_CUT[1] + fall * (np.maximum(height, _LOW_CUT[0]) - _LOW_CUT[0]), 0, 1)
    ripe, later = _ABOVE_15_CM.get(weed, _ABOVE_15_CM["annual ryegrass"])
    kept = np.clip(ripe + (later - ripe) * days / _MEASURED_DAYS, 0, 1)
    hopeful = np.clip(kept * collected / (_LOW_CUT[1] + fall * 0.05), 0, 1)
    careful = collected * np.clip(1 - _SHED * days, 0, 1)
    outside = beyond(height, _LOW_CUT[0], _HIGH_CUT[0]) | beyond(days, 0, _MEASURED_DAYS)
    return Band(np.minimum(careful, hopeful), np.maximum(careful, hopeful), outside)


def fewer_seedlings(entered: Band, killed: Band) -> Band:
    """Return by how much (0 to 1) next season's seedlings of a weed fall: entered, times killed, times new seed."""
    return Band(
        entered.low * killed.low * _FROM_NEW_SEED[0],
        entered.high * killed.high * _FROM_NEW_SEED[1],
        entered.outside | killed.outside,
    )
