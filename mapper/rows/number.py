"""Names for rows that a crew can find: numbered across the paddock, the same from plan to plan."""

import numpy as np
import shapely
from numpy.typing import NDArray


def across_order(lines: NDArray[np.object_]) -> NDArray[np.int64]:
    """Return the order of rows across their usual direction, then along it; independent of the order they came in.

    The direction is that of the lines' chords, weighted by length. Counting starts in the west, or in the south where
    the rows run east and west.
    """
    if not len(lines):
        return np.zeros(0, np.int64)
    first, last = shapely.get_point(lines, 0), shapely.get_point(lines, -1)
    dx, dy = shapely.get_x(last) - shapely.get_x(first), shapely.get_y(last) - shapely.get_y(first)
    double, weight = 2 * np.arctan2(dx, dy), np.hypot(dx, dy)
    heading = np.arctan2((weight * np.sin(double)).sum(), (weight * np.cos(double)).sum()) / 2
    middle = shapely.line_interpolate_point(lines, 0.5, normalized=True)
    x, y = shapely.get_x(middle), shapely.get_y(middle)
    ax, ay = np.cos(heading), -np.sin(heading)
    if (ax if abs(ax) >= abs(ay) else ay) < 0:
        ax, ay = -ax, -ay
    return np.lexsort((np.round(x * np.sin(heading) + y * np.cos(heading), 2), np.round(x * ax + y * ay, 2)))


def row_names(paddock: str, count: int) -> list[str]:
    """Return "<paddock>-001" and on."""
    digits = max(3, len(str(count)))
    return [f"{paddock}-{k:0{digits}d}" for k in range(1, count + 1)]
