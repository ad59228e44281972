"""What the burn is worth and what it costs: seed killed, seedlings to come, nutrients, cover; heavy rows, bridging."""

from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from mapper.farm.farm import Farm
from mapper.farm.notes import Figure, Remark
from mapper.farm.ranged import Array
from mapper.fire.behaviour import behaviour
from mapper.fire.cost import bared_share, nutrient_loss
from mapper.fire.growth import lighting_words
from mapper.fire.kill import Band, burn_seconds, heat_band, seed_killed
from mapper.fire.seed import fewer_seedlings, through_header
from mapper.fire.stubble import bridges, standing_stubble_t_ha, stubble_state
from mapper.ground.edges import fuel
from mapper.hours.verdict import Window
from mapper.plan.check import SCORCHED_M, inside_windows
from mapper.weather.wind import height_factor

# The weed that figures are for: the trade's first one. Days from its maturity to harvest are not known: the range.
WEED, _DAYS = "annual ryegrass", (0.0, 28.0)
_OTHERS = ("wild radish in pods", "brome grass", "wild oats", "barley grass")
_STATE_WORDS = {"natural": "standing grass", "grazed": "grazed grass", "eaten_out": "eaten-out grass"}
# A run that means something to a crew, for the words on lighting. Our choice.
_RUN_M = 300.0
# Less than this of the rows too heavy is said by nobody: our choice.
_HEAVY_SHARE = 0.02


def worth(
    farm: Farm, windrows: gpd.GeoDataFrame, night: pd.DataFrame, windows: tuple[Window, ...], names: tuple[str, ...]
) -> tuple[Figure, ...]:
    """Return for each planned paddock the heat and kill to expect, next season's seedlings, nutrients and bare ground.

    Kill and seed are the careful end, the hopeful end stands in `inputs`: dampest and windiest hour of the windows
    against the driest and stillest, seed shed for 28 days against none. Heat and kill need a window; rows without a
    load have no figures.
    """
    hours = inside_windows(night, windows)
    found: list[Figure] = []
    for name in names:
        rows = windrows[(windrows["paddock"] == name) & windrows["load_t_ha"].notna()]
        if rows.empty:
            continue
        paddock = farm.paddock(name)
        if len(hours):
            found += _kill(name, float(paddock["cut_height_m"]), rows, hours)
            found += _head(paddock, hours)
        found += _cost(name, paddock.geometry.area, rows)
        if not paddock["stubble_t_ha"] > 0 and paddock["yield_t_ha"] > 0 and paddock["cut_height_m"] >= 0:
            standing = float(standing_stubble_t_ha(paddock["yield_t_ha"], paddock["cut_height_m"]))
            source = "0.5 t for each t of grain at 0.36 m (Allen 1988), taken as linear"
            found.append(
                Figure(f"{name}: stubble standing between rows, about", standing, "t/ha", source, "yield, cut height")
            )
    return tuple(found)


