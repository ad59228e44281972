"""How far rows lie apart."""

from typing import Any

import numpy as np
import shapely


def row_pitch_m(pieces: Any) -> float:
    """Return the usual distance between neighbouring rows in metres; infinite where there are not two."""
    if len(pieces) < 2:
        return float("inf")
    middle = shapely.line_interpolate_point(pieces.geometry.to_numpy(), 0.5, normalized=True)
    tree = shapely.STRtree(pieces.geometry.to_numpy())
    near, other = tree.query(shapely.buffer(middle, 60.0), predicate="intersects")
    rows = pieces["row_id"].to_numpy()
    apart = rows[near] != rows[other]
    if not apart.any():
        return float("inf")
    gap = shapely.distance(middle[near[apart]], pieces.geometry.to_numpy()[other[apart]])
    nearest = np.full(len(pieces), np.inf)
    np.minimum.at(nearest, near[apart], gap)
    real = nearest[np.isfinite(nearest) & (nearest > 0.5)]
    return float(np.median(real)) if len(real) else float("inf")
