"""Which column of a forecast is what, in which unit, and its values in the units the program keeps."""

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.ranged import Array
from mapper.files.columns import MEANINGS, ColumnEntry, ColumnMap
from mapper.files.guess import samples_of
from mapper.files.names import plain
from mapper.files.numbers import number_like, numbers
from mapper.files.unitguess import in_unit
from mapper.files.units import FACTORS, read_unit, split_unit

# Other levels, other kinds of temperature, chances: none of them is the air where people stand.
_LEVELS = r"\b(70|80|90|100|120|150|180|200|500|850|1000) ?(m|hpa|mb)\b|soil|surface temp|skin|\bsea\b|wave"
_KINDS = r"dew|max|min|apparent|feels|wet bulb|heat index|wind ?chill|soil|potential|virtual|percentile"
_CHANCE = r"prob|chance|\bpop\b|percentile|type|symbol|snow"
# Meaning, words wanted in the plain name, words that rule it out; earlier rows are preferred within a meaning.
_NAMES: tuple[tuple[str, str, str], ...] = (
    ("issued", r"issue|base ?time|reference ?time|model ?run|run ?time|init(ial\w*)? ?time|analysis ?time|generated",
     ""),
    ("time",
     r"\b(valid\w* ?(time|date)|date ?time|time ?stamp|local ?time|time ?local|time ?utc|utc ?time|iso ?time)\b",
     r"sun|issue|base|reference"),
    ("time", r"^(time|hour|zeit|utc|valid|when|epoch|dt|dt txt|t s|uhrzeit|heure|hora|start ?time|from)( \w+){0,2}$",
     r"sun"),
    ("date", r"^(date|datum|day|local date|fecha)( \w+)?$", r"of week|name|length"),
    ("time", r"\b(time|timestamp|datetime)\b", r"sun|moon|zone|offset|issue|base|reference"),
    ("gust", r"gust|gst|\bboe\w*|rafale|rafaga|^fx$|^i?10fg\w*$", r"dir|time"),
    ("wind_from",
     r"(wind|wnd).*(dir|from|bearing|compass|deg|richt)|^(dir\w*|richtung|wd|wind from|wdir|bearing|drct|dd)( \w+)?$",
     r"gust|\bto\b"),
    ("wind",
     r"(wind|wnd|sfc wind).*(sp|mean|avg|10 ?m|km|kn|kt|mph|ms\b|kph|geschw)|^(ws|wspd|wind|ff|wind speed|sknt)\b",
     r"dir|gust|from|deg|bearing|\b[uv]\b|chill|component|east|north"),
    ("wind", r"^(sfc ?wind|si ?10|10 ?si|wind ?10)$", r""),
    ("wind_east",
     r"^(u ?10?|10 ?u|ugrd|uas|u wind)\b|eastward wind|\bu\b.*(wind|component)|(wind|wnd)\b.*\bu\b|x wind", ""),
    ("wind_north",
     r"^(v ?10?|10 ?v|vgrd|vas|v wind)\b|northward wind|\bv\b.*(wind|component)|(wind|wnd)\b.*\bv\b|y wind", ""),
    ("dew_point", r"dew|^(td|d ?2 ?m|2 ?d|dpt|dwpt|dwp[fc])$", r"dep"),
    ("humidity", r"humid|^(rh|r ?2|2 ?r|hurs|hur|rel hum|relh)\b|\brh$|hum\b|feuchte|humed",
     r"specific|absolute|mixing"),
    ("temperature",
     r"^(air )?(temp\w*|tair|tmp|tmpc|tmpf|ta|tas|t ?2 ?m|2 ?t|t|drybulb|dry bulb)\b|temperature|air temp|\btemp\b",
     _KINDS),
    ("rain", r"rain|precip|^(pp?|tp|pr|rr|apcp|qpf)( \w+)?$|regen|lluvia|niederschlag|pluie", _CHANCE),
    ("cloud", r"cloud|sky|okta|bew(o|oe)lk|^(tcc|clt|tcdc|nubes)\b", r"base|height|type|low|mid|high|ceil|text|desc"),
)  # fmt: skip
_COMPASS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
# Spellings of units that only weather uses.
_UNITS = {
    "mp/h": "mph", "kg m-2": "mm", "kg/m^2": "mm", "kg/m2": "mm", "kg m**-2": "mm", "m s**-1": "m/s", "l/m2": "mm",
    "1": "fraction", "0-1": "fraction", "inch": "in",
}  # fmt: skip
# A wind of which nothing tells the unit. Nothing is a go on it.
UNSAID = "no unit given; say it if it is m/s or knots"
_WINDS = ("wind", "gust", "wind_from", "wind_east", "wind_north")
_WORDLESS = ("time", "date", "issued", "wind_from")


