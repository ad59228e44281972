"""Heat in the row: what a probe measured, what kills weed seed, and whether a row is likely to get there."""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from mapper.farm.ranged import Array, possible

HeatVerdict = Literal["likely", "doubtful", "unlikely", "not known"]


@dataclass(frozen=True)
class KillPoint:
    """A published lethal point: seconds at or above a temperature, or a heat index in degC s."""

    seed: str
    temp_c: float
    seconds: float
    heat_index: float
    source: str


KILL_POINTS: tuple[KillPoint, ...] = (
    KillPoint("annual ryegrass", 400, 10, 3750, "Walsh & Newman (2007) Field Crops Res. 104:24-30 (read)"),
    KillPoint("wild radish in pods", 500, 10, 4750, "Walsh & Newman (2007) Field Crops Res. 104:24-30 (read)"),
    KillPoint("all seed tested", 400, 60, 22600, "Norsworthy et al. (2020) Weed Technol. 34:589 (heat index read)"),
)

# Dry matter in the row, t/ha. 20: the trade's least (Birchip Cropping Group, read). 10.8: the lightest soybean row with
# complete kill (Norsworthy et al. 2020, read).
ENOUGH_T_HA, LIGHTEST_T_HA = 20.0, 10.8
# Moisture, %, at which rows smoulder: common practice, no source. Rows with 11 mm of rain in the week before did not
# reach lethal heat (SAGIT S416, read), soaked ones needed two weeks or more (AHRI trial 2007, read).
DAMP_PCT, WET_PCT = 15.0, 25.0


def heat_index(temp_c: Any, ambient_c: float, step_s: float = 1.0) -> float:
    """Return the heat index of a probe trace in degC s: the sum of degrees above ambient each second.

    temp_c shape (n,), readings step_s apart (Norsworthy et al. 2020; Spoth et al. 2022). Readings below ambient add
    nothing; a trace with a gap (NaN) raises SettingError through the check of the step, gaps must be cut out before.
    """
    trace = possible("probe temperature", temp_c, -40, 1500)
    return float(np.nansum(np.maximum(trace - ambient_c, 0.0)) * float(possible("step", step_s, 0.001, 600)))


def effective_burn_time(temp_c: Any, step_s: float = 1.0, above_c: float = 200.0) -> float:
    """Return the seconds a probe trace spent above 200 degC (Spoth et al. 2022), or above another temperature."""
    trace = possible("probe temperature", temp_c, -40, 1500)
    return float(np.count_nonzero(trace > above_c) * step_s)


def longest_above(temp_c: Any, threshold_c: float, step_s: float = 1.0) -> float:
    """Return the longest unbroken time, s, at or above a temperature."""
    hot = np.concatenate([[False], np.asarray(temp_c, dtype=float) >= threshold_c, [False]])
    edges = np.flatnonzero(np.diff(hot.astype(int)))
    return float((edges[1::2] - edges[::2]).max(initial=0) * step_s)


def killed(temp_c: Any, ambient_c: float, step_s: float = 1.0) -> dict[str, bool]:
    """Return for each published kill point whether a trace reached it.

    Ten-second points ask for that long without a break at the temperature; "all seed tested" asks for the heat index.
    Kiln points are set points and field probes are not: the heat index is the careful one.
    """
    reached = {}
    for point in KILL_POINTS:
        if point.seconds >= 60:
            reached[point.seed] = heat_index(temp_c, ambient_c, step_s) >= point.heat_index
        else:
            reached[point.seed] = longest_above(temp_c, point.temp_c, step_s) >= point.seconds
    return reached


@dataclass(frozen=True)
class RowHeat:
    """Whether rows are likely to burn hot enough to kill seed. Arrays of one shape; why is one sentence each."""

    load_t_ha: Array
    verdict: NDArray[np.object_]
    why: NDArray[np.object_]


def row_heat(load_kg_m: Any, row_width_m: Any, moisture_pct: Any, enough_t_ha: float = ENOUGH_T_HA) -> RowHeat:
    """Return the heat verdict of rows from load (kg of dry matter a metre), width (m) and moisture (%); broadcast.

    A rule of thumb between published points, not a model of burning: no published equation was found. Wind, which
    shortens the burn (Norsworthy et al. 2020), is left out. enough_t_ha: the farm's own least load in the row.
    """
    load = possible("row load", load_kg_m, 0, 50)
    width = possible("row width", row_width_m, 0.05, 10)
    damp = possible("moisture", moisture_pct, 0, 400)
    t_ha, damp = np.broadcast_arrays(10.0 * load / width, damp)
    light = min(LIGHTEST_T_HA, enough_t_ha)
    verdict = np.empty(t_ha.shape, dtype=object)
    why = np.empty(t_ha.shape, dtype=object)
    for i in np.ndindex(t_ha.shape):
        verdict[i], why[i] = _one(float(t_ha[i]), float(damp[i]), light, enough_t_ha)
    return RowHeat(t_ha.copy(), verdict, why)


def _one(t_ha: float, damp: float, light: float, enough: float) -> tuple[HeatVerdict, str]:
    if not (np.isfinite(t_ha) and np.isfinite(damp)):
        return "not known", "Load or moisture is not known"
    load = f"{t_ha:.0f} t/ha in the row"
    if damp >= WET_PCT:
        return "unlikely", f"{load}, but {damp:.0f} % moisture: it will smoulder"
    if t_ha < light:
        return "unlikely", f"{load} is under {light:g} t/ha, the lightest row with full kill in a trial"
    if t_ha < enough:
        return "doubtful", f"{load} is under the {enough:g} t/ha the trade asks for"
    if damp >= DAMP_PCT:
        return "doubtful", f"{load}, but {damp:.0f} % moisture: test a row first"
    return "likely", f"{load}, {damp:.0f} % moisture"
