"""A harvester's log points as the map shows them: five classes of speed or yield that hold equal counts."""

from itertools import pairwise
from typing import TYPE_CHECKING, Any

# Kept out of start-up: the divider's words are needed before any log is.
if TYPE_CHECKING:
    import pandas as pd

# What points can be coloured by: column of farm/tracks.py, words, unit, factor to that unit.
COLOURED_BY = {
    "speed": ("speed_m_s", "speed", "km/h", 3.6),
    "yield": ("yield_t_ha", "yield", "t/ha", 1.0),
}
CLASSES = 5
# Points this near a paddock are turns and unloading that belong to its log.
_ROUND_M = 60.0


def log_points(tracks: "dict[str, pd.DataFrame]", by: str, area: Any = None) -> "pd.DataFrame":
    """Return all fixes as columns x, y, shade (0 to 4) with the classes' words in attrs["words"].

    by: a key of COLOURED_BY. area: classes hold equal counts among the fixes in and round it, or among all. Speeds are
    classed from fast to slow (slow is where straw lies thick), yields from little to much. Fixes of unknown value have
    the middle class; where no value is known there is no shade, one colour for all.
    """
    import numpy as np
    import pandas as pd

    column, words, unit, factor = COLOURED_BY[by]
    xy = [t[["x", "y"]].to_numpy(dtype=float) for t in tracks.values()]
    joined = np.concatenate(xy)
    value = np.concatenate([t[column].to_numpy(dtype=float) for t in tracks.values()]) * factor
    if by == "speed" and not np.isfinite(value).any():
        value = np.concatenate([_speed(t) for t in tracks.values()]) * factor
    known = np.isfinite(value) & (value > 0)
    table = pd.DataFrame({"x": joined[:, 0], "y": joined[:, 1]})
    counted = known if area is None else known & _near(area, joined)
    if counted.sum() < CLASSES:
        counted = known
    if counted.sum() < CLASSES:
        table.attrs["words"] = (f"no {words} in the log",)
        return table
    parts = np.arange(1, CLASSES) / CLASSES
    breaks = np.quantile(value[counted], parts)
    shade = np.searchsorted(breaks, np.where(known, value, np.median(value[counted])), side="right").astype(np.int8)
    edges = [f"{b:.1f}" for b in breaks]
    named = [f"under {edges[0]} {unit}", *(f"{a} to {b}" for a, b in pairwise(edges)),
             f"over {edges[-1]} {unit}"]  # fmt: skip
    if by == "speed":
        shade, named = (CLASSES - 1 - shade).astype(np.int8), named[::-1]
    table["shade"] = shade
    table.attrs["words"] = tuple(named)
    return table


def _near(area: Any, xy: Any) -> Any:
    import numpy as np
    import shapely

    wide = area.buffer(_ROUND_M)
    x0, y0, x1, y1 = wide.bounds
    box = (xy[:, 0] > x0) & (xy[:, 0] < x1) & (xy[:, 1] > y0) & (xy[:, 1] < y1)
    inside = np.zeros(len(xy), dtype=bool)
    at = np.flatnonzero(box)
    shapely.prepare(wide)
    inside[at] = shapely.contains_xy(wide, xy[at, 0], xy[at, 1])
    return inside


def _speed(track: "pd.DataFrame") -> Any:
    """Speed from place and time where the log tells none, m/s."""
    import numpy as np

    t, x, y = (track[c].to_numpy(dtype=float) for c in ("t_s", "x", "y"))
    gap = np.diff(t, prepend=np.nan)
    step = np.hypot(np.diff(x, prepend=np.nan), np.diff(y, prepend=np.nan))
    with np.errstate(divide="ignore", invalid="ignore"):
        speed = step / gap
    return np.where((gap > 0) & (gap < 30), speed, np.nan)
