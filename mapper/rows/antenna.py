"""An antenna off the header's centre shows in the passes: right-hand and left-hand neighbours lie unevenly apart."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mapper.rows.path import Path
from mapper.rows.snap import gather_passes

_FEWEST = 4
# Less than this is not worth a word; a clear sign is so many standard errors.
_LEAST_M, _CLEAR = 0.1, 3.0


class Antenna(NamedTuple):
    """How far right of the header's centre the antenna seems to sit beyond its setting, and the standard error."""

    right_m: float
    error_m: float

    @property
    def clear(self) -> bool:
        """True where it is worth asking the owner to measure."""
        return abs(self.right_m) >= _LEAST_M and abs(self.right_m) >= _CLEAR * self.error_m


def antenna_side(
    path: Path, state: NDArray[np.int8], heading_deg: float, header_width_m: float, antenna_right_m: float
) -> Antenna:
    """Return the antenna's side offset that the spacing of neighbouring straight passes suggests; NaN where unknown.

    With the antenna d to the right, a pass driven with the heading and its neighbour to the right driven back lie
    2 d nearer together than they were steered, the next pair 2 d farther apart.
    """
    found = gather_passes(path, state, heading_deg, antenna_right_m)
    if not len(found.of):
        return Antenna(float("nan"), float("nan"))
    middle = np.bincount(found.of, found.across) / np.bincount(found.of)
    first = np.flatnonzero(np.r_[True, np.diff(found.of) > 0])
    a = np.radians(heading_deg)
    ahead = (path.vx * np.sin(a) + path.vy * np.cos(a))[found.at[first]] > 0
    order = np.argsort(middle)
    gap, one, two = np.diff(middle[order]), ahead[order][:-1], ahead[order][1:]
    beside = (gap > 0.8 * header_width_m) & (gap < 1.1 * header_width_m)
    near, far = gap[beside & one & ~two], gap[beside & ~one & two]
    if min(len(near), len(far)) < _FEWEST:
        return Antenna(float("nan"), float("nan"))
    error = np.sqrt(near.var(ddof=1) / len(near) + far.var(ddof=1) / len(far)) / 4
    return Antenna(float((np.median(far) - np.median(near)) / 4), float(error))
