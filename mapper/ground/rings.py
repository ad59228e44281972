"""Bare rings round trees, poles, stacks and buildings that stand in a paddock or close to it."""

from typing import Any

import geopandas as gpd
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from mapper.farm.assets import ASSET_KINDS
from mapper.farm.limits import LocalLimits
from mapper.ground.present import BARE_AREAS, LINE_WIDTH_M
from mapper.ground.things import Things
from mapper.ground.work import work_for

RING = "Ring round "
# A line that goes round a thing is its ring when it lies this close to where the ring is wanted. Our choice.
_SLACK_M = 8.0
# A ring of which this little is not bare is there: outlines are drawn by hand. Our choice.
_DRAWN = 0.05


def wanted_rings(
    paddock: "pd.Series[Any]", assets: Things, breaks_there: gpd.GeoDataFrame, limits: LocalLimits
) -> list[dict[str, Any]]:
    """Return one row of layer "breaks" for each ring wanted, with its geometry under "geometry".

    A ring is wanted where the asset's local limit is known and reaches into the paddock. What is there: all of it where
    the ground of the ring that lies in the paddock is bare by other means; else the width of a break that goes round
    the thing close by, else 0. area_m2 is the ring's ground inside the paddock that is not bare.
    """
    rows = []
    bare: BaseGeometry | None = None
    for kind_name, called, shape in zip(assets.kind, assets.name, assets.shape, strict=True):
        kind = ASSET_KINDS.get(str(kind_name))
        limit = limits.get(kind.break_limit) if kind is not None and kind.break_limit else None
        if kind is None or limit is None or limit.value <= 0 or shape.distance(paddock.geometry) >= limit.value:
            continue
        bare = _bare(paddock.geometry, assets, breaks_there) if bare is None else bare
        wanted = limit.value
        ground = shape.buffer(wanted).intersection(paddock.geometry).difference(shape)
        stubble = ground.difference(bare)
        is_bare = stubble.area <= _DRAWN * max(ground.area, 1e-9)
        present = wanted if is_bare else min(_round(shape, breaks_there, wanted), wanted)
        short, ring, name = wanted - present, _outline(shape.buffer(wanted)), str(called or kind.label)
        work = work_for(short, ring.length, limits)
        rows.append(
            {
                "paddock": str(paddock["paddock"]),
                "guards": name,
                "side": f"{RING}{name}",
                "present_m": present,
                "wanted_m": wanted,
                "wanted_by": f"local limit ({limit.source})",
                "local_m": wanted,
                "breach_m": float("nan"),
                "short_m": short,
                "length_m": ring.length,
                "area_m2": stubble.area if short > 0 else 0.0,
                "passes": work.passes,
                "work_h": work.hours,
                "todo": _todo(present, wanted),
                "geometry": ring,
            }
        )
    return rows


def _bare(paddock: BaseGeometry, assets: Things, breaks_there: gpd.GeoDataFrame) -> BaseGeometry:
    """Ground in and near the paddock on which nothing can burn."""
    shapes = list(assets.of(*BARE_AREAS).areas().shape)
    for kind, width in LINE_WIDTH_M.items():
        shapes += [line.buffer(width / 2) for line in assets.of(kind).lines().shape]
    near = breaks_there[(breaks_there["width_m"] > 0) & (breaks_there.distance(paddock) < 60.0)]
    shapes += [line.buffer(w / 2) for line, w in zip(near.geometry, near["width_m"], strict=True)]
    return shapely.union_all(shapes)


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
        if not width > widest or len(line.coords) < 4 or line.distance(thing) > wanted_m + _SLACK_M:
            continue
        round_it = shapely.Polygon(line.coords).buffer(0).buffer(width).covers(thing)
        # A break round the whole paddock goes round the thing too, but not close by.
        close = line.hausdorff_distance(_outline(thing.buffer(wanted_m))) <= wanted_m + width + 2 * _SLACK_M
        if round_it and close:
            widest = float(width)
    return widest
