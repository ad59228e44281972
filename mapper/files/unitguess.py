"""Units that a log does not write, found from its numbers: step against distance, speed against both, grain balance."""

from typing import Any

import numpy as np

from mapper.farm.ranged import Array
from mapper.files.columns import Sure
from mapper.files.units import FACTORS

_FAR_STEP_M = 25.0
# Medians that harvesters give, in the kept unit; from memory of logs, no source.
_USUAL = {"speed": (0.6, 3.5), "width": (2.5, 19.0), "yield": (0.3, 12.0), "flow": (0.5, 25.0)}
Guessed = tuple[str, Sure, str]
# So many values tell a middle as well as all.
_ENOUGH = 50_000


def thinned(values: Array) -> Array:
    """Return evenly spread values, as many as tell a middle well."""
    return values[:: max(1, len(values) // _ENOUGH)]


def _nearest(ratio: float, factors: dict[str, float], only: tuple[str, ...]) -> tuple[str, float]:
    """Return the unit whose factor is nearest to a ratio, and how many times off it is."""
    unit = min(only, key=lambda u: abs(np.log(ratio / factors[u])))
    return unit, float(np.exp(abs(np.log(ratio / factors[unit]))))


def _median(values: Array) -> float:
    some = thinned(values)
    good = some[np.isfinite(some) & (some > 0)]
    return float(np.median(good)) if len(good) else float("nan")


def distance_unit(distance: Array, step_m: Array) -> Guessed:
    """Return the unit of logged distances from the real step between fixes (metres, driven order)."""
    distance, step_m = thinned(distance), thinned(step_m)
    good = (step_m > 0.2) & (step_m < _FAR_STEP_M) & (distance > 0)
    if good.sum() < 10:
        return "m", "guess", "too few steps to check"
    ratio = float(np.median(step_m[good] / distance[good]))
    unit, off = _nearest(ratio, FACTORS["length"], ("m", "ft", "in"))
    return (
        unit,
        "certain" if off < 1.15 else "guess",
        f"a step of {np.median(step_m[good]):.2f} m is logged as " + (f"{np.median(distance[good]):.2f}"),
    )


def speed_unit(speed: Array, real_m_s: Array) -> Guessed:
    """Return the unit of logged speeds; real_m_s from steps and time or logged distance and duration, NaN unknown."""
    speed, real_m_s = thinned(speed), thinned(real_m_s)
    good = np.isfinite(real_m_s) & (real_m_s > 0.4) & (real_m_s < 8) & (speed > 0)
    if good.sum() >= 10:
        ratio = float(np.median(real_m_s[good] / speed[good]))
        unit, off = _nearest(ratio, FACTORS["speed"], ("m/s", "km/h", "mph", "ft/s", "kn", "m/min", "cm/s", "mm/s"))
        sure: Sure = "certain" if off < 1.08 else "likely" if off < 1.2 else "guess"
        return unit, sure, "by step and time"
    middle = _median(speed)
    low, high = _USUAL["speed"]
    return ("m/s" if low <= middle <= high else "km/h"), "guess", f"by its size, {middle:.1f} at the middle"


def width_unit(width: Array, imperial: bool) -> Guessed:
    """Return the unit of a cutting width by its size; imperial: whether the log's distances are in feet or inches."""
    middle = _median(width)
    low, high = _USUAL["width"]
    fits = [u for u in ("m", "ft", "in", "cm", "mm") if low <= middle * FACTORS["length"][u] <= high]
    if not fits:
        return "m", "guess", f"{middle:g} fits no unit"
    wanted = [u for u in fits if (u in ("ft", "in")) == imperial] or fits
    return wanted[0], "certain" if len(wanted) == 1 and imperial else "likely", f"by its size, {middle:g} at the middle"


def grain_units(
    yields: Array | None, flow: Array | None, width_m: Array, speed_m_s: Array, units: tuple[str, str], imperial: bool
) -> tuple[Guessed, Guessed]:
    """Return the units of yield and flow: those that agree best with width and speed and give a usual crop.

    units: what the file says of each, "" where nothing. Balance: kg/s = 0.1 * t/ha * m * m/s.
    """
    choices = [
        (y, f)
        for y in ([units[0]] if units[0] else ["t/ha", "kg/ha", "bu/ac", "lb/ac"] if yields is not None else [""])
        for f in ([units[1]] if units[1] else ["kg/s", "t/h", "lb/s", "kg/h"] if flow is not None else [""])
    ]
    area_rate = _median(width_m) * _median(speed_m_s)

    def odds(choice: tuple[str, str]) -> float:
        y, f = choice
        y_t_ha = _median(yields) * FACTORS["yield"][y] if yields is not None and y else float("nan")
        f_kg_s = _median(flow) * FACTORS["flow"][f] if flow is not None and f else float("nan")
        bad = _off(y_t_ha, "yield") + _off(f_kg_s, "flow")
        balance = f_kg_s / (0.1 * y_t_ha * area_rate)
        if np.isfinite(balance) and balance > 0:
            bad += 3 * abs(np.log(balance))
        return bad + 0.15 * ((y in ("bu/ac", "lb/ac")) != imperial) + 0.15 * ((f == "lb/s") != imperial)

    best = min(choices, key=odds)
    sure: Sure = "likely" if yields is not None and flow is not None and np.isfinite(area_rate) else "guess"
    why = "by yield, flow, width and speed together" if sure == "likely" else "by its size"
    return (best[0], sure, why), (best[1], sure, why)


def _off(value: float, what: str) -> float:
    low, high = _USUAL[what]
    if not np.isfinite(value) or value <= 0:
        return 0.0
    return float(max(np.log(low / value), np.log(value / high), 0.0) * 2)


def in_unit(values: Any, unit: str, dimension: str) -> Array:
    """Return values in the kept unit of a dimension (m, m/s, kg/s, t/ha, s, degrees)."""
    return np.asarray(values, dtype=float) * (FACTORS[dimension][unit] if unit else 1.0)
