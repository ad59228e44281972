"""Held against the local limits: the crew that is there, and the ground that stays covered."""

import geopandas as gpd

from mapper.farm.farm import Farm
from mapper.farm.notes import Remark

# Scorched strip round a row, for the ground left bare: 0.5-0.6 m rows scorch up to 1 m (trade: under a tenth of the
# paddock; Walsh & Newman 2007 "generally <10 %"; the metre is arithmetic, no source).
SCORCHED_M = 1.0


def check_crew(farm: Farm) -> tuple[Remark, ...]:
    """Return a stop for each of people, units and water that falls short of its local limit."""
    if not farm.crews:
        return (Remark("order", "stop", "No crew is given: say how many people, units and how much water there are."),)
    have = {
        "people_min": (sum(c.people for c in farm.crews), "people"),
        "units_min": (sum(c.units for c in farm.crews), "fire units"),
        "water_min": (sum(c.water_l for c in farm.crews), "L of water on units"),
    }
    found = []
    for key, (there, words) in have.items():
        wanted = farm.limits.value(key)
        if there < wanted:
            found.append(Remark("order", "stop", f"There are {there:,.0f} {words}. Your local limit is {wanted:,.0f}."))
    return tuple(found)


def check_cover(farm: Farm, windrows: gpd.GeoDataFrame, names: tuple[str, ...]) -> tuple[Remark, ...]:
    """Return a remark for each planned paddock whose rows would leave less cover than the limit ground_cover_min."""
    wanted = farm.limits.value("ground_cover_min")
    found = []
    for name in names:
        area = farm.paddock(name).geometry.area
        length = float(windrows.loc[windrows["paddock"] == name, "length_m"].sum())
        left = 100.0 * (1.0 - min(1.0, length * SCORCHED_M / area))
        if left < wanted:
            text = f"Burning every row leaves about {left:.0f} % of {name} covered. Your limit is {wanted:.0f} %."
            found.append(Remark("rows", "look", text, name, farm.paddock(name).geometry))
    return tuple(found)
