"""What this room hands on: the rows, the heaps, what to look at and where the figures come from."""

from dataclasses import dataclass

import geopandas as gpd

from mapper.farm.notes import Figure, Remark


@dataclass(frozen=True)
class RowsResult:
    """Layers windrows and heaps (farm/layers.py), remarks and figures."""

    windrows: gpd.GeoDataFrame
    heaps: gpd.GeoDataFrame
    remarks: tuple[Remark, ...] = ()
    figures: tuple[Figure, ...] = ()
