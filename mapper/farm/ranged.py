"""A value that knows whether its equation was used inside the range it was made for."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from mapper.farm.errors import SettingError

Array = NDArray[np.float64]


class Ranged(NamedTuple):
    """Result of a published equation.

    value : array of float64, clamped to the safe side outside the range.
    outside : array of bool, True where an input lay outside the supported range.
    """

    value: Array
    outside: NDArray[np.bool_]


def possible(what: str, value: Any, low: float, high: float) -> Array:
    """Return value as a float array, or raise SettingError where a known number cannot be. NaN, "not known", passes."""
    array = np.asarray(value, dtype=float)
    wrong = (array < low) | (array > high)
    if np.any(wrong):
        raise SettingError(f"{what} {array[wrong].flat[0]:g} cannot be: it lies within {low:g} to {high:g}")
    return array


def beyond(value: Array, low: float, high: float) -> NDArray[np.bool_]:
    """Return True where a value is outside low to high, or not known."""
    return np.asarray(~((value >= low) & (value <= high)))
