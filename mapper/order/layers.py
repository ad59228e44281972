"""The order as layers: pieces, lighting points, blocks, ways out."""

from collections.abc import Mapping, Sequence
from typing import Any

import geopandas as gpd

from mapper.farm.farm import Crew
from mapper.farm.layers import make_layer
from mapper.order.blocks import block_area
from mapper.order.cutground import HEADER_M
from mapper.order.escape import Escape
from mapper.order.lit import Lit
from mapper.order.pieces import Piece
from mapper.order.routes import Route


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


def out_layer(escapes: Sequence[Escape], crs: Any) -> gpd.GeoDataFrame:
    """Return layer "ways_out": one line a block that has a way out, from its worst place."""
    columns: dict[str, list[Any]] = {c: [] for c in ("paddock", "block", "name", "to", "until", "note")}
    shapes: list[Any] = []
    numbers: dict[tuple[str, str], int] = {}
    for e in escapes:
        if e.way is None:
            continue
        number = numbers.setdefault((e.paddock, e.way.to), len(numbers) + 1)
        note = "" if e.way.until is None else "leave by then: the wind change may come early"
        values = (e.paddock, e.block, f"OUT {number}", e.way.to, e.way.until, note)
        for column, value in zip(columns, values, strict=True):
            columns[column].append(value)
        shapes.append(e.way.line)
    return make_layer("ways_out", columns, shapes, crs)


def route_layer(drives: Sequence[Route], crews: Sequence[Crew], crs: Any) -> gpd.GeoDataFrame:
    """Return layer "routes": the crews' drives between pieces; those that nothing leads round are said in words."""
    there = [(r, r.line) for r in drives if r.line is not None and r.line.length > 0]
    return make_layer(
        "routes",
        {
            "paddock": [r.paddock for r, _ in there],
            "block": [r.block for r, _ in there],
            "crew": [crews[r.crew].crew for r, _ in there],
            "from_no": [r.from_no for r, _ in there],
            "to_no": [r.to_no for r, _ in there],
            "leaves_at": [r.leaves for r, _ in there],
            "length_m": [line.length for _, line in there],
            "note": ["round live rows or their smoke" if r.rounds else "" for r, _ in there],
        },
        [line for _, line in there],
        crs,
    )
