"""Held against the local limits: crew, ground cover, heat in the rows, and the wind at which an index stops."""

import geopandas as gpd
import numpy as np
import pandas as pd

from mapper.farm.farm import Farm
from mapper.farm.limits import INDICES, Limit
from mapper.farm.notes import Figure, Remark
from mapper.fire.heat import ENOUGH_T_HA, row_heat
from mapper.fire.index import index_stop_wind
from mapper.hours.verdict import Window
from mapper.weather.danger import METERS, table_stop_wind

# Scorched strip round a row, for the ground left bare: 0.5-0.6 m rows scorch up to 1 m (trade: under a tenth of the
# paddock; Walsh & Newman 2007 "generally <10 %"; the metre is arithmetic, no source).
SCORCHED_M = 1.0
# Boundaries walked or drawn twice differ by a metre or two; more shared ground than this is a mistake: our choice.
OVERLAP_M2 = 1000.0
# Rows for less than this share of a paddock are no harvest of it; a header where nobody says: our choice.
FEWEST_ROWS, HEADER_M = 0.5, 12.0
# Less than this of the rows too cool is said by nobody: our choice.
_COOL_SHARE = 0.1


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


def check_overlap(farm: Farm, names: tuple[str, ...]) -> tuple[Remark, ...]:
    """Return a remark for each planned paddock and another that share ground: their rows and edges contradict."""
    paddocks = farm.paddocks.reset_index(drop=True)
    found = []
    for a, b in np.transpose(paddocks.sindex.query(paddocks.geometry, predicate="intersects")):
        first, second = paddocks.iloc[a], paddocks.iloc[b]
        if a >= b or not {first["paddock"], second["paddock"]} & set(names):
            continue
        shared = first.geometry.intersection(second.geometry)
        if shared.area > OVERLAP_M2:
            text = (
                f"{first['paddock']} and {second['paddock']} share {shared.area / 1e4:.1f} ha: rows and edges there "
                "are not to be trusted. Correct one boundary."
            )
            found.append(Remark("rows", "stop", text, where=shared))
    return tuple(found)


def check_found(farm: Farm, windrows: gpd.GeoDataFrame, names: tuple[str, ...]) -> tuple[Remark, ...]:
    """Return a stop for each planned paddock of which the rows found can be less than half: a log is unfit or missing.

    A row stands for the ground its header went over; a machine nobody set up counts with the widest header known.
    """
    set_up = {h.machine: h.header_width_m for h in farm.harvesters}
    found = []
    for name in names:
        paddock = farm.paddock(name)
        rows = windrows[windrows["paddock"] == name]
        if rows.empty:
            continue
        widest = max([*set_up.values(), *farm.paddocks["header_width_m"].dropna()], default=HEADER_M)
        swept = float((rows["length_m"] * rows["machine"].map(set_up).fillna(widest)).sum())
        share = swept / paddock.geometry.area
        if share < FEWEST_ROWS:
            text = (
                f"The rows found in {name} account for about {100 * share:.0f} % of it; what lies on the rest is not "
                "known. Open the logs that are missing, or correct their columns."
            )
            found.append(Remark("rows", "stop", text, name, paddock.geometry))
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


def check_heat(
    farm: Farm, windrows: gpd.GeoDataFrame, night: pd.DataFrame, windows: tuple[Window, ...], names: tuple[str, ...]
) -> tuple[Remark, ...]:
    """Return a remark for each planned paddock in which over a tenth of the row length may not get hot enough.

    Moisture is the row surface's in the dampest hour of the windows; the rule of thumb is fire/heat.row_heat's.
    """
    hours = inside_windows(night, windows)
    if hours.empty:
        return ()
    damp = float(hours["moisture_pct"].max())
    enough = farm.limits.value("row_load_min", ENOUGH_T_HA)
    found = []
    for name in names:
        rows = windrows[windrows["paddock"] == name]
        width_m = 10.0 * rows["load_kg_m"] / rows["load_t_ha"]
        length = rows["length_m"].to_numpy()
        verdict = row_heat(rows["load_kg_m"], width_m.fillna(farm_row_width(farm)), damp, enough).verdict
        cool = np.isin(verdict, ("unlikely", "doubtful"))
        share = length[cool].sum() / length.sum() if length.sum() > 0 else 0.0
        if share > _COOL_SHARE:
            text = (
                f"{share:.0%} of the row length in {name} may not burn hot enough to kill seed "
                f"(under {enough:g} t/ha in the row, or damp at {damp:.0f} %). Try a test row."
            )
            found.append(Remark("rows", "look", text, name, rows.geometry[cool].union_all()))
    return tuple(found)


def farm_row_width(farm: Farm) -> float:
    """Return the row width of the farm's first machine, metres."""
    return farm.harvesters[0].row_width_m if farm.harvesters else 0.6


def stop_winds(farm: Farm, night: pd.DataFrame, windows: tuple[Window, ...]) -> tuple[Figure, ...]:
    """Return the wind at which each index limit is reached in the warmest and driest air of the windows.

    McArthur meters as the trade's tables read (air rounded to the unsafe side, wind cut down to whole km/h).
    """
    hours = inside_windows(night, windows)
    limits = [found for k in ("index_max", "index_stop") if (found := farm.limits.get(k)) is not None]
    if hours.empty:
        return ()
    temp, rh = float(hours["temp_c"].max()), float(hours["rh_pct"].min())
    return tuple(_stop_wind(limit, temp, rh) for limit in limits)


def _stop_wind(limit: Limit, temp: float, rh: float) -> Figure:
    table = limit.index in METERS
    wind = (
        table_stop_wind(limit.index, limit.value, temp, rh)
        if table
        else index_stop_wind(limit.index, limit.value, temp, rh)
    )
    what = "light" if limit.key == "index_max" else "carry on"
    return Figure(
        f"Wind over which the index forbids to {what}",
        float(np.floor(wind)),
        "km/h",
        f"{INDICES[limit.index]} reaching your limit {limit.value:g}; wind at 10 m, 10-minute mean",
        f"warmest and driest air of the hours: {temp:.0f} degC, {rh:.0f} %"
        + (", rounded as the tables do" if table else ""),
    )


def inside_windows(night: pd.DataFrame, windows: tuple[Window, ...]) -> pd.DataFrame:
    """The hours that lie in a window, with known air."""
    if night.empty or not windows:
        return night.iloc[:0]
    begins = night["time_utc"]
    ends = begins + pd.Timedelta(hours=1)
    inside = np.logical_or.reduce([(ends > w.starts_at) & (begins <= w.ends_at) for w in windows])
    return night[inside].dropna(subset=["temp_c", "rh_pct", "moisture_pct"])
