"""Units as files write them, and the factor of each to the unit that the program keeps."""

import re
from typing import NamedTuple

# The international foot is 0.3048 m, the avoirdupois pound 0.45359237 kg, the acre 4046.8564224 m2, the nautical mile
# 1852 m, all by definition. A bushel has a weight by crop; 60 lb is that of wheat (United States and Canada).
# A decitonne (dt, quintal) is 100 kg; a sack of grain in Brazil 60 kg.
FOOT_M, POUND_KG, ACRE_M2, BUSHEL_LB = 0.3048, 0.45359237, 4046.8564224, 60.0
_LB_AC = POUND_KG / 1000.0 / (ACRE_M2 / 10_000.0)

# Dimension -> unit -> factor to m, m/s, kg/s, t/ha, s, degrees, mm or percent.
FACTORS: dict[str, dict[str, float]] = {
    "length": {"m": 1.0, "ft": FOOT_M, "in": 0.0254, "cm": 0.01, "mm": 0.001, "km": 1000.0},
    "speed": {
        "m/s": 1.0,
        "km/h": 1 / 3.6,
        "mph": 1609.344 / 3600,
        "kn": 1852 / 3600,
        "ft/s": FOOT_M,
        "m/min": 1 / 60,
        "cm/s": 0.01,
        "mm/s": 0.001,
    },
    "flow": {
        "kg/s": 1.0,
        "t/h": 1 / 3.6,
        "lb/s": POUND_KG,
        "kg/h": 1 / 3600,
        "lb/h": POUND_KG / 3600,
        "bu/h": BUSHEL_LB * POUND_KG / 3600,
        "kg/min": 1 / 60,
        "g/s": 0.001,
    },
    "yield": {
        "t/ha": 1.0,
        "kg/ha": 0.001,
        "lb/ac": _LB_AC,
        "bu/ac": BUSHEL_LB * _LB_AC,
        "kg/m2": 10.0,
        "g/m2": 0.01,
        "dt/ha": 0.1,
        "sack/ha": 0.06,
    },
    "time": {"s": 1.0, "ms": 0.001, "min": 60.0, "h": 3600.0},
    "angle": {"deg": 1.0, "rad": 57.29577951308232},
    "rain": {"mm": 1.0, "in": 25.4, "cm": 10.0},
    "share": {"%": 1.0, "fraction": 100.0, "okta": 12.5},
    "temperature": {"C": 1.0, "F": 5 / 9, "K": 1.0},
}
_SPELLINGS: dict[str, str] = {
    "metre": "m", "metres": "m", "meter": "m", "meters": "m", "feet": "ft", "foot": "ft", "inch": "in", "inches": "in",
    "kmh": "km/h", "kph": "km/h", "kmph": "km/h", "km/hr": "km/h", "km h-1": "km/h", "mps": "m/s", "ms": "m/s",
    "ms-1": "m/s", "m s-1": "m/s", "mi/h": "mph", "mi/hr": "mph", "miles/h": "mph", "kt": "kn", "kts": "kn",
    "knot": "kn", "knots": "kn", "fps": "ft/s", "tonne/h": "t/h", "tonnes/h": "t/h", "t/hr": "t/h", "tonne/hr": "t/h",
    "kgs": "kg/s", "kg/sec": "kg/s", "lb/sec": "lb/s", "lbs/s": "lb/s", "lb/hr": "lb/h", "kg/hr": "kg/h",
    "tonne/ha": "t/ha", "tonnes/ha": "t/ha", "tha": "t/ha", "t ha": "t/ha", "kgha": "kg/ha", "kg ha": "kg/ha",
    "lb/acre": "lb/ac", "lbs/ac": "lb/ac", "bu/acre": "bu/ac", "buac": "bu/ac", "bushel/acre": "bu/ac",
    "sec": "s", "secs": "s", "second": "s", "seconds": "s", "minutes": "min", "hours": "h", "hr": "h",
    "bu/hr": "bu/h", "bph": "bu/h", "kg/minute": "kg/min", "m/minute": "m/min", "miles per hour": "mph",
    "km/u": "km/h", "kmt": "km/h", "kmht": "km/h", "pounds/s": "lb/s", "lbs/sec": "lb/s", "mg/ha": "t/ha",
    "ton/ha": "t/ha", "tons/ha": "t/ha", "to/ha": "t/ha", "toneladas/ha": "t/ha", "q/ha": "dt/ha", "qx/ha": "dt/ha",
    "qq/ha": "dt/ha", "dz/ha": "dt/ha", "quintaux/ha": "dt/ha", "sc/ha": "sack/ha", "sacas/ha": "sack/ha",
    "lbs/acre": "lb/ac", "lb dry/ac": "lb/ac", "bu(dry)/ac": "bu/ac", "kg/m^2": "kg/m2", "kg/m²": "kg/m2",
    "g/m^2": "g/m2", "g/m²": "g/m2", "ton/h": "t/h", "to/h": "t/h", "tph": "t/h", "pies": "ft", "pieds": "ft",
    "pes": "ft", "metros": "m", "mts": "m", "noeuds": "kn", "nudos": "kn", "knoten": "kn", "segundos": "s",
    "sek": "s", "msec": "ms", "millis": "ms", "milliseconds": "ms", "grad": "deg", "grados": "deg", "graus": "deg",
    "degres": "deg", "degrés": "deg", "dd": "deg", "deg true": "deg", "°t": "deg", "rad.": "rad",
    "degree": "deg", "degrees": "deg", "°": "deg", "degt": "deg", "radians": "rad", "pct": "%", "percent": "%",
    "oktas": "okta", "eighths": "okta", "achtel": "okta", "octas": "okta",
    "c": "C", "°c": "C", "degc": "C", "deg c": "C", "celsius": "C", "f": "F",
    "°f": "F", "degf": "F", "deg f": "F", "fahrenheit": "F", "kelvin": "K", "frac": "fraction",
}  # fmt: skip
_KNOWN = {u for units in FACTORS.values() for u in units}
_BRACKETED = re.compile(r"[(\[{]([^()\[\]{}]*)[)\]}]\s*$")
_BEHIND_MARK = re.compile(r"(?:[,:;]|\s-)\s*([^,:;]+)$")


class Named(NamedTuple):
    """A column's name without its unit, and the unit written in it ("" where there is none)."""

    name: str
    unit: str


def read_unit(text: str) -> str:
    """Return the unit a text spells, or ""."""
    text = text.strip()
    low = text.lower()
    if text in _KNOWN:
        return text
    if low in _SPELLINGS:
        return _SPELLINGS[low]
    return low if low in _KNOWN else ""


def split_unit(column: str) -> Named:
    """Return name and unit of a column: "Distance(m)", "ground_speed_mps", "Yld Mass(Dry)(tonne/ha)"."""
    found = _BRACKETED.search(column)
    if found:
        return Named(column[: found.start()].strip(), read_unit(found.group(1)))
    for behind in _BEHIND_MARK.finditer(column):
        if unit := read_unit(behind.group(1)):
            return Named(column[: behind.start()].strip(), unit)
    parts = re.split(r"[_ ]+", column.strip())
    for take in (2, 1):
        if len(parts) > take:
            unit = read_unit("/".join(parts[-take:])) or (read_unit(" ".join(parts[-take:])) if take == 2 else "")
            # One letter at the end of a name is more often a cut word than a unit.
            if unit and (len(parts[-1]) > 1 or parts[-1] in ("m", "s", "C", "F", "K")):
                return Named(" ".join(parts[:-take]), unit)
    return Named(column, "")
