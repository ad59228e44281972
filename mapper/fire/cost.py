"""What burning rows costs the ground: nutrients lost or heaped in the row, and cover."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from mapper.farm.ranged import Array, possible

# Lost for each tonne of stubble burnt, kg (Laycock, Incitec Pivot 2021, read; per tonne derived from 5 t/ha).
LOST_KG_T = {"N": 5.0, "P": 0.2, "K": 1.2, "S": 0.6}
# What fertiliser holds of it costs, A$ a kg: starting values, our choice, no source; prices change.
PRICE_KG = {"N": 1.5, "P": 4.0, "K": 1.5, "S": 0.5}
# Of a burnt row the potassium and phosphorus stay, but in a band (Ground Cover 100, read): lost to most of the paddock
# where rows lie in the same place each year, spread again over years where they are moved.
BANDED = ("P", "K")

# Ground that a tonne of wheat residue covers, ha.
_COVER_HA_T = 0.54


@dataclass(frozen=True)
class NutrientLoss:
    """kg a hectare of paddock, to the air for good and heaped in the row; A$ a hectare, rows moved yearly and not."""

    to_air: dict[str, Array]
    banded: dict[str, Array]
    cost_moved: Array
    cost_same_place: Array


def nutrient_loss(burnt_t_ha: Any, prices: dict[str, float] | None = None) -> NutrientLoss:
    """Return what burning so much residue (t for each ha of paddock) costs in nutrients. prices: A$ a kg by element.

    Moved rows lose what goes to the air; rows in the same place what is banded too. Published for one season, 2012
    prices: A$13.15/ha moved, 42.75 in the same place (Ground Cover 100, read). Straw that lay over summer has lost much
    of its N and K already (Laycock 2021), so these are the high side. Raises SettingError for impossible loads.
    """
    burnt = possible("residue burnt", burnt_t_ha, 0, 50)
    price = {**PRICE_KG, **(prices or {})}
    lost = {k: np.asarray(v * burnt) for k, v in LOST_KG_T.items()}
    air = {k: v for k, v in lost.items() if k not in BANDED}
    band = {k: v for k, v in lost.items() if k in BANDED}
    moved = np.asarray(sum(price[k] * v for k, v in air.items()))
    return NutrientLoss(air, band, moved, np.asarray(moved + sum(price[k] * v for k, v in band.items())))


def stubble_cover(load_t_ha: Any) -> Array:
    """Return the share (0 to 1) of ground covered by cereal stubble of so many t/ha: 1 - exp(-0.54 load).

    Gregory (1982), Trans. ASAE 25:1333-1337, wheat, coefficient from memory; for straw that lies, so that stubble
    standing upright covers less and shelters more. Raises SettingError for impossible loads.
    """
    return np.asarray(1.0 - np.exp(-_COVER_HA_T * possible("stubble", load_t_ha, 0, 50)))


def bared_share(row_gap_m: Any, bared_m: Any = 1.0) -> Array:
    """Return the share (0 to 1) of a paddock left bare by burnt rows: width bared over the distance between rows.

    Arithmetic. Rows of 0.5-0.6 m scorch up to 1 m; published: generally under a tenth (Walsh & Newman 2007, read).
    """
    gap = possible("distance between rows", row_gap_m, 0.5, 200)
    return np.minimum(possible("width bared", bared_m, 0, 20) / gap, 1.0)
