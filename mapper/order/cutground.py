"""A paddock cut up for the night: fields, edge rows, what must come before what, what lies in the lee of what."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper.farm.farm import Crew, RowBurn
from mapper.farm.ranged import Array
from mapper.ground.boundary import unit
from mapper.order.danger import SIGMAS, Spread, in_lee
from mapper.order.fields import cut_at_lines, in_turn, split_fields
from mapper.order.pieces import Piece, cut_flanks
from mapper.order.precedence import Pairs, first_hits
from mapper.order.sequence import Lee
from mapper.order.strip import EdgeRows, edge_strip, find_edge_rows
from mapper.order.strips import downwind_order, lies_along

HEADER_M = 12.0
# A present break wider than this does not push the first row further from the edge.
_BREAK_INSIDE_M = 12.0
# Further than any paddock is long.
_FAR_M = 1e7


@dataclass(frozen=True)
class Night:
    """What all paddocks of a night share. winds (k, 3): from, until (s), blown to (deg); windows (w, 2) in s.

    along_deg: rows closer to the wind's direction than this are lit in strips across them. lee_deg: the wind may turn
    this far either way. crew_until_s (crews,): a
    crew lights nothing after. most_alight: pieces alight at once. effort: share of the solver's full effort.
    """

    winds: Array
    windows: Array
    crews: tuple[Crew, ...]
    row_burn: RowBurn
    along_deg: float
    lee_deg: float
    seed: int
    crew_until_s: Array
    most_alight: int = 1_000_000
    effort: float = 1.0


@dataclass(frozen=True)
class Asked:
    """What is asked of pieces, by piece_id: release_s, no earlier than; earlier, pairs lit one before the other."""

    release_s: Mapping[str, float] = field(default_factory=dict)
    earlier: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Ground:
    """One paddock cut up: its edge rows and inside, the turn of each piece's field, the pairs of every wind, and what
    lies in the lee of what under any direction the wind may take: too deep for a crew to get clear, or at all.
    downwind_m (n,): how far downwind each piece's middle lies."""

    paddock: str
    area: BaseGeometry
    header_m: float
    rows: EdgeRows
    turn: NDArray[np.int64]
    pairs: tuple[Pairs, ...]
    lee: Lee
    touched: Lee
    downwind_m: Array

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Its pieces to light."""
        return self.rows.pieces

    def part(self, stays: NDArray[np.bool_]) -> "Ground":
        """Return the paddock with some of its pieces only; pairs with the others fall away."""
        rows = self.rows
        pairs = tuple(part_pairs(p, stays) for p in self.pairs)
        kept = tuple(p for p, s in zip(rows.pieces, stays, strict=True) if s)
        cut = EdgeRows(kept, rows.field[stays], rows.edge[stays], rows.late[stays], pairs[0])
        return replace(
            self,
            rows=cut,
            turn=self.turn[stays],
            pairs=pairs,
            lee=part_lee(self.lee, stays),
            touched=part_lee(self.touched, stays),
            downwind_m=self.downwind_m[stays],
        )


def cut_ground(
    name: str,
    area: BaseGeometry,
    header_m: float,
    pieces: tuple[Piece, ...],
    edges: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    assets: gpd.GeoDataFrame,
    breaks_there: gpd.GeoDataFrame | None,
    night: Night,
) -> Ground:
    """Return a paddock's pieces cut at the lines between its fields and at its downwind edge strip."""
    to_deg = float(night.winds[0, 2])
    flanks = not lies_along([p.line for p in pieces], to_deg, night.along_deg)
    pieces = tuple(cut_flanks(pieces, to_deg, night.along_deg, night.lee_deg, flanks))
    fields, middles = split_fields(area, breaks_there, assets)
    cut, number = cut_at_lines(pieces, fields, middles)
    present = breaks.loc[~breaks["side"].str.startswith(("Ring", "Inside")), "present_m"]
    inside_m = min(float(present.max()), _BREAK_INSIDE_M) if len(present) else 0.0
    strip = edge_strip(edges, area, header_m, inside_m)
    places = np.array([f.centroid.coords[0] for f in fields])
    # Fields that lock into one another are burnt as one.
    first = first_hits([shapely.get_coordinates(p.line) for p in cut], to_deg)
    turn = in_turn(number, first, places, to_deg)
    rows = find_edge_rows(cut, turn, strip, to_deg)
    lines = [shapely.get_coordinates(p.line) for p in rows.pieces]
    others = (first_hits(lines, float(to)) for to in night.winds[1:, 2])
    spread = Spread(to_deg, night.lee_deg / SIGMAS)
    lee, touched = Lee(*in_lee(lines, lines, spread)), Lee(*in_lee(lines, lines, spread, 0.0))
    middles = np.array([p.line.interpolate(0.5, normalized=True).coords[0] for p in rows.pieces])
    return Ground(name, area, header_m, rows, rows.field, (rows.pairs, *others), lee, touched, middles @ unit(to_deg))


def one_way(ground: Ground, phase: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return pairs of which one lies in the lee of the other and may be lit first: in no circle with the mean wind."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    mean, n = ground.pairs[0], len(ground.pieces)
    above, below = ground.touched.above, ground.touched.below
    # Rows in each other's lee say nothing.
    mutual = np.isin(above * n + below, below * n + above)
    fits = (phase[below] <= phase[above]) & ~mutual
    above, below = above[fits], below[fits]
    first, then = np.r_[mean.first, below], np.r_[mean.then, above]
    graph = coo_matrix((np.ones(len(first)), (first, then)), shape=(n, n))
    knot = connected_components(graph, directed=True, connection="strong")[1]
    # In a circle those stay that agree with one order of all, the furthest downwind first.
    order = downwind_order(np.ones(n, dtype=bool), mean, phase * _FAR_M - ground.downwind_m)
    turn = np.empty(n, dtype=np.int64)
    turn[order] = np.arange(n)
    stays = (knot[above] != knot[below]) | (turn[below] < turn[above])
    return above[stays], below[stays]


def part_lee(lee: Lee, chosen: NDArray[np.bool_]) -> Lee:
    """Return the pairs of pieces chosen, in their numbers."""
    number = np.cumsum(chosen) - 1
    both = chosen[lee.above] & chosen[lee.below]
    return Lee(number[lee.above[both]], number[lee.below[both]])


def part_pairs(pairs: Pairs, chosen: NDArray[np.bool_]) -> Pairs:
    """Return the pairs of pieces chosen, in their numbers."""
    number = np.cumsum(chosen) - 1
    both = chosen[pairs.first] & chosen[pairs.then]
    first, then = number[pairs.first[both]], number[pairs.then[both]]
    shares = pairs.first_share[both], pairs.then_share[both]
    return Pairs(first, then, pairs.lines[both], *shares, dropped=pairs.dropped)
