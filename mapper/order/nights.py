"""Which paddock on which night: the choice that does most of what matters in the hours there are."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mapper.farm.errors import LayerError
from mapper.farm.ranged import Array


class NightChoice(NamedTuple):
    """night (p,): index of the night of each paddock, -1 where none; worth: sum of what was chosen; bound: no choice
    is worth more than this."""

    night: NDArray[np.int64]
    worth: float
    bound: float


def choose_nights(
    need_h: Array, there_h: Array, worth: Array, allowed: NDArray[np.bool_], seconds: float = 20.0
) -> NightChoice:
    """Return the choice of nights that is worth most: each paddock on one night or none, no night over its hours.

    Parameters
    ----------
    need_h : (p,) hours each paddock takes with all crews. there_h : (n,) hours of each night.
    worth : (p, n) of burning a paddock on a night, not negative. allowed : (p, n).
    seconds : time the solver may take; the best choice found by then is returned, with its bound.

    An integer program (scipy's milp); the same input gives the same choice unless the time runs out. Raises LayerError
    for arrays that do not fit each other.
    """
    p, n = worth.shape
    if need_h.shape != (p,) or there_h.shape != (n,) or allowed.shape != (p, n) or (worth < 0).any():
        raise LayerError("hours, worth and nights do not fit each other", "nights")
    fits = allowed & (need_h[:, None] <= there_h[None, :] + 1e-9)
    who, when = np.nonzero(fits)
    night = np.full(p, -1)
    if not len(who):
        return NightChoice(night, 0.0, 0.0)
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    value, one = worth[who, when], np.arange(len(who))
    once = csr_array((np.ones(len(who)), (who, one)), shape=(p, len(who)))
    hours = csr_array((need_h[who], (when, one)), shape=(n, len(who)))
    found = milp(
        -value,
        integrality=np.ones(len(who), dtype=np.int64),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(once, -np.inf, 1.0), LinearConstraint(hours, -np.inf, there_h)],
        options={"time_limit": seconds, "mip_rel_gap": 1e-6},
    )
    bound = float(np.sum(worth.max(axis=1, where=fits, initial=0.0)))
    if found.mip_dual_bound is not None:
        bound = min(bound, -float(found.mip_dual_bound))
    if found.x is None:
        return NightChoice(night, 0.0, bound)
    chosen = np.flatnonzero(found.x > 0.5)
    night[who[chosen]] = when[chosen]
    return NightChoice(night, float(value[chosen].sum()), bound)