def guess_forecast_columns(table: pd.DataFrame) -> ColumnMap:
    """Return which column of a forecast is taken as what, with its unit."""
    entries: list[ColumnEntry] = []
    used: set[str] = set()
    for meaning, pattern, but in _NAMES:
        if any(e.meaning == meaning for e in entries):
            continue
        # Wind of 10 m before wind of another height.
        for column in sorted(map(str, table.columns), key=lambda c: meaning in _WINDS and height_m(c) != 10.0):
            name, unit = _split(column)
            # "wind_kph" is a speed and "wind_deg" a direction: a unit of something else belongs to the name.
            text = plain(name if unit in FACTORS.get(MEANINGS[meaning], {}) and meaning != "wind_from" else column)
            wrong = re.search(_LEVELS, text) or (but and re.search(but, text))
            if column in used or not re.search(pattern, text) or wrong or table[column].isna().all():
                continue
            if meaning not in _WORDLESS and not number_like(table[column]):
                continue
            unit, why = _unit(meaning, unit, table[column])
            entries.append(
                ColumnEntry(meaning, column, unit, "guess" if why else "certain", why or "by its name",
                            samples_of(table[column]))
            )  # fmt: skip
            used.add(column)
            break
    return ColumnMap(tuple(_speeds_like_temperature(e, entries) for e in entries))


def _speeds_like_temperature(entry: ColumnEntry, entries: list[ColumnEntry]) -> ColumnEntry:
    """A speed without a unit is in that of the other wind, beside kelvin in m/s, beside Fahrenheit in mph."""
    if MEANINGS[entry.meaning] != "speed" or entry.sure != "guess":
        return entry
    beside = next((e.unit for e in entries if e.meaning == "temperature"), "")
    other = next((e for e in entries if e.meaning in ("wind", "gust") and e is not entry and e.sure == "certain"), None)
    if other is not None:
        return replace(entry, unit=other.unit, why=f"no unit given; {other.column} is in {other.unit}")
    unit = {"K": "m/s", "F": "mph"}.get(beside)
    if entry.meaning in ("wind_east", "wind_north"):
        unit = unit or "m/s"
    return entry if unit is None else replace(entry, unit=unit, why=f"no unit given; temperature is in {beside}")


def height_m(column: str) -> float:
    """Return the height above ground that a wind's heading names, metres: 2 for "wind_speed_2m"; NaN where none."""
    found = re.search(r"\b(\d{1,2}) ?m\b", plain(column))
    height = float(found.group(1)) if found else float("nan")
    return height if 0.5 <= height <= 50 else float("nan")


def _split(column: str) -> tuple[str, str]:
    """Return name and unit of a column's heading, with the spellings that weather uses."""
    bracketed = re.search(r"[(\[]([^()\[\]]*)[)\]]\s*$", column)
    if bracketed and bracketed.group(1).strip().lower() in _UNITS:
        return column[: bracketed.start()].strip(), _UNITS[bracketed.group(1).strip().lower()]
    name, unit = split_unit(column)
    return name, unit


