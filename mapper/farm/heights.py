"""Heights of the ground on the farm's grid, and the slope they make."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from mapper.farm.ranged import Array


@dataclass(frozen=True, eq=False)
class Heights:
    """Heights in metres, shape (rows, cols), north row first, NaN where not known; compared by identity.

    west, north: the outer corner of the first cell, metres on the farm's grid. cell_m: side of a cell.
    """

    values: Array
    west: float
    north: float
    cell_m: float

    def slope_at(self, x: Any, y: Any) -> tuple[Array, Array]:
        """Return steepness (degrees) and where uphill lies (degrees from grid north) at points; flat if not known.

        Central differences over one cell each side, at the cell a point lies in.
        """
        if min(self.values.shape) < 2:
            return np.zeros(np.shape(x)), np.zeros(np.shape(x))
        down, right = np.gradient(self.values, self.cell_m)
        steep = np.degrees(np.arctan(np.hypot(down, right)))
        up = np.degrees(np.arctan2(right, -down)) % 360
        col = np.floor((np.asarray(x) - self.west) / self.cell_m).astype(int)
        row = np.floor((self.north - np.asarray(y)) / self.cell_m).astype(int)
        rows, cols = self.values.shape
        on = (row >= 0) & (row < rows) & (col >= 0) & (col < cols)
        at = np.clip(row, 0, rows - 1), np.clip(col, 0, cols - 1)
        known = on & np.isfinite(steep[at])
        return np.where(known, steep[at], 0.0), np.where(known, up[at], 0.0)
