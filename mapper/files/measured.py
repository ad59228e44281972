"""Measured columns of a log in kept units: speed, heading, width, flow, yield; a unit not written is found."""

from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.ranged import Array
from mapper.files.columns import ColumnEntry, ColumnMap
from mapper.files.numbers import numbers
from mapper.files.unitguess import distance_unit, grain_units, in_unit, speed_unit, thinned, width_unit

_MEASURED = ("speed", "heading", "width", "flow", "yield", "distance", "duration")
# What loggers write where they know nothing: all digits nines, or the least whole number.
_NOT_KNOWN = (-9999.0, -999.0, -99.0, 9999.0, 99999.0, 999999.0, -32768.0, 65535.0)


def measured(
    table: pd.DataFrame, columns: ColumnMap, x: Array, y: Array, t_s: Array, given: bool = False
) -> tuple[ColumnMap, dict[str, Array], list[str]]:
    """Return the mapping with its units found, the measured columns in kept units, and notes.

    given: somebody has put the mapping right, so a unit that it names stands even against the numbers.
    """
    raw = {e.meaning: _known(numbers(table[e.column])) for e in columns.entries if e.meaning in _MEASURED}
    step = np.r_[np.nan, np.hypot(np.diff(x), np.diff(y))]
    found: dict[str, tuple[str, Any, str]] = {}
    values: dict[str, Array] = {}
    notes: list[str] = []

    def unit_of(meaning: str) -> str:
        entry = columns.get(meaning)
        return entry.unit if entry else ""

    if "duration" in raw:
        values["duration"] = in_unit(raw["duration"], unit_of("duration") or "s", "time")
    if "distance" in raw:
        if not unit_of("distance"):
            found["distance"] = distance_unit(raw["distance"], step)
        values["distance"] = in_unit(raw["distance"], found.get("distance", (unit_of("distance"),))[0], "length")
    distance_in = found.get("distance", (unit_of("distance"),))[0]
    real = real_speed(step, t_s, values)
    if "speed" in raw:
        if not unit_of("speed"):
            found["speed"] = speed_unit(raw["speed"], real)
        elif not given and (better := _contradicted(raw["speed"], unit_of("speed"), real)):
            found["speed"] = (better, "likely", f"by step and time, though its name says {unit_of('speed')}")
        values["speed"] = in_unit(raw["speed"], found.get("speed", (unit_of("speed"),))[0], "speed")
    elif "distance" in values and "duration" in values:
        with np.errstate(divide="ignore", invalid="ignore"):
            values["speed"] = np.where(values["duration"] > 0, values["distance"] / values["duration"], np.nan)
        notes.append("speed is distance over duration.")
    imperial = distance_in in ("ft", "in") or unit_of("width") == "ft"
    if "width" in raw:
        if not unit_of("width"):
            found["width"] = width_unit(raw["width"], imperial)
        values["width"] = in_unit(raw["width"], found.get("width", (unit_of("width"),))[0], "length")
    if "yield" in raw or "flow" in raw:
        speed = values.get("speed", real)
        grain = grain_units(
            raw.get("yield"), raw.get("flow"), values.get("width", np.array([np.nan])), speed,
            (unit_of("yield"), unit_of("flow")), imperial,
        )  # fmt: skip
        for meaning, guessed in zip(("yield", "flow"), grain, strict=True):
            if meaning in raw:
                if not unit_of(meaning):
                    found[meaning] = guessed
                values[meaning] = in_unit(raw[meaning], guessed[0], meaning)
        if "bu/ac" in (grain[0][0], unit_of("yield")):
            notes.append("a bushel was taken as 60 lb (wheat).")
    if "heading" in raw:
        most = np.nanmax(np.abs(raw["heading"]), initial=0.0)
        radians = unit_of("heading") == "rad" or (not unit_of("heading") and 0.0 < most <= 6.3)
        values["heading"] = in_unit(raw["heading"], "rad" if radians else "deg", "angle")
        found["heading"] = ("rad" if radians else "deg", "certain", "")
    notes += _doubts(values)
    entries = tuple(_with_unit(e, found[e.meaning]) if e.meaning in found else e for e in columns.entries)
    return replace(columns, entries=entries), values, notes


def _contradicted(speed: Array, unit: str, real: Array) -> str:
    """Return the unit that steps and time bear out where they plainly deny the one that the name says, else ""."""
    unit_found, sure, _ = speed_unit(speed, real)
    if sure != "certain" or unit_found == unit:
        return ""
    off = float(np.nanmedian(in_unit(speed, unit, "speed")[real > 0.4] / real[real > 0.4]))
    return unit_found if abs(np.log(off)) > np.log(1.2) else ""


def _doubts(values: dict[str, Array]) -> list[str]:
    """Return sentences on what no harvester does: units may lie."""
    notes = []
    for meaning, (low, high), said in (
        ("speed", (0.3, 6.0), "{:.2f} m/s"),
        ("width", (1.5, 20.0), "{:.1f} m"),
        ("yield", (0.1, 16.0), "{:.2f} t/ha"),
        ("flow", (0.2, 40.0), "{:.1f} kg/s"),
    ):
        known = thinned(values.get(meaning, np.array([])))
        known = known[np.isfinite(known) & (known > 0)]
        if len(known) > 20 and not low <= np.median(known) <= high:
            notes.append(
                f"{meaning} is {said.format(np.median(known))} at the middle, which is unusual: check its unit."
            )
    if {"width", "speed", "yield", "flow"} <= set(values):
        width, speed, grain, flow = (thinned(values[k]) for k in ("width", "speed", "yield", "flow"))
        with np.errstate(divide="ignore", invalid="ignore"):
            balance = flow / (0.1 * grain * width * speed)
        sound = balance[np.isfinite(balance) & (balance > 0)]
        if len(sound) > 20 and not 0.6 < np.median(sound) < 1.6:
            notes.append(
                f"flow is {np.median(sound):.2g} times what yield, width and speed make together: check their units."
            )
    return notes


def _known(values: Array) -> Array:
    """Return values with marks of "not known" as NaN."""
    return np.where(np.isin(values, _NOT_KNOWN), np.nan, values)


_SURENESS = ("certain", "likely", "guess")


def less_sure(one: Any, other: Any) -> Any:
    """Return the less sure of two grades."""
    return max(one, other, key=_SURENESS.index)


def _with_unit(entry: ColumnEntry, found: tuple[str, Any, str]) -> ColumnEntry:
    unit, sure, why = found
    said = "; ".join(t for t in (entry.why, f"unit {why}" if why else "") if t)
    return replace(entry, unit=unit, sure=less_sure(entry.sure, sure), why=said)


def real_speed(step: Array, t_s: Array, values: dict[str, Array]) -> Array:
    """Return speed in m/s of each fix from its step and time, or from logged distance and duration; NaN unknown."""
    with np.errstate(divide="ignore", invalid="ignore"):
        if np.isfinite(t_s).any():
            dt = np.r_[np.nan, np.diff(t_s)]
            return np.where((dt > 0) & (dt <= 30), step / dt, np.nan)
        if "distance" in values and "duration" in values:
            return np.where(values["duration"] > 0, values["distance"] / values["duration"], np.nan)
        if "duration" in values:
            return np.where((values["duration"] > 0) & (step < 25), step / values["duration"], np.nan)
    return np.full(len(step), np.nan)
