"""The pieces that are lit, gathered over all paddocks and numbered."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from mapper.farm.farm import Crew, RowBurn
from mapper.order.blocks import block_numbers, letter
from mapper.order.night import PaddockOrder
from mapper.order.pieces import Piece


@dataclass(frozen=True)
class Lit:
    """One piece in the order. way 1: lit from its last vertex. Times UTC; done_at: its far end reached."""

    piece: Piece
    order_no: int
    block: str
    crew: int
    way: int
    lit_at: datetime
    done_at: datetime
    out_at: datetime
    edge: bool


def gather(orders: Sequence[PaddockOrder], start: datetime, crews: tuple[Crew, ...], row_burn: RowBurn) -> list[Lit]:
    """Return all lit pieces by their time of lighting, numbered from 1; start: the moment the seconds count from."""
    found: list[Lit] = []
    for order in orders:
        s = order.schedule
        if s is None:
            continue
        edge = order.edge[s.pieces]
        blocks = block_numbers(s.begin_s, edge, row_burn.block_min * 60)
        for k, p in enumerate(s.pieces):
            lit_at, done_at, out_at = (start + timedelta(seconds=float(x[k])) for x in (s.begin_s, s.end_s, s.out_s))
            block, crew, way = letter(int(blocks[k])), int(s.crew[k]), int(s.way[k])
            found.append(Lit(order.pieces[p], 0, block, crew, way, lit_at, done_at, out_at, bool(edge[k])))
    found.sort(key=lambda x: (x.lit_at, x.crew))
    return [replace(x, order_no=k + 1) for k, x in enumerate(found)]
