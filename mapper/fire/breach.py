"""The chance that a grass fire's head crosses a bare break."""

from typing import Any

import numpy as np

from mapper.farm.ranged import Ranged, beyond, possible

_WIDTH, _INTENSITY = (1.5, 15.0), (0.0, 17000.0)
_START, _BY_INTENSITY, _BY_WIDTH, _BY_WIDTH_TREES = 1.36, 0.00036, 0.99, 0.38


def breach_chance(intensity_kw_m: Any, width_m: Any, trees: Any = False) -> Ranged:
    """Return the chance that a head fire crosses a break of bare width; trees: within 20 m of the break.

    Source: Wilson (1988) Can. J. For. Res. 18:682-687 (abstract read, coefficients second-hand): 113 fires, breaks of
    1.5-15 m, up to 17 MW/m. A wider break counts as 15 m, a fiercer fire as it is, no break at all as certain crossing,
    all flagged. There is no wind in it but through intensity, and embers only through the trees.
    """
    fire = possible("intensity", intensity_kw_m, 0, np.inf)
    width = possible("break width", width_m, 0, np.inf)
    by_width = np.where(trees, _BY_WIDTH_TREES, _BY_WIDTH)
    y = _START + _BY_INTENSITY * fire - by_width * np.minimum(width, _WIDTH[1])
    chance = np.where(width <= 0, 1.0, 1 / (1 + np.exp(-np.clip(y, -700, 700))))
    return Ranged(np.where(np.isnan(y), np.nan, chance), beyond(width, *_WIDTH) | beyond(fire, *_INTENSITY))


def width_for(chance: Any, intensity_kw_m: Any, trees: Any = False) -> Ranged:
    """Return the bare width (m) at which a head fire crosses with this chance; at least 1.5 m. Source as breach_chance.

    Widths above 15 m and fires above 17 MW/m are given and flagged: nobody tried them.
    """
    p = possible("chance", chance, 1e-9, 1 - 1e-9)
    fire = possible("intensity", intensity_kw_m, 0, np.inf)
    by_width = np.where(trees, _BY_WIDTH_TREES, _BY_WIDTH)
    width = (_START + _BY_INTENSITY * fire - np.log(p / (1 - p))) / by_width
    return Ranged(np.maximum(width, _WIDTH[0]), beyond(width, *_WIDTH) | beyond(fire, *_INTENSITY))
