"""A value that knows whether its equation was used inside the range it was made for."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Ranged(NamedTuple):
    """Result of a published equation.

    value : array of float64, clamped to the safe side outside the range.
    outside : array of bool, True where an input lay outside the supported range.
    """

    value: Array
    outside: NDArray[np.bool_]

    def with_value(self, value: Any) -> "Ranged":
        """Return the same flags on another value."""
        return Ranged(np.asarray(value, dtype=float), self.outside)
