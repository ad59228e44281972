"""Blocks: runs of pieces that the crew can hold in one go, lettered in the order of lighting."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.ranged import Array


def block_numbers(begin_s: Array, phase: NDArray[np.int64], block_s: float) -> NDArray[np.int64]:
    """Return the block (0, 1, ...) of each piece; pieces in the order of lighting.

    phase: edge rows and inside of each field, in their order; no block spans two. One that takes longer than block_s
    is shared out into blocks of equal time, none longer than that.
    """
    numbers = np.zeros(len(begin_s), dtype=np.int64)
    begun = 0
    starts = np.r_[0, np.flatnonzero(np.diff(phase)) + 1, len(phase)]
    for a, b in pairwise(starts if len(phase) else []):
        since = begin_s[a:b] - begin_s[a]
        count = max(int(np.ceil(since[-1] / block_s - 1e-9)), 1)
        share = np.minimum((since / (since[-1] / count + 1e-9)).astype(np.int64), count - 1)
        _, share = np.unique(share, return_inverse=True)
        numbers[a:b] = begun + share
        begun += int(share[-1]) + 1
    return numbers


def letter(number: int) -> str:
    """Return A, B, ... Z, AA, AB, ... for 0, 1, ..."""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def block_area(lines: Sequence[shapely.LineString], pitch_m: float, paddock: BaseGeometry) -> BaseGeometry:
    """Return the ground of a block: half a row's pitch either side of its pieces, small gaps closed, in the paddock."""
    wide = shapely.union_all(shapely.buffer(np.array(lines, dtype=object), pitch_m * 0.55))
    area = wide.buffer(pitch_m / 2).buffer(-pitch_m / 2).intersection(paddock)
    polygons = [g for g in shapely.get_parts(area) if g.geom_type == "Polygon" and g.area > 0]
    return shapely.MultiPolygon(polygons) if len(polygons) != 1 else polygons[0]
