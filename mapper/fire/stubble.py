"""What stands between the rows, by how high it was cut: its fuel, its state in the spread model, and bridging."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array, possible
from mapper.fire.spread import State

# Cruz et al. (2020) IJWF 29:258-271, read: harvested stubble of about 0.3 m burns as grazed grass, baled stubble under
# 0.1 m as eaten-out, standing crop as natural. Between them the faster one counts; 0.35 is "about 0.3": our choice.
LOW_M, CUT_M = 0.10, 0.35
# Wheat stubble cut at 0.36 m held 0.5 t for each t of grain (Allen 1988, read); taken as even up the straw.
_T_PER_T_M = 0.5 / 0.36
# Straw of a whole crop over its grain: wheat is 40 % grain, 50 % straw by hand-cut dry matter (Allen 1988, read).
_STRAW_PER_GRAIN = 50 / 40
# Fuel of the three states in the 2022 national system, t/ha (second-hand): natural 4.5, grazed 3, eaten-out 1.5.
GRAZED_T_HA, EATEN_T_HA = 3.0, 1.5


def stubble_state(cut_height_m: float) -> State:
    """Return what stubble of a cut height (m) counts as in the spread model; not known (NaN) counts as natural."""
    height = float(possible("cut height", cut_height_m, 0, 3))
    if height < LOW_M:
        return "eaten_out"
    return "grazed" if height <= CUT_M else "natural"


def grass_state(fuel_t_ha: float) -> State:
    """Return what grass of a load (t/ha) counts as in the spread model: natural above 3, eaten-out up to 1.5."""
    load = float(possible("fuel", fuel_t_ha, 0, 200))
    if load <= EATEN_T_HA:
        return "eaten_out"
    return "grazed" if load <= GRAZED_T_HA else "natural"


def standing_stubble_t_ha(yield_t_ha: Any, cut_height_m: Any) -> Array:
    """Return the standing stubble left (t/ha) by a wheat crop of a grain yield (t/ha) cut at a height (m).

    Linear from Allen (1988): 0.5 t for each t of grain at 0.36 m, for yields of 3.4-6.7 t/ha; never more than the
    crop's whole straw. Short crops carry more of their straw low down, so it reads low for them: type in what is known.
    """
    grain = possible("yield", yield_t_ha, 0, 20)
    height = possible("cut height", cut_height_m, 0, 3)
    return np.minimum(grain * _T_PER_T_M * height, grain * _STRAW_PER_GRAIN)


def bridges(cut_height_m: Any, row_spacing_m: Any) -> NDArray[np.bool_]:
    """Return True where flame bridges from stubble row to stubble row: cut higher than the crop's rows are apart.

    Common practice, no published source. Not known (NaN) counts as bridging.
    """
    height = possible("cut height", cut_height_m, 0, 3)
    spacing = possible("row spacing", row_spacing_m, 0.05, 1.5)
    return np.asarray(~(height <= spacing))