def _kill(name: str, cut_height_m: float, rows: gpd.GeoDataFrame, hours: pd.DataFrame) -> list[Figure]:
    load, length = rows["load_t_ha"].to_numpy(), rows["length_m"].to_numpy()
    damp, wind = hours["moisture_pct"], hours["wind_km_h"]
    careful, hopeful = heat_band(load, damp.max(), wind.max()), heat_band(load, damp.min(), wind.min())
    heat = Band(careful.low, hopeful.high, careful.outside | hopeful.outside)
    killed = seed_killed(heat, WEED)
    low, high = (float(np.average(part, weights=length)) for part in (killed.low, killed.high))
    if not np.isfinite(low + high):
        return []
    outside = bool(np.average(killed.outside, weights=length) > 0.1)
    middle = float(np.average(load, weights=length))
    heat_low, heat_high = (float(np.average(part, weights=length)) for part in (heat.low, heat.high))
    seconds = burn_seconds(Band(np.asarray(heat_low), np.asarray(heat_high), np.asarray(outside)))
    figures = [
        Figure(
            f"{name}: heat in the row, at least", heat_low, "degC s",
            "Straight lines through three published rows (Norsworthy 2020, Spoth 2022, Newman & Walsh 2005)",
            f"at most {heat_high:,.0f}; over 200 degC for {seconds.low:.0f} to {seconds.high:.0f} s; {middle:.0f} t/ha "
            "in the row, dampness and wind of the hours", outside,
        ),
        Figure(
            f"{name}: {WEED} seed in the row killed, at least", 100 * low, "%",
            "Lethal points: 400 degC for 10 s (Walsh & Newman 2007), heat index 22,600 (Norsworthy et al. 2020)",
            f"at most {100 * high:.0f} %; {', '.join(_other(w, heat, length) for w in _OTHERS)}", outside,
        ),
    ]  # fmt: skip
    shed = through_header(cut_height_m, np.array(_DAYS), WEED)
    entered = Band(shed.low.min(), shed.high.max(), np.any(shed.outside, keepdims=True))
    if np.isfinite(entered.low):
        fewer = fewer_seedlings(entered, Band(np.asarray(low), np.asarray(high), np.asarray(outside)))
        figures += [
            Figure(
                f"{name}: {WEED} seed that went through the header, at least", 100 * float(entered.low), "%",
                "Cut height: Ground Cover 126; shedding: AHRI, Walsh & Powles (2014)",
                f"at most {100 * float(entered.high):.0f} %; cut at {cut_height_m:g} m, 0 to 28 days after maturity",
                bool(np.any(entered.outside)),
            ),
            Figure(
                f"{name}: fewer {WEED} seedlings next season, at least", 100 * float(fewer.low), "%",
                "Derived; 37-90 % over 24 sites (Walsh et al. 2017)", f"at most {100 * float(fewer.high):.0f} %",
                bool(np.any(fewer.outside)),
            ),
        ]  # fmt: skip
    return figures


def _other(weed: str, heat: Band, length: Array) -> str:
    killed = seed_killed(heat, weed)
    low, high = (float(np.average(part, weights=length)) for part in (killed.low, killed.high))
    return f"{weed} {100 * low:.0f} to {100 * high:.0f} %"


def _head(paddock: "pd.Series[Any]", hours: pd.DataFrame) -> list[Figure]:
    """The head fire in the stubble between rows, should it leave them, in the worst of the hours."""
    state = stubble_state(float(paddock["cut_height_m"]))
    load, curing = fuel(paddock)
    fire = behaviour(hours["wind_km_h"], hours["temp_c"], hours["rh_pct"], curing, load, state)
    if not np.isfinite(fire.head_m_s).any():
        return []
    k = int(np.nanargmax(fire.head_m_s))
    spread = "Cheney, Gould & Catchpole (1998), stubble by cut height after Cruz et al. (2020)"
    flame = "Byram (1959); height: 2022 national system, second-hand"
    name, outside = paddock["paddock"], bool(fire.outside[k])
    return [
        Figure(
            f"{name}: head fire in the stubble", 60 * float(fire.head_m_s[k]), "m/min", spread,
            f"as {_STATE_WORDS[state]}, {load:g} t/ha, wind {hours['wind_km_h'].iloc[k]:.0f} km/h; flat, a wide front",
            outside,
        ),
        Figure(
            f"{name}: flame length of that fire", float(fire.flame_m[k]), "m", flame,
            f"flame height {fire.flame_height_m[k]:.1f} m", outside,
        ),
    ]  # fmt: skip


