"""Care areas round assets: where nothing is lit, and where a unit stands by."""

from typing import Any

import geopandas as gpd

from mapper.farm.assets import ASSET_KINDS
from mapper.farm.layers import make_layer
from mapper.farm.limits import LocalLimits

NO_BURN, CARE = "no burn", "care"
# Smoke conducts: nothing is lit in the strip under wires (network operators' advice). Bare rings cannot be lit.
_UNLIT_CARE = ("power_line",)


def care_buffers(assets: gpd.GeoDataFrame, limits: LocalLimits, crs: Any) -> gpd.GeoDataFrame:
    """Return layer "buffers": for each asset its care area and its bare ring, from the local limits that are known.

    purpose "no burn": rows inside stay unlit (bare rings, strips under power lines); "care": a unit stands by or
    somebody is told. An asset whose limit is not known has no area: guard_paddock says so.
    """
    columns: dict[str, list[Any]] = {k: [] for k in ("asset", "kind", "name", "purpose", "distance_m", "source")}
    shapes = []
    for asset in assets.itertuples():
        kind = ASSET_KINDS.get(str(asset.kind))
        if kind is None:
            continue
        for key in filter(None, (kind.care_limit, kind.break_limit)):
            limit = limits.get(key)
            if limit is None or limit.value <= 0:
                continue
            unlit = key == kind.break_limit or kind.kind in _UNLIT_CARE
            found = (asset.asset, kind.kind, asset.name, NO_BURN if unlit else CARE, limit.value)
            for column, value in zip(columns, (*found, f"{limit.source}, {limit.date}".rstrip(", ")), strict=True):
                columns[column].append(value)
            shapes.append(asset.geometry.buffer(limit.value))
    return make_layer("buffers", columns, shapes, crs)
