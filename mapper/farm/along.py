"""The load along a row, kept in one text column of the layer windrows, so that every file format carries it."""

import numpy as np
from numpy.typing import NDArray

# Even parts of a row, each about this long.
STRETCH_M = 10.0


def stretches(length_m: float) -> int:
    """Return into how many even parts a row is cut for its load."""
    return max(1, round(length_m / STRETCH_M))


def write_along(kg_m: NDArray[np.float64]) -> str:
    """Return loads (kg/m, one for each even part of a row, in driving direction) as text."""
    return " ".join(map("{:.2f}".format, kg_m.tolist()))


def read_along(text: str) -> NDArray[np.float64]:
    """Return the loads of the column load_along, kg/m for each even part of the row; empty where nothing is known."""
    return np.array(text.split(), float)
