"""Blocks: runs of pieces that the crew can hold in one go, lettered in the order of lighting."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.ranged import Array

# A last block shorter than this share of a block's time joins the one before. Our choice.
_RUMP = 0.25


def block_numbers(begin_s: Array, edge: NDArray[np.bool_], block_s: float) -> NDArray[np.int64]:
    """Return the block (0, 1, ...) of each piece; pieces in the order of lighting.

    Edge rows share no block with the inside, since the crew waits for them to burn out. A new block begins when block_s
    has passed since the first piece of the last one.
    """
    numbers = np.zeros(len(begin_s), dtype=np.int64)
    if len(begin_s) == 0:
        return numbers
    since = begin_s[0]
    for k in range(1, len(begin_s)):
        leaves_edge = bool(edge[k - 1]) and not bool(edge[k])
        full = begin_s[k] - since > block_s
        numbers[k] = numbers[k - 1] + int(leaves_edge or full)
        since = begin_s[k] if numbers[k] > numbers[k - 1] else since
    last = numbers == numbers[-1]
    short = begin_s[-1] - begin_s[last][0] < _RUMP * block_s
    joins = numbers[-1] > 0 and edge[~last][-1] == edge[-1]
    if joins and short and begin_s[last][0] - begin_s[~last][-1] < _RUMP * block_s:
        numbers[last] -= 1
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
