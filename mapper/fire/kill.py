"""Heat of a burning row as a band, and the share of weed seed in it that dies, against published lethal points."""

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array, beyond, possible


class Band(NamedTuple):
    """A range: low is the careful end, high the hopeful one. outside: past what anybody measured."""

    low: Array
    high: Array
    outside: NDArray[np.bool_]


@dataclass(frozen=True)
class Weed:
    """A weed and its lethal heat, degC s above ambient: hopeful and careful published point, each with its source."""

    name: str
    hopeful: float
    careful: float
    source: str


_WN07 = "Walsh & Newman (2007) Field Crops Res. 104:24-30 (read)"
_NOR20 = "Norsworthy et al. (2020) Weed Technol. 34:589 (read): 22,600"
_SARDI = "SAGIT S416 (read): over 450 degC for over 60 s"
# (T - 25) x s of each point: 400 degC x 10 s, 500 x 10, 450 x 60, 600 x 80.
WEEDS: dict[str, Weed] = {
    w.name: w
    for w in (
        Weed("annual ryegrass", 3750, 22600, f"{_WN07}: 400 degC for 10 s; {_NOR20}, Italian ryegrass"),
        Weed("wild radish in pods", 4750, 25500, f"{_WN07}: 500 degC for 10 s; {_SARDI}"),
        Weed("brome grass", 3750, 25500, f"as ryegrass (GRDC 26 Sep 2014, read: just as effective); {_SARDI}"),
        Weed("wild oats", 3750, 25500, f"as ryegrass (GRDC 26 Sep 2014, read: just as effective); {_SARDI}"),
        Weed("barley grass", 3750, 25500, f"as ryegrass (our choice); {_SARDI}"),
        Weed("barnyardgrass", 22600, 22600, _NOR20),
        Weed("Palmer amaranth", 22600, 22600, _NOR20),
        Weed("sicklepod", 46000, 46000, "Norsworthy et al. (2020, read): under 1 % lived through 600 degC for 80 s"),
    )
}

# Heat index over load, degC s for each t/ha in the row. Careful: 22,600 in the lightest soybean row with full kill,
# 10.8 t/ha (Norsworthy et al. 2020, read). Hopeful: wheat rows of 66,196 (Spoth et al. 2022, read) at the trade's 20
# t/ha (their load was not read). Between: a lupin row of 33 t/ha, over 500 degC for 3 min (Newman & Walsh 2005, read).
_HEAT_PER_T = 22600 / 10.8, 66196 / 20.0
_LOADS = 8.0, 45.0
# Mean heat above ambient while over 200 degC: soybean 140,725 in 259 s (read), wheat 66,196 in 116 s (from memory).
_EXCESS_C = 66196 / 116.0, 140725 / 259.0
# Dryness: full heat below the first, smouldering above the second (fire/heat.py); what is in between, and how much wind
# shortens the burn (Norsworthy et al. 2020, read, no equation), is our choice, no source.
_DRY_PCT, _WET_PCT, _LEFT_IF_WET = 12.0, 25.0, 0.5
_WIND_KM_H, _LEFT_IN_WIND = (5.0, 25.0), 0.5
# The most that is ever claimed: 98 % (Lyon et al. 2016, derived) and 99 % (GRDC 2005, read) of the seed in the row.
MOST = 0.98, 0.99


def heat_band(load_t_ha: Any, moisture_pct: Any, wind_km_h: Any) -> Band:
    """Return the heat index (degC s above ambient at the soil surface) that a burning row reaches; inputs broadcast.

    load_t_ha: dry matter in the row; moisture_pct of the straw; wind_km_h at 10 m. Straight lines through three
    published points, no model of burning: none was found. Damp straw and wind take from the careful end only, but for
    straw too wet to burn on, which takes half of the hopeful end too. Range 8-45 t/ha (a heavier row counts as 45),
    moisture to 25 %, wind to 25 km/h; outside is flagged.
    """
    load = possible("row load", load_t_ha, 0, 500)
    damp = possible("moisture", moisture_pct, 0, 400)
    wind = possible("wind", wind_km_h, 0, 300)
    wet = np.clip((damp - _DRY_PCT) / (_WET_PCT - _DRY_PCT), 0, 1)
    blown = np.clip((wind - _WIND_KM_H[0]) / (_WIND_KM_H[1] - _WIND_KM_H[0]), 0, 1)
    counted = np.minimum(load, _LOADS[1])
    low = _HEAT_PER_T[0] * counted * (1 - wet) * (1 - (1 - _LEFT_IN_WIND) * blown)
    high = _HEAT_PER_T[1] * counted * (1 - (1 - _LEFT_IF_WET) * wet) + 0.0 * wind
    outside = beyond(load, *_LOADS) | beyond(damp, 0, _WET_PCT) | beyond(wind, 0, _WIND_KM_H[1])
    return Band(np.where(np.isnan(high), np.nan, low), np.where(np.isnan(low), np.nan, high), outside)


def burn_seconds(heat: Band) -> Band:
    """Return the seconds over 200 degC that go with a heat index; means of Spoth et al. (2022)."""
    return Band(heat.low / _EXCESS_C[0], heat.high / _EXCESS_C[1], heat.outside)


def seed_killed(heat: Band, weed: str = "annual ryegrass") -> Band:
    """Return the share (0 to 1) of the seed on the ground in the row that dies, careful and hopeful.

    The careful end holds careful heat against the careful lethal point; below a lethal point the share falls straight
    to nothing (our choice, no source). Buried seed lives. Raises KeyError for a weed without a published point.
    """
    point = WEEDS[weed]
    low = MOST[0] * np.clip(heat.low / point.careful, 0, 1)
    return Band(low, MOST[1] * np.clip(heat.high / point.hopeful, 0, 1), heat.outside)
