"""How soon an escaped fire would be where: lines of equal minutes, and minutes to each asset and neighbour."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from mapper.farm.errors import SettingError
from mapper.farm.layers import make_layer
from mapper.fire.arrival import arrival_times
from mapper.ground.boundary import unit
from mapper.plan.fireground import FireGround

HORIZON_MIN = 240.0
LINES_MIN = (5.0, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0, 180.0, 240.0)
# A start on ground that does not burn moves to fuel within this; beyond an edge it is looked for this far out.
_NEAR_M, _OUT_M = 40.0, 80.0


@dataclass(frozen=True, eq=False)
class Escape:
    """A fire from one place. minutes: (rows, cols) of the ground's grid, inf past the horizon. start: point, metres.

    reached: table what ("asset" or "neighbour"), id, name, kind, minutes; soonest first; only what it reaches.
    """

    start: Any
    minutes: NDArray[np.float32]
    reached: pd.DataFrame
    ground: FireGround

    def lines(self, minutes: Sequence[float] = LINES_MIN) -> gpd.GeoDataFrame:
        """Return layer "arrival": lines of equal minutes, as far as the fire gets within the horizon."""
        from contourpy import contour_generator

        g = self.ground
        met = np.isfinite(self.minutes)
        rows, cols = (np.flatnonzero(met.any(axis=k)) for k in (1, 0))
        inner = slice(rows[0], rows[-1] + 1), slice(cols[0], cols[-1] + 1)
        known = np.ma.masked_array(self.minutes[inner], ~met[inner])
        x, y = g.centres(np.arange(rows[0], rows[-1] + 1), np.arange(cols[0], cols[-1] + 1))
        drawn = contour_generator(x, y, known) if min(known.shape) > 1 else None
        found = [(m, xy) for m in minutes for xy in (drawn.lines(m) if drawn is not None else ()) if len(xy) > 1]
        shapes = [shapely.LineString(xy) for _, xy in found]
        return make_layer("arrival", {"minutes": [m for m, _ in found]}, shapes, g.crs)

    def at(self, x: float, y: float) -> float:
        """Return the minutes to a point; inf where fire does not get there within the horizon."""
        row, col = self.ground.cell(x, y)
        rows, cols = self.minutes.shape
        return float(self.minutes[row, col]) if 0 <= row < rows and 0 <= col < cols else float("inf")


def escape_from(
    ground: FireGround,
    x: float,
    y: float,
    horizon_min: float = HORIZON_MIN,
    outward_deg: float | None = None,
) -> Escape:
    """Return what a fire lit at a point (metres) at ground.at would reach, and when.

    The wind may turn at any moment within a sigma of its forecast direction, and fire takes the worst of it. The fire
    is taken at its full rate from the start, no crew holds it, no embers fly, a change comes when the forecast says.
    outward_deg: look for fuel that way (out of a paddock's edge). Raises SettingError where nothing burns there.
    """
    row, col = _burning_cell(ground, x, y, outward_deg)
    starts = [row], [col], [0.0]
    tables = ground.head_m_s, ground.lb, ground.to_deg, ground.hour_starts_s
    seconds = arrival_times(ground.classes, ground.cell_m, *tables, starts, horizon_min * 60.0)
    minutes = np.asarray(seconds / 60.0, dtype=np.float32)
    start = shapely.Point(*(float(v) for v in ground.centres(row, col)))
    return Escape(start, minutes, _reached(ground, minutes), ground)


def _burning_cell(ground: FireGround, x: float, y: float, outward_deg: float | None) -> tuple[int, int]:
    """Row and column of the nearest cell with fuel, or the first one outward."""
    rows, cols = ground.classes.shape
    if outward_deg is not None:
        out = np.arange(ground.cell_m, _OUT_M + 1, ground.cell_m / 2)
        way = unit(np.array([outward_deg]))[0]
        row, col = ground.cell(x + out * way[0], y + out * way[1])
    else:
        reach = int(np.ceil(_NEAR_M / ground.cell_m))
        r, c = ground.cell(x, y)
        dr, dc = np.mgrid[-reach : reach + 1, -reach : reach + 1]
        order = np.argsort(np.hypot(dr, dc), axis=None, kind="stable")
        row, col = (r + dr).ravel()[order], (c + dc).ravel()[order]
    on = (row >= 0) & (row < rows) & (col >= 0) & (col < cols)
    row, col = row[on], col[on]
    burns = np.flatnonzero(ground.classes[row, col] > 0)
    if not len(burns):
        raise SettingError("nothing burns here, or it lies off the ground known", f"{x:.0f}, {y:.0f}")
    return int(row[burns[0]]), int(col[burns[0]])


def _reached(ground: FireGround, minutes: NDArray[np.float32]) -> pd.DataFrame:
    """Soonest minutes to each asset and neighbour that is reached."""
    soonest = [float(minutes[thing.cells].min(initial=np.inf)) for thing in ground.things]
    found = [(t.what, t.id, t.name, t.kind, m) for t, m in zip(ground.things, soonest, strict=True) if np.isfinite(m)]
    table = pd.DataFrame(found, columns=["what", "id", "name", "kind", "minutes"])
    return table.sort_values(["minutes", "name"], ignore_index=True)
