"""Paddocks of a night one after the other, the downwind ones first."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import geopandas as gpd
import numpy as np
import shapely

from mapper.farm.errors import Stopped
from mapper.farm.ranged import Array
from mapper.ground.boundary import unit
from mapper.order.cutground import HEADER_M, Asked, Ground, Night, cut_ground
from mapper.order.paddock import PaddockOrder, Standing, order_paddock
from mapper.order.pieces import Piece


def downwind_first(paddocks: gpd.GeoDataFrame, to_deg: float) -> list[str]:
    """Return the paddocks' names, the furthest downwind first."""
    middle = shapely.get_coordinates(paddocks.geometry.centroid.to_numpy())
    far = middle @ unit(to_deg)
    return [str(paddocks["paddock"].iloc[k]) for k in np.lexsort((middle[:, 0], -np.round(far, 3)))]


def cut_grounds(
    paddocks: gpd.GeoDataFrame,
    pieces: Sequence[Piece],
    edges: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    assets: gpd.GeoDataFrame,
    breaks_there: gpd.GeoDataFrame | None,
    night: Night,
) -> list[Ground]:
    """Return the paddocks with anything to light, the furthest downwind first."""
    rows = {str(p["paddock"]): p for _, p in paddocks.iterrows()}
    found = []
    for name in downwind_first(paddocks, float(night.winds[0, 2])):
        mine = tuple(p for p in pieces if p.paddock == name and not p.left_reason)
        header = float(rows[name]["header_width_m"])
        if mine:
            found.append(
                cut_ground(
                    name,
                    rows[name].geometry,
                    header if header > 0 else HEADER_M,
                    mine,
                    edges[edges["paddock"] == name],
                    breaks[breaks["paddock"] == name],
                    assets,
                    breaks_there,
                    night,
                )
            )
    return found


def order_night(
    grounds: Sequence[Ground],
    night: Night,
    asked: Asked,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[list[PaddockOrder], list[PaddockOrder]]:
    """Return the orders of the paddocks that are burnt, as they follow each other, and of those that do not fit.

    All crews work one paddock, then drive on (straight). A paddock that does not fit whole in what is left of the
    windows is passed over for the next; where more than a block's time is left at the end, the first of those passed
    over whose edge rows and some of the inside fit is lit as far as the time goes. Of the second list `burning` says
    nothing.
    """
    crews = len(night.crews)
    standing = Standing(np.full(crews, -1e9), np.full((crews, 2), np.nan), np.zeros(0))
    done: list[PaddockOrder] = []
    waiting: list[tuple[Ground, PaddockOrder, Standing]] = []
    for k, ground in enumerate(grounds):
        if progress is not None:
            progress(k, len(grounds))
        if cancelled is not None and cancelled():
            raise Stopped
        order = order_paddock(ground, night, standing, asked, _left(standing.free_s, night.windows), cancelled)
        if order.whole:
            done.append(order)
            standing = _moved_on(order, standing)
        else:
            waiting.append((ground, order, standing))
    if _left(standing.free_s, night.windows) > night.row_burn.block_min * 60:
        for k, (ground, found, then) in enumerate(waiting):
            # Nothing has changed since it was tried.
            known = bool(found.burning) and then is standing
            order = found if known else order_paddock(ground, night, standing, asked, cancelled=cancelled)
            if order.burning:
                done.append(order)
                del waiting[k]
                break
    return done, [order for _, order, _ in waiting]


def without(grounds: Sequence[Ground], left: Mapping[str, str]) -> list[Ground]:
    """Return the paddocks without some pieces (piece_id to reason); those without any left fall away."""
    found = []
    for ground in grounds:
        stays = np.array([p.piece_id not in left for p in ground.pieces])
        if stays.any():
            found.append(ground if stays.all() else ground.part(stays))
    return found


def _left(free: Array, windows: Array) -> float:
    """Seconds of window left to the crew that is free first."""
    return float(np.maximum(windows[:, 1] - np.maximum(windows[:, 0], free.min()), 0).sum())


def _moved_on(order: PaddockOrder, standing: Standing) -> Standing:
    free, at = standing.free_s.copy(), standing.xy.copy()
    for b in order.burning:
        line = b.piece.line if b.way == 0 else shapely.reverse(b.piece.line)
        for along, lit_at, crew in (*b.points, (b.end_m, b.end_s, b.points[-1, 2])):
            if lit_at >= free[int(crew)]:
                free[int(crew)], at[int(crew)] = lit_at, line.interpolate(along).coords[0]
    # Blocks of two paddocks do not run into one another.
    free = np.maximum(free, max(b.begin_s for b in order.burning))
    out = np.concatenate([standing.burning_s, [b.out_s for b in order.burning]])
    lines = (*standing.lines, *(shapely.get_coordinates(b.piece.line) for b in order.burning))
    return replace(standing, free_s=free, xy=at, burning_s=out, lines=lines)