def _unit(meaning: str, unit: str, values: "pd.Series[Any]") -> tuple[str, str]:
    """Return the unit of a column, and why where its name does not say it."""
    dimension = MEANINGS[meaning]
    if not dimension or meaning == "wind_from":
        return "", ""
    if dimension == "speed" and unit == "ms":
        # "ws_ms": milliseconds everywhere else, metres a second here.
        return "m/s", ""
    if unit in FACTORS[dimension]:
        return unit, ""
    known = numbers(values)
    known = known[np.isfinite(known)]
    if dimension == "temperature" and re.fullmatch(r"(tmp|temp|dwp|td|dewp)([fc])", str(values.name).lower()):
        return str(values.name)[-1].upper(), ""
    if dimension == "temperature":
        middle = float(np.median(known)) if len(known) else float("nan")
        return "K" if middle > 200 else "F" if middle > 45 else "C", "by its size"
    top = float(known.max()) if len(known) else float("nan")
    if meaning in ("humidity", "cloud"):
        if top <= 1.0:
            return "fraction", "by its size"
        return ("okta", "by its size") if meaning == "cloud" and top <= 8 and _whole(known) else ("%", "by its size")
    if meaning == "rain":
        return "mm", "no unit given"
    behind = "kn" if str(values.name).lower() == "sknt" else _behind(values)
    if behind in FACTORS["speed"]:
        return behind, ""
    return "km/h", UNSAID


def _whole(known: Array) -> bool:
    return bool((known == np.round(known)).all())


def _behind(values: "pd.Series[Any]") -> str:
    """The unit that stands behind the numbers of a column: "12 kn"."""
    text = values.dropna().astype(str).str.extract(r"^\s*[+-]?[\d.,]+\s*([A-Za-z/°%]+)\s*$")[0].dropna()
    return read_unit(str(text.iloc[0])) if len(text) else ""


def column_values(table: pd.DataFrame, entry: ColumnEntry) -> Array:
    """Return a column's values: degC, %, km/h, mm, degrees it blows from; NaN where a cell holds none."""
    column = table[entry.column]
    if entry.meaning == "wind_from" and not number_like(column):
        return _from_words(column)
    known = numbers(column)
    if MEANINGS[entry.meaning] == "temperature":
        if entry.unit == "F":
            return (known - 32.0) / 1.8
        return known - 273.15 if entry.unit == "K" else known
    if entry.meaning == "wind_from":
        return np.where((known >= -180) & (known < 0), known + 360.0, known)
    kept = in_unit(known, entry.unit, MEANINGS[entry.meaning])
    if entry.meaning == "rain" and re.search(r"\bnext\b", plain(entry.column)):
        # What falls in the hour to come belongs to the line after it.
        kept = np.append(np.nan, kept[:-1])
    # A speed is kept in km/h in the forecast, m/s in tracks.
    return kept * 3.6 if MEANINGS[entry.meaning] == "speed" else kept


def _from_words(column: "pd.Series[Any]") -> Array:
    """Directions written as compass points: "NNW", "north-westerly"; "calm" and the like are not known."""
    degrees = {name: 22.5 * i for i, name in enumerate(_COMPASS)}
    words = column.astype(str).str.upper().str.replace(r"[^A-Z]", "", regex=True)
    for word, letter in (("NORTH", "N"), ("EAST", "E"), ("SOUTH", "S"), ("WEST", "W")):
        words = words.str.replace(word, letter, regex=False)
    words = words.str.replace(r"(ERN|ERLY|LY)$", "", regex=True)
    return np.asarray(words.map(degrees), dtype=float)


def relative_humidity(temp_c: Array, dew_point_c: Array) -> Array:
    """Return relative humidity, %, of air and dew point, degC: Magnus with 17.625 and 243.04 degC.

    Source: Alduchov & Eskridge (1996) J. Appl. Meteorol. 35:601-609, coefficients from memory; -40 to 50 degC.
    """
    share = np.exp(17.625 * dew_point_c / (243.04 + dew_point_c) - 17.625 * temp_c / (243.04 + temp_c))
    return np.asarray(np.minimum(100.0 * share, 100.0))


def wind_of_parts(east: Array, north: Array) -> tuple[Array, Array]:
    """Return speed (in the unit given) and direction it blows from, degrees, of wind blowing to the east and north."""
    return np.hypot(east, north), np.degrees(np.arctan2(-east, -north)) % 360.0