def _cost(name: str, area_m2: float, rows: gpd.GeoDataFrame) -> list[Figure]:
    straw_t_ha = float((rows["load_kg_m"] * rows["length_m"]).sum()) / 1000.0 / (area_m2 / 1e4)
    lost = nutrient_loss(straw_t_ha)
    gap = area_m2 / float(rows["length_m"].sum())
    return [
        Figure(
            f"{name}: nitrogen lost to the air", float(lost.to_air["N"]), "kg/ha",
            "5 kg for each t burnt (Laycock 2021)",
            f"{straw_t_ha:.1f} t/ha of paddock burnt; sulphur {float(lost.to_air['S']):.1f} kg/ha; potassium "
            f"{float(lost.banded['K']):.1f} and phosphorus {float(lost.banded['P']):.1f} kg/ha stay, banded in the row",
        ),
        Figure(
            f"{name}: nutrients lost, rows moved each year", float(lost.cost_moved), "A$/ha",
            "Starting prices, no source; A$13.15 moved and 42.75 not, at 2012 prices (Ground Cover 100)",
            f"A$ {float(lost.cost_same_place):.0f}/ha where rows lie in the same place each year",
        ),
        Figure(
            f"{name}: ground left bare by rows", 100 * float(bared_share(np.clip(gap, 0.5, 200), SCORCHED_M)), "%",
            "Arithmetic; generally under a tenth (Walsh & Newman 2007)",
            f"{SCORCHED_M:g} m scorched, rows {gap:.1f} m apart",
        ),
    ]  # fmt: skip


def heavy_rows(farm: Farm, windrows: gpd.GeoDataFrame, names: tuple[str, ...]) -> tuple[Remark, ...]:
    """Return a remark for each planned paddock with rows over the limit row_load_max: they threaten to leave."""
    most = farm.limits.value("row_load_max")
    found = []
    for name in names:
        rows = windrows[windrows["paddock"] == name]
        heavy = rows["load_t_ha"] > most
        share = rows.loc[heavy, "length_m"].sum() / max(rows["length_m"].sum(), 1e-9)
        if share > _HEAVY_SHARE:
            text = (
                f"{share:.0%} of the row length in {name} is heavier than your {most:g} t/ha: fire there burns long "
                "and high and may leave the row. Light it in the stillest hour, with a unit beside it."
            )
            found.append(Remark("rows", "look", text, name, rows.geometry[heavy].union_all()))
    return tuple(found)


def bridging(farm: Farm, names: tuple[str, ...]) -> tuple[Remark, ...]:
    """Return a remark for each planned paddock whose stubble lets flame bridge between the crop's rows, or may."""
    spacing = farm.limits.value("row_spacing")
    found = []
    for name in names:
        paddock = farm.paddock(name)
        height = float(paddock["cut_height_m"])
        if not bridges(height, spacing):
            continue
        if np.isfinite(height + spacing):
            text = (
                f"{name} is cut at {height:.2f} m, higher than the crop's rows are apart ({spacing:.2f} m): flame can "
                "bridge from stubble row to stubble row (common practice)."
            )
        else:
            what = "Cut height" if np.isnan(height) else "The distance between the crop's rows"
            text = f"{what} of {name} is not known: flame may bridge from stubble row to stubble row."
        found.append(Remark("rows", "look", text, name, paddock.geometry))
    return tuple(found)


def lighting_note(
    farm: Farm, night: pd.DataFrame, windows: tuple[Window, ...], names: tuple[str, ...]
) -> tuple[Remark, ...]:
    """Return one note on lighting along a length against single points, for the first paddock planned."""
    words = lighting_explained(farm, names[0], night, windows) if names else None
    return () if words is None else (Remark("order", "note", " ".join(words), names[0]),)


def lighting_explained(
    farm: Farm, name: str, night: pd.DataFrame, windows: tuple[Window, ...]
) -> tuple[str, str] | None:
    """Return what lighting along a length, and at single points, means for an escape from a paddock: two sentences.

    In the windiest hour of the windows; None where there is none.
    """
    hours = inside_windows(night, windows).dropna(subset=["wind_km_h"])
    if hours.empty:
        return None
    hour = hours.iloc[int(hours["wind_km_h"].argmax())]
    load, curing = fuel(farm.paddock(name))
    state = stubble_state(float(farm.paddock(name)["cut_height_m"]))
    fire = behaviour(hour["wind_km_h"], hour["temp_c"], hour["rh_pct"], curing, load, state)
    wind_2_m_s = float(hour["wind_km_h"]) * height_factor(10, 2) / 3.6
    return lighting_words(_RUN_M, float(fire.head_m_s), float(fire.lb), wind_2_m_s)
