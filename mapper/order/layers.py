"""The order as layers: pieces, lighting points, blocks, ways out."""

from collections.abc import Mapping, Sequence
from typing import Any

import geopandas as gpd
import numpy as np

from mapper.farm.farm import Crew
from mapper.farm.layers import make_layer
from mapper.farm.notes import Remark
from mapper.order.around import Around
from mapper.order.blocks import block_area
from mapper.order.lit import Lit
from mapper.order.paddock import HEADER_M
from mapper.order.pieces import Piece
from mapper.order.wayground import WayGround
from mapper.order.ways_out import Stand, WayOut, way_out
from mapper.weather.wind import WindChange

# Moments of a block at which its way out is looked for. Our choice.
_MOMENTS = 4


def piece_layer(
    lit: Sequence[Lit], left: Sequence[tuple[Piece, str]], crs: Any, crews: Sequence[Crew] = ()
) -> gpd.GeoDataFrame:
    """Return layer "pieces": those lit in their order, then those left with order_no 0."""
    pieces = [x.piece for x in lit] + [p for p, _ in left]
    none = [None] * len(left)
    return make_layer(
        "pieces",
        {
            "piece_id": [p.piece_id for p in pieces],
            "row_id": [p.row_id for p in pieces],
            "paddock": [p.paddock for p in pieces],
            "block": [x.block for x in lit] + [""] * len(left),
            "order_no": [x.order_no for x in lit] + [0] * len(left),
            "crew": [crews[x.crew].crew for x in lit] + [""] * len(left),
            "lit_at": [x.lit_at for x in lit] + none,
            "out_at": [x.out_at for x in lit] + none,
            "left_reason": [""] * len(lit) + [reason for _, reason in left],
            "length_m": [p.line.length for p in pieces],
        },
        [x.line for x in lit] + [p.line for p, _ in left],
        crs,
    )


def point_layer(lit: Sequence[Lit], crews: Sequence[Crew], crs: Any) -> gpd.GeoDataFrame:
    """Return layer "lighting_points", each with the time it is lit."""
    columns: dict[str, list[Any]] = {c: [] for c in ("paddock", "block", "piece_id", "order_no", "crew", "lit_at")}
    points = []
    for x in lit:
        for along, at, crew in x.points:
            values = (x.piece.paddock, x.block, x.piece.piece_id, x.order_no, crews[crew].crew, at)
            for column, value in zip(columns, values, strict=True):
                columns[column].append(value)
            points.append(x.line.interpolate(along))
    return make_layer("lighting_points", columns, points, crs)


def _by_block(lit: Sequence[Lit]) -> dict[tuple[str, str], list[Lit]]:
    found: dict[tuple[str, str], list[Lit]] = {}
    for x in lit:
        found.setdefault((x.piece.paddock, x.block), []).append(x)
    return found


def block_layer(lit: Sequence[Lit], paddocks: Mapping[str, Any], crews: Sequence[Crew], crs: Any) -> gpd.GeoDataFrame:
    """Return layer "blocks" in the order of lighting; ends_at: the block's last piece is out."""
    groups = _by_block(lit)
    areas = []
    for (name, _), pieces in groups.items():
        header = float(paddocks[name]["header_width_m"])
        lines = [x.piece.line for x in pieces]
        areas.append(block_area(lines, header if header > 0 else HEADER_M, paddocks[name].geometry))
    return make_layer(
        "blocks",
        {
            "paddock": [name for name, _ in groups],
            "block": [block for _, block in groups],
            "first_no": [g[0].order_no for g in groups.values()],
            "last_no": [g[-1].order_no for g in groups.values()],
            "starts_at": [g[0].lit_at for g in groups.values()],
            "ends_at": [max(x.out_at for x in g) for g in groups.values()],
            "crew": [
                " + ".join(crews[c].crew for c in sorted({crew for x in g for _, _, crew in x.points}))
                for g in groups.values()
            ],
            "note": ["edge rows: burnt out before the inside is lit" if g[0].edge else "" for g in groups.values()],
        },
        areas,
        crs,
    )


def out_layer(
    lit: Sequence[Lit], paddocks: Mapping[str, Any], around: Around, crs: Any
) -> tuple[gpd.GeoDataFrame, list[Remark]]:
    """Return layer "ways_out", one line a block, from its worst place; and a stop for every block that has none.

    The places looked at are where the crew stands at some moments of the block, each with what is alight then. The
    worst is one without a way, else the earliest `until`, else the longest way.
    """
    columns: dict[str, list[Any]] = {c: [] for c in ("paddock", "block", "name", "to", "until", "note")}
    shapes: list[Any] = []
    remarks: list[Remark] = []
    numbers: dict[tuple[str, str], int] = {}
    grounds: dict[str, WayGround] = {}
    for (name, block), pieces in _by_block(lit).items():
        if name not in grounds:
            grounds[name] = around.ground(name, paddocks[name].geometry)
        found: WayOut | None = None
        for stand in _stands(pieces, [x for x in lit if x.piece.paddock == name]):
            way = way_out(stand, grounds[name], around.spread(stand.at), around.next_change(stand.at))
            if way is None:
                remarks.append(Remark("order", "stop", _no_way(block, around.next_change(stand.at)), name, stand.place))
                found = None
                break
            if found is None or (way.until is not None, way.line.length) > (found.until is not None, found.line.length):
                found = way
        if found is None:
            continue
        number = numbers.setdefault((name, found.to), len(numbers) + 1)
        note = "" if found.until is None else "leave by then: the wind change may come early"
        for column, value in zip(columns, (name, block, f"OUT {number}", found.to, found.until, note), strict=True):
            columns[column].append(value)
        shapes.append(found.line)
    return make_layer("ways_out", columns, shapes, crs), remarks


def _stands(block: Sequence[Lit], lit: Sequence[Lit]) -> list[Stand]:
    """Where the crew stands at a few moments spread over a block's work, the last always, and what burns then."""
    moments = [(at, x.line.interpolate(along)) for x in block for along, at, _ in x.points]
    moments += [(x.done_at, x.stands) for x in block]
    moments.sort(key=lambda m: m[0])
    chosen = sorted({round(k) for k in np.linspace(0, len(moments) - 1, _MOMENTS)})
    return [
        Stand(at, place, tuple(x.alight(at) for x in lit if x.lit_at <= at <= x.out_at))
        for at, place in (moments[k] for k in chosen)
    ]


def _no_way(block: str, change: WindChange | None) -> str:
    holds = "" if change is None else ", also if the wind change comes early"
    return f"No way out of block {block}: no wide break, road, green or bare ground is in reach clear of fire{holds}."
