"""What each column of a harvester's log may be: first by its name, then by its values."""

import re
from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd

from mapper.files.columns import MEANINGS, ColumnEntry
from mapper.files.degrees import degrees_of
from mapper.files.logwords import COLUMN_WORDS
from mapper.files.names import plain
from mapper.files.numbers import number_like, numbers
from mapper.files.units import FACTORS, read_unit, split_unit

_LOOKED_AT = 2000
_DAY = r"^\s*(?:\d{1,2}[/.\-]\d{1,2}[/.\-]\d{2,4}|\d{4}[/.\-]\d{1,2}[/.\-]\d{1,2})"
_CLOCK = r"(?:^|[T\s])\d{1,2}:\d{2}"


def samples_of(values: "pd.Series[Any]", count: int = 3) -> tuple[str, ...]:
    """Return some different values of a column as text."""
    known = values.dropna()
    return tuple(str(v) for v in known.drop_duplicates().head(count))


def _named(table: pd.DataFrame) -> dict[str, tuple[str, str]]:
    """Return name and unit of each column; a unit may also stand behind the numbers ("7.2 km/h")."""
    out: dict[str, tuple[str, str]] = {}
    for column in table.columns:
        name, unit = split_unit(str(column))
        if not unit and not pd.api.types.is_numeric_dtype(table[column]):
            cells = table[column].dropna().astype(str).head(50)
            behind = cells.str.extract(r"^\s*[+-]?[\d.,]+\s*([A-Za-z°%][A-Za-z/%0-9]*)\s*$")[0]
            if len(cells) and behind.notna().mean() > 0.9 and behind.nunique() == 1:
                unit = read_unit(str(behind.dropna().iloc[0]))
        out[column] = (name, unit)
    return out


def wanted_columns(table: pd.DataFrame, given: Iterable[str] = ()) -> list[str]:
    """Return the columns that a log may be read from, by their names: all where no names tell the position."""
    named = {c: plain(split_unit(str(c)).name) for c in table.columns}
    whole = {c: plain(str(c)) for c in table.columns}
    found: dict[str, set[str]] = {}
    for meaning, pattern, but in COLUMN_WORDS:
        for column in table.columns:
            for text in (named[column], whole[column]):
                if re.search(pattern, text) and not (but and re.search(but, text)):
                    found.setdefault(meaning, set()).add(column)
    if not ({"latitude", "longitude"} <= set(found) or {"easting", "northing"} <= set(found)):
        return list(table.columns)
    wanted = set(given).union(*found.values())
    return [c for c in table.columns if c in wanted]


def by_name(table: pd.DataFrame, meanings: Iterable[str]) -> list[ColumnEntry]:
    """Return the columns whose names say what they are, one a meaning. Units only where the name has one."""
    wanted = set(meanings)
    head = table.head(_LOOKED_AT)
    named = _named(head)
    taken: dict[str, ColumnEntry] = {}
    used: set[str] = set()
    for meaning, pattern, but in COLUMN_WORDS:
        if meaning not in wanted or meaning in taken:
            continue
        for column, (name, unit) in named.items():
            if unit and unit not in FACTORS.get(MEANINGS[meaning], {}):
                name, unit = str(column), ""  # noqa: PLW2901
            text = plain(name)
            if column in used or not re.search(pattern, text) or (but and re.search(but, text)):
                continue
            if not _fits(meaning, head[column]):
                continue
            if table[column].isna().all():
                continue
            taken[meaning] = ColumnEntry(meaning, column, unit, "certain", "by its name", samples_of(head[column]))
            used.add(column)
            break
    return list(taken.values())


def _fits(meaning: str, values: "pd.Series[Any]") -> bool:
    """Return whether values can be what a name promises: numbers for all that has a unit, degrees for positions."""
    if not MEANINGS[meaning] or number_like(values):
        return True
    if meaning not in ("latitude", "longitude"):
        return False
    degrees, _ = degrees_of(values, None, 180.0, "")
    return bool(np.isfinite(degrees).sum() >= 0.8 * max(values.notna().sum(), 1) and np.isfinite(degrees).any())


def position_by_values(table: pd.DataFrame, used: set[str]) -> list[ColumnEntry]:
    """Return two columns that look like a position: degrees of one farm, or metres of a grid."""
    degrees: list[tuple[str, float]] = []
    rough: list[tuple[str, float]] = []  # in no order: a shuffled log
    metres: dict[str, str] = {}
    for column in table.columns:
        if column in used or not number_like(table[column].head(_LOOKED_AT)):
            continue
        v = numbers(table[column])
        v = v[np.isfinite(v) & (v != 0)]
        if len(v) < 2:
            continue
        low, high = np.quantile(v, [0.02, 0.98])
        middle, spread = float(np.median(v)), float(high - low)
        fine = bool((np.abs(v * 1000 - np.round(v * 1000)) > 1e-6).mean() > 0.5)
        if fine and 1e-5 < spread < 1.0 and abs(middle) <= 180:
            smooth = np.median(np.abs(np.diff(v))) < 0.05 * spread + 1e-4
            (degrees if smooth else rough).append((column, middle))
        elif 10 < spread < 100_000 and 1e5 < middle < 9e5:
            metres.setdefault("easting", column)
        elif 10 < spread < 100_000 and 1e6 < middle < 1e7:
            metres.setdefault("northing", column)
    found = _which(degrees) or metres or _which(rough)
    if len(found) < 2:
        return []
    why = "by its values"
    return [
        ColumnEntry(m, c, "", "guess", why, samples_of(table[c].head(_LOOKED_AT))) for m, c in sorted(found.items())
    ]


def _which(degrees: list[tuple[str, float]]) -> dict[str, str]:
    """Return latitude and longitude of columns with degrees: over 90 is a longitude, grain grows at 20 to 62 degrees,
    else latitude stands first.
    """
    if len(degrees) < 2:
        return {}
    wide = [c for c, m in degrees if abs(m) > 90]
    narrow = [c for c, m in degrees if abs(m) <= 90]
    if wide and narrow:
        return {"latitude": narrow[0], "longitude": wide[0]}
    (first, a), (second, b) = degrees[:2]
    grain = [20 <= abs(m) <= 62 for m in (a, b)]
    turned = grain[1] and not grain[0]
    return {"latitude": second, "longitude": first} if turned else {"latitude": first, "longitude": second}


def time_by_values(table: pd.DataFrame, used: set[str], known: set[str]) -> list[ColumnEntry]:
    """Return the columns that look like a date, a time or both, where no name tells them."""
    if "time" in known:
        return []
    found: dict[str, str] = {}
    for column in table.columns:
        if column in used:
            continue
        cells = table[column].dropna().head(_LOOKED_AT)
        if pd.api.types.is_datetime64_any_dtype(table[column]):
            found.setdefault("time", column)
        elif pd.api.types.is_numeric_dtype(table[column]):
            epoch = len(cells) > 1 and any(9e8 < float(np.median(cells)) / s < 4.1e9 for s in (1.0, 1e3))
            if epoch and bool((np.diff(cells) >= 0).mean() > 0.9):
                found.setdefault("time", column)
        elif len(cells):
            text = cells.astype(str)
            day = text.str.contains(_DAY).mean() > 0.9
            clock = text.str.contains(_CLOCK).mean() > 0.9
            if clock:
                found.setdefault("time", column)
            elif day:
                found.setdefault("date", column)
    return [
        ColumnEntry(m, c, "", "guess", "by its values", samples_of(table[c].head(_LOOKED_AT)))
        for m, c in found.items()
        if m not in known
    ]
