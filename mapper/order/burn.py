"""What to burn first: from rows and winds to pieces in order, lighting points, blocks and ways out."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from mapper.farm.farm import Crew, RowBurn
from mapper.farm.layers import empty_layer
from mapper.farm.limits import LocalLimits
from mapper.farm.notes import Figure, Remark
from mapper.hours.verdict import Window
from mapper.order.around import Around
from mapper.order.asked import apply_wishes, crews_until, keep_unlit
from mapper.order.choose import Chosen, choose, remarks_of_ways
from mapper.order.cutground import Night
from mapper.order.danger import SIGMAS
from mapper.order.layers import block_layer, out_layer, piece_layer, point_layer, route_layer
from mapper.order.night import cut_grounds
from mapper.order.pieces import Piece, cut_rows, unlit_ground
from mapper.order.schedule import FAR
from mapper.order.tell import clock, figures_of, remarks_of
from mapper.order.watch import points_cost, watch
from mapper.order.winds import SteadyWind, steady_winds
from mapper.order.wishes import Wishes
from mapper.weather.wind import WindChange, direction_spread

# Rows closer to the wind than this, or 1.5 sigma if that is more, are lit across.
_ALONG_DEG = 20.0
NO_WINDOW = "no hour of this night is inside the local limits"
NO_ROOM = "the whole paddock does not fit in the hours left; left for another night"
NO_TIME = "no time left in the hours inside the local limits"


@dataclass(frozen=True)
class Order:
    """The order of a night: layers of farm/layers.py, what to look at, figures with their source."""

    pieces: gpd.GeoDataFrame
    lighting_points: gpd.GeoDataFrame
    blocks: gpd.GeoDataFrame
    ways_out: gpd.GeoDataFrame
    remarks: tuple[Remark, ...]
    figures: tuple[Figure, ...]
    routes: gpd.GeoDataFrame | None = None


def burn_order(
    paddocks: gpd.GeoDataFrame,
    windrows: gpd.GeoDataFrame,
    edges: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    buffers: gpd.GeoDataFrame,
    assets: gpd.GeoDataFrame,
    night_hours: pd.DataFrame,
    windows: Sequence[Window],
    changes: Sequence[WindChange],
    crews: Sequence[Crew],
    row_burn: RowBurn,
    limits: LocalLimits,
    crs: Any,
    seed: int = 0,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    breaks_there: gpd.GeoDataFrame | None = None,
    wishes: Wishes | None = None,
    effort: float = 1.0,
) -> Order:
    """Return the order in which to light the rows of the paddocks chosen.

    Every row becomes pieces; each has an order_no 1..n by its time of lighting, or 0 and a left_reason. A piece is lit
    only after the piece it meets first downwind, under every wind that blows while it burns. Field by field, rows along
    the downwind edge are burnt out before the inside is lit. A piece is out no later than burnout_min after a window's
    end, which is the last moment to light. A block that has no way out at some minute is left for another night, with
    all that comes after it in its paddock. Lines of layer "pieces" run as the crew works. Layers and figures as in
    farm/layers.py; times UTC. wishes: what the person in charge has fixed. effort: share of the solver's full effort.
    Raises Stopped when cancelled.

    Where the wind blows close to along the rows the inside is lit in passes across them (order/strips.py). Times count
    driving along rows and headlands; drives led round live rows and smoke are in `routes`, and what they take longer is
    said.
    """
    wishes = wishes or Wishes()
    # A window ends at the last moment to light; what is lit then may still burn out.
    burn_out = timedelta(minutes=row_burn.burnout_min)
    spans = [(w.starts_at, w.ends_at + burn_out) for w in windows]
    winds = _winds(night_hours, spans, changes)
    pieces = cut_rows(windrows, unlit_ground(buffers, breaks_there), [w.to_deg for w in winds])
    pieces = keep_unlit(pieces, wishes)
    if not spans or not winds:
        return _nothing_lit(pieces, crs)
    start, sigma = spans[0][0], _sigma_deg(night_hours, changes, spans)
    night = Night(
        np.array([(_s(w.starts_at, start), _s(w.ends_at, start), w.to_deg) for w in winds]),
        np.array([(_s(a, start), _s(b, start)) for a, b in spans]),
        tuple(crews),
        row_burn,
        max(_ALONG_DEG, 1.5 * sigma),
        SIGMAS * sigma,
        seed,
        crews_until(crews, wishes, start),
        _whole(limits.value("rows_alight_max", FAR)),
        effort,
    )
    grounds = cut_grounds(paddocks, pieces, edges, breaks, assets, breaks_there, night)
    grounds, asked, mended = apply_wishes(grounds, pieces, crews, wishes, start)
    # Where no width is set, that of ground to stand on counts (order/wayground.py).
    around = Around(assets, breaks, edges, buffers, night_hours, winds, changes, limits.value("break_edge", 0.0))
    found = choose(grounds, night, asked, start, around, progress, cancelled)
    left = _left(found)
    left += [(p, p.left_reason) for p in pieces if p.left_reason]
    shapes = {str(p["paddock"]): p for _, p in paddocks.iterrows()}
    ends = clock(max(b for _, b in spans), night_hours)
    return Order(
        piece_layer(found.lit, left, crs, night.crews),
        point_layer(found.lit, night.crews, crs),
        block_layer(found.lit, shapes, night.crews, crs),
        out_layer(found.escapes, crs),
        (
            *remarks_of(found.burnt, found.waiting, left, ends, len(crews)),
            *mended,
            *remarks_of_ways(found, night_hours),
            *watch(found.lit, limits, night_hours),
        ),
        (*figures_of(found.burnt, night), *points_cost(found.burnt, night.crews, row_burn)),
        route_layer(found.drives, night.crews, crs),
    )


def _whole(limit: float) -> int:
    return int(min(limit, 1e6))


def _s(at: datetime, start: datetime) -> float:
    return (at - start).total_seconds()


def _winds(
    night_hours: pd.DataFrame, spans: Sequence[tuple[datetime, datetime]], changes: Sequence[WindChange]
) -> tuple[SteadyWind, ...]:
    """The winds that blow in any span."""
    found = () if night_hours.empty else steady_winds(night_hours, changes)
    return tuple(w for w in found if any(w.starts_at < b and w.ends_at > a for a, b in spans))


def _sigma_deg(
    night_hours: pd.DataFrame, changes: Sequence[WindChange], spans: Sequence[tuple[datetime, datetime]]
) -> float:
    """Sigma of the wind's direction, of the likelier part of its distribution, where it is widest; rounded up."""
    found = []
    for begin, end in spans:
        for share in np.linspace(0.0, 1.0, 5):
            spread = direction_spread(night_hours, begin + share * (end - begin), changes)
            found.append(float(spread.sigmas_deg[spread.weights.argmax()]))
    return float(np.ceil(max(found)))


def _left(found: Chosen) -> list[tuple[Piece, str]]:
    """All pieces cut for lighting that stay unlit, each with its reason."""
    left: list[tuple[Piece, str]] = list(found.left_out)
    for order in found.burnt:
        lit = {b.piece.piece_id for b in order.burning}
        left += [(p, NO_TIME) for p in order.pieces if p.piece_id not in lit]
    return left + [(p, NO_ROOM) for order in found.waiting for p in order.pieces]


def _nothing_lit(pieces: Sequence[Piece], crs: Any) -> Order:
    left = [(p, p.left_reason or NO_WINDOW) for p in pieces]
    remarks = (Remark("order", "stop", f"Nothing is lit: {NO_WINDOW}."),) if pieces else ()
    points, blocks, ways = (empty_layer(n, crs) for n in ("lighting_points", "blocks", "ways_out"))
    return Order(piece_layer([], left, crs), points, blocks, ways, remarks, ())
