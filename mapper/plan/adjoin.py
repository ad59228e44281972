"""Whether land adjoins a burn: touching it, or across a road, lane or waterway."""

import geopandas as gpd
import shapely
from shapely.geometry.base import BaseGeometry

from mapper.farm.assets import ASSET_KINDS

# Boundaries drawn twice differ by this much. Our choice.
TOUCHING_M = 3.0
# Land across a lane, road or waterway counts as adjoining (NSW Rural Fires Regulation 2022 s.34). Up to the first
# distance a lane or reserve may lie between though none is drawn; up to the second one that is drawn counts (a wide
# rural reserve is 60 m, a river reserve 200 m: common practice, no source).
UNDRAWN_M, ACROSS_M = 60.0, 200.0
_BETWEEN = ("road", "track", "railway", "water")


def how_it_adjoins(land: BaseGeometry, burnt: BaseGeometry, assets: gpd.GeoDataFrame) -> str:
    """Return how land adjoins the ground burnt, in words; empty where it does not."""
    away = float(land.distance(burnt))
    if away <= TOUCHING_M:
        return "land adjoins the burn"
    if away > ACROSS_M or burnt.is_empty:
        return ""
    link = shapely.shortest_line(burnt, land)
    between = assets[assets["kind"].isin(_BETWEEN)]
    crossed = between[shapely.dwithin(between.geometry.to_numpy(), link, 1.0)] if len(between) else between
    if len(crossed):
        thing = crossed.iloc[0]
        return f"land adjoins across {thing['name'] or ASSET_KINDS[thing['kind']].label.lower()}, {away:.0f} m"
    return f"land {away:.0f} m away, as across a lane or reserve" if away <= UNDRAWN_M else ""
