"""How a fire gathers speed: a narrow front or a fire from one point runs slower than the model's wide front."""

from typing import Any

import numpy as np

from mapper.farm.ranged import Array, possible
from mapper.fire.shape import ellipse_axes

# Steps of the run in which a fire from a point is followed, and how far: by 3 km of it every fire is at full rate.
_RUN_M = np.concatenate([np.linspace(0.25, 100, 400), np.linspace(101, 3000, 2900)])


def front_share(width_m: Any, wind_2_m_s: Any) -> Array:
    """Return the share of its full rate at which a head fire of a width (m) runs: exp(-(0.859 + 2.036 U2) / W).

    Source: Cheney & Gould (1995) IJWF 5:237-247 (abstract read: rate depends on wind and on the width of the head;
    coefficients from memory). wind_2_m_s: at 2 m. 0 for no width, towards 1 for a wide front; the wide-front rate
    itself is always the safe bound.
    """
    width = possible("width of the front", width_m, 0, 1e6)
    wind = possible("wind at 2 m", wind_2_m_s, 0, 80)
    return np.where(
        width > 0, np.exp(-(0.859 + 2.036 * wind) / np.maximum(width, 1e-9)), np.where(np.isnan(width), np.nan, 0.0)
    )


def minutes_from_point(run_m: Any, head_m_s: float, lb: float, wind_2_m_s: float) -> Array:
    """Return the minutes in which a fire lit at one point runs so far downwind (m), gathering speed as it widens.

    Its width is its run over its length to breadth, its rate front_share of head_m_s (a wide front's), but at least
    the flank's: the relation was made on fronts of metres and more and would let a spark stand still. Own sum of the
    published relations; the floor is our choice, no source. Range to 3 km of run.
    """
    run = possible("run", run_m, 0, _RUN_M[-1])
    possible("rate of spread", head_m_s, 1e-9, 100)
    possible("length to breadth", lb, 1, 100)
    flank = ellipse_axes(lb)[2]
    rate = head_m_s * np.maximum(front_share(_RUN_M / lb, wind_2_m_s), flank)
    took = np.diff(_RUN_M, prepend=0.0) / rate
    return np.asarray(np.interp(run, np.append(0.0, _RUN_M), np.append(0.0, np.cumsum(took))) / 60.0)


def lighting_words(run_m: float, head_m_s: float, lb: float, wind_2_m_s: float) -> tuple[str, str]:
    """Return what to say beside the choice of lighting: along a front, and at single points. run_m: to what matters."""
    wide = run_m / head_m_s / 60.0
    point = float(minutes_from_point(run_m, head_m_s, lb, wind_2_m_s))
    front = (
        f"Lit along a length at once, the fire is a front from the start: what escapes runs at its full rate, "
        f"{head_m_s * 60:.0f} m a minute, and could cover {run_m:.0f} m in {wide:.0f} min."
    )
    single = (
        f"Lit at single points, each fire is narrow and gathers speed: the same {run_m:.0f} m would take about "
        f"{point:.0f} min. Points that join make a front: do not count on the difference."
    )
    return front, single
