"""Paddocks of a night one after the other, the downwind ones first."""

from collections.abc import Callable, Sequence

import geopandas as gpd
import numpy as np
import shapely

from mapper.farm.errors import Stopped
from mapper.farm.ranged import Array
from mapper.ground.boundary import unit
from mapper.order.paddock import HEADER_M, Ground, Night, PaddockOrder, order_paddock
from mapper.order.pieces import Piece


def downwind_first(paddocks: gpd.GeoDataFrame, to_deg: float) -> list[str]:
    """Return the paddocks' names, the furthest downwind first."""
    middle = shapely.get_coordinates(paddocks.geometry.centroid.to_numpy())
    far = middle @ unit(to_deg)
    return [str(paddocks["paddock"].iloc[k]) for k in np.lexsort((middle[:, 0], -np.round(far, 3)))]


def order_night(
    paddocks: gpd.GeoDataFrame,
    pieces: Sequence[Piece],
    edges: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    night: Night,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[list[PaddockOrder], list[PaddockOrder]]:
    """Return the orders of the paddocks that are burnt, as they follow each other, and of those that do not fit.

    All crews work one paddock, then drive on (straight). A paddock that does not fit whole in what is left of the
    windows is passed over for the next; where more than a block's time is left at the end, the first of those passed
    over whose edge rows and some of the inside fit is lit as far as the time goes. Of the second list `burning` says
    nothing.
    """
    free, at = np.full(len(night.crews), -1e9), np.full((len(night.crews), 2), np.nan)
    done: list[PaddockOrder] = []
    waiting: list[tuple[Ground, PaddockOrder]] = []
    grounds = _grounds(paddocks, pieces, edges, breaks, float(night.winds[0, 2]))
    for k, ground in enumerate(grounds):
        if progress is not None:
            progress(k, len(grounds))
        if cancelled is not None and cancelled():
            raise Stopped
        order = order_paddock(ground, night, free, at, _left(free, night.windows), cancelled)
        if order.whole:
            done.append(order)
            free, at = _moved_on(order, free, at)
        else:
            waiting.append((ground, order))
    if _left(free, night.windows) > night.row_burn.block_min * 60:
        for k, (ground, _) in enumerate(waiting):
            order = order_paddock(ground, night, free, at, cancelled=cancelled)
            if any(not b.edge for b in order.burning):
                done.append(order)
                del waiting[k]
                break
    return done, [order for _, order in waiting]


def _grounds(
    paddocks: gpd.GeoDataFrame,
    pieces: Sequence[Piece],
    edges: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    to_deg: float,
) -> list[Ground]:
    rows = {str(p["paddock"]): p for _, p in paddocks.iterrows()}
    found = []
    for name in downwind_first(paddocks, to_deg):
        mine = tuple(p for p in pieces if p.paddock == name and not p.left_reason)
        header = float(rows[name]["header_width_m"])
        if mine:
            found.append(
                Ground(
                    name,
                    mine,
                    rows[name].geometry,
                    edges[edges["paddock"] == name],
                    breaks[breaks["paddock"] == name],
                    header if header > 0 else HEADER_M,
                )
            )
    return found


def _left(free: Array, windows: Array) -> float:
    """Seconds of window left to the crew that is free first."""
    return float(np.maximum(windows[:, 1] - np.maximum(windows[:, 0], free.min()), 0).sum())


def _moved_on(order: PaddockOrder, free: Array, at: Array) -> tuple[Array, Array]:
    free, at = free.copy(), at.copy()
    for b in order.burning:
        line = b.piece.line if b.way == 0 else shapely.reverse(b.piece.line)
        for along, lit_at, crew in (*b.points, (b.end_m, b.end_s, b.points[-1, 2])):
            if lit_at >= free[int(crew)]:
                free[int(crew)], at[int(crew)] = lit_at, line.interpolate(along).coords[0]
    return free, at
