"""What must be lit before what: the first piece met downwind of each piece."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array
from mapper.ground.boundary import unit

SCAN_M = 8.0
# Pieces that overlap by less than this across the wind do not shelter each other.
_THIN_M = 0.02


@dataclass(frozen=True)
class Pairs:
    """m pairs: piece `first` lies directly downwind of piece `then` and is lit before it.

    lines: scan lines that say so. first_share, then_share (m, 2): where along each piece (0 to 1 of its length) the
    two outermost of those lines meet it.
    """

    first: NDArray[np.int64]
    then: NDArray[np.int64]
    lines: NDArray[np.int64]
    first_share: Array
    then_share: Array
    dropped: int = 0


def first_hits(lines: Sequence[Array], to_deg: float, spacing_m: float = SCAN_M) -> Pairs:
    """Return the pairs under a wind that blows to to_deg.

    lines : vertices (n, 2) of each piece, each meeting a line along the wind at most once (order.pieces.cut_rows).
    Scan lines run along the wind every spacing_m, and between any two ends of pieces, so that no pair is missed. Pieces
    that cross each other would each come before the other: the pair with more scan lines stays, and `dropped` counts
    pairs taken out so that no circle is left.
    """
    hits = _hits(lines, to_deg, spacing_m)
    if hits is None:
        none = np.zeros(0, dtype=np.int64)
        return Pairs(none, none, none, np.zeros((0, 2)), np.zeros((0, 2)))
    scan, piece, share = hits
    pair = (scan[1:] == scan[:-1]) & (piece[1:] != piece[:-1])
    # Hits stand from upwind to downwind.
    then, first, then_at, first_at = piece[:-1][pair], piece[1:][pair], share[:-1][pair], share[1:][pair]
    key = first * len(lines) + then
    order = np.argsort(key, kind="stable")
    unique, begin, count = np.unique(key[order], return_index=True, return_counts=True)
    outer = np.stack([order[begin], order[begin + count - 1]], axis=1)
    found = Pairs(unique // len(lines), unique % len(lines), count, first_at[outer], then_at[outer])
    return _without_circles(found, len(lines))


def _hits(
    lines: Sequence[Array], to_deg: float, spacing_m: float
) -> tuple[NDArray[np.int64], NDArray[np.int64], Array] | None:
    """Scan line, piece and share along the piece of every hit, sorted by scan line and then downwind."""
    if not lines:
        return None
    counts = np.array([len(xy) for xy in lines])
    xy = np.concatenate(list(lines))
    owner = np.repeat(np.arange(len(lines)), counts)
    along, across = xy @ unit(to_deg), xy @ unit(to_deg + 90.0)
    same = owner[1:] == owner[:-1]
    run = np.where(same, np.hypot(*np.diff(xy, axis=0).T), 0.0)
    far = np.r_[0.0, np.cumsum(run)]
    begins = np.r_[0, np.cumsum(counts)[:-1]]
    far = far - far[begins][owner]
    share = far / np.maximum(far[begins + counts - 1], 1e-9)[owner]
    low, high = np.minimum.reduceat(across, begins), np.maximum.reduceat(across, begins)
    # Between two ends of pieces, across the wind, the order in which a line meets them cannot change.
    ends = np.sort(np.r_[low, high])
    between = (ends[1:] + ends[:-1])[np.diff(ends) > _THIN_M] / 2
    scans = np.unique(np.r_[np.arange(low.min() + spacing_m / 2, high.max(), spacing_m), between, (low + high) / 2])
    a = np.flatnonzero(same)
    first = np.searchsorted(scans, np.minimum(across[a], across[a + 1]))
    number = np.searchsorted(scans, np.maximum(across[a], across[a + 1])) - first
    segment = np.repeat(a, number)
    scan = np.repeat(first - np.r_[0, np.cumsum(number)[:-1]], number) + np.arange(number.sum())
    part = (scans[scan] - across[segment]) / (across[segment + 1] - across[segment])
    place = along[segment] + part * (along[segment + 1] - along[segment])
    order = np.lexsort((place, scan))
    at = share[segment] + part * (share[segment + 1] - share[segment])
    return scan[order], owner[segment][order], at[order]


def _without_circles(pairs: Pairs, count: int) -> Pairs:
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    keep = np.ones(len(pairs.first), dtype=bool)
    while True:
        at = np.flatnonzero(keep)
        graph = coo_matrix((np.ones(len(at)), (pairs.first[at], pairs.then[at])), shape=(count, count))
        _, part = connected_components(graph, directed=True, connection="strong")
        inside = at[part[pairs.first[at]] == part[pairs.then[at]]]
        if len(inside) == 0:
            break
        # The weakest pair of every knot goes, then the knots are looked for again.
        ranked = inside[np.lexsort((pairs.then[inside], pairs.first[inside], pairs.lines[inside]))]
        _, weakest = np.unique(part[pairs.first[ranked]], return_index=True)
        keep[ranked[weakest]] = False
    return Pairs(
        pairs.first[keep],
        pairs.then[keep],
        pairs.lines[keep],
        pairs.first_share[keep],
        pairs.then_share[keep],
        int((~keep).sum()),
    )
