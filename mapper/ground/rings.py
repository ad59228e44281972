"""Bare rings round trees, poles, stacks and buildings that stand in a paddock or close to it."""

from typing import Any

import geopandas as gpd
import pandas as pd
import shapely

from mapper.farm.assets import ASSET_KINDS
from mapper.farm.limits import LocalLimits

# A line that goes round a thing is its ring when it lies this close to where the ring is wanted. Our choice.
_SLACK_M = 8.0


def wanted_rings(
    paddock: "pd.Series[Any]", assets: gpd.GeoDataFrame, breaks_there: gpd.GeoDataFrame, limits: LocalLimits
) -> list[dict[str, Any]]:
    """Return one row of layer "breaks" for each ring wanted, with its geometry under "geometry".

    A ring is wanted where the asset's local limit is known and reaches into the paddock. What is there: the width of a
    break that goes round the thing close by, else 0.
    """
    rows = []
    for asset in assets.itertuples():
        kind = ASSET_KINDS.get(str(asset.kind))
        limit = limits.get(kind.break_limit) if kind is not None and kind.break_limit else None
        if kind is None or limit is None or limit.value <= 0:
            continue
        if asset.geometry.distance(paddock.geometry) >= limit.value:
            continue
        ring = _outline(asset.geometry.buffer(limit.value))
        present, wanted = _round(asset.geometry, breaks_there, limit.value), limit.value
        short = max(wanted - present, 0.0)
        name = str(asset.name or kind.label)
        rows.append(
            {
                "paddock": str(paddock["paddock"]),
                "guards": name,
                "side": f"Ring round {name}",
                "present_m": present,
                "wanted_m": wanted,
                "wanted_by": f"local limit ({limit.source})",
                "short_m": short,
                "length_m": ring.length,
                "todo": _todo(present, wanted),
                "geometry": ring,
            }
        )
    return rows


def _todo(present_m: float, wanted_m: float) -> str:
    if present_m >= wanted_m:
        return ""
    return f"widen by {wanted_m - present_m:.3g} m" if present_m > 0 else f"make a bare ring of {wanted_m:g} m"


def _outline(area: Any) -> Any:
    largest = max(shapely.get_parts(area), key=lambda part: part.area)
    return shapely.LineString(largest.exterior.coords)


def _round(thing: Any, breaks_there: gpd.GeoDataFrame, wanted_m: float) -> float:
    """Width of the widest break that goes round the thing close by."""
    widest = 0.0
    for line, width in zip(breaks_there.geometry, breaks_there["width_m"], strict=True):
        if width <= widest or line.distance(thing) > wanted_m + _SLACK_M:
            continue
        round_it = shapely.Polygon(line.coords).buffer(0).buffer(width).covers(thing)
        # A break round the whole paddock goes round the thing too, but not close by.
        close = line.hausdorff_distance(_outline(thing.buffer(wanted_m))) <= wanted_m + width + 2 * _SLACK_M
        if round_it and close:
            widest = float(width)
    return widest
