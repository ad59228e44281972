"""What each column of a harvester's log may be: first by its name, then by its values."""

import re
from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd

from mapper.files.columns import MEANINGS, ColumnEntry, Sure
from mapper.files.names import plain
from mapper.files.units import FACTORS, split_unit

# Meaning, words wanted in the plain name, words that rule it out; earlier rows are preferred within a meaning.
# Names are often cut and stripped of vowels ("swth_wdth", "crp_flw_m"), so roots are matched.
_NAMES: tuple[tuple[str, str, str], ...] = (
    ("latitude", r"^(gps |y )?lat(itude)?( deg| dd| wgs \d+)?$|breitengrad", ""),
    ("longitude", r"^(gps |x )?(lon|long|lng|longitude)( deg| dd| wgs \d+)?$|laengengrad|langengrad", ""),
    ("easting", r"^(x|east|easting|x coord\w*|coord x|utm (e|x|easting)|easting m|mga e\w*|pos x)$", ""),
    ("northing", r"^(y|north|northing|y coord\w*|coord y|utm (n|y|northing)|northing m|mga n\w*|pos y)$", ""),
    ("time", r"\b(time ?stamp|date ?time|iso ?time|(gps|utc|local) ?time|time ?(utc|local))\b", r"engine"),
    ("time", r"^(t|time|utc|zeit|uhrzeit|heure|hora|gps time|log time|clock|epoch|t s|time s|unix\w*|tstamp)$", ""),
    ("date", r"^(date|datum|fecha|date ?stamp|gps date|log date|day|harvest date)$", ""),
    ("speed", r"\b(ground ?speed|vehicle ?speed|machine ?speed)", r"wind"),
    ("speed", r"^geschwindigkeit\b", ""),
    ("speed", r"\b(speed|spd|velocity|sog)\b", r"wind|fan|rotor|drum|thresh|engine|shaft|cyl|elev"),
    ("heading", r"\b(heading|course|cog|bearing|track|trck|azimuth|direction|kurs)\b", r"wind|width|row|dist|name|err"),
    ("header_down", r"header (down|up|status|state|stat|pos)|^(work|wrk) (state|status|stt|sw\w*)", r"width|height"),
    ("header_down", r"\b(work ?code|work ?state|work ?status|in work|working|implement (state|status)|lift)\b", ""),
    ("header_down", r"^(header|cutting|recording|logging|active|status|section on|area count|are cnt|area cnt)$", ""),
    ("width", r"\b(cut\w*|swa?th|header|head|working|work|bar|effective|impl\w*|pass) (width|wdth|wid|w)\b", ""),
    ("width", r"\b(swa?th ?width|swath|swth|width|wdth|breite|arbeitsbreite|largeur)\b", r"row|tyre|track|tramline"),
    ("flow", r"\b(grain|crop|crp|mass|product|yield)( \w+)? ?(flow|flw|rate)\b(?!.*\b(v|vol\w*)\b)", r"fuel|fl cn"),
    ("flow", r"\b(flow|flw|feed ?rate|throughput)\b(?!.*\b(v|vol\w*)\b)", r"fuel|oil|air|hydr|volume|fl cn"),
    ("yield", r"(yield|yld|ertrag|rendement).*\b(mass|mss)\b.*\b(d|dry)\b|\bdry (yield|yld)\b|\bdry ?yield", "vol"),
    ("yield", r"(yield|yld|ertrag|rendement).*\b(mass|mss)\b", r"vol"),
    ("yield", r"\b(yield|yld|ertrag|rendement)(?!.*\b(v|vol|vl|volume)\b)", r"offset|lag|status|flow|map|cal"),
    ("yield", r"\b(yield|yld)", r"offset|lag|status|flow|map|cal"),
    ("machine", r"^(machine|harvester|combine|vehicle|header id|unit)( (id|name|no|number|serial\w*))?$", ""),
    ("machine", r"\b(machine|harvester|combine|vehicle|monitor) ?(id|name|serial\w*|sn)\b|^serial( no| number)?$", ""),
    ("set", r"^(data ?set|set|load|load id|region|task|job|log|file|orig file|load number)( id| no| name)?$", ""),
    ("point", r"^(obj\w*|object|point|pt|record|rec|seq\w*)( ?(id|no|num\w*))?$", ""),
    ("point", r"^(row|fid|gid|index|id|nr|no)( ?(id|no|num\w*))?$", ""),
    ("distance", r"\b(distance|dist|dstnc|travel dist\w*)\b", r"to|between|from"),
    ("duration", r"\b(duration|durtn|interval|cycle|log(ging)? int\w*|elapsed|dt)\b", ""),
)  # fmt: skip


def samples_of(values: "pd.Series[Any]", count: int = 3) -> tuple[str, ...]:
    """Return some different values of a column as text."""
    known = values.dropna()
    return tuple(str(v) for v in known.drop_duplicates().head(count))


def number_like(values: "pd.Series[Any]") -> bool:
    """Return whether nearly all values given are numbers."""
    numbers = pd.to_numeric(values, errors="coerce")
    return bool(numbers.notna().sum() >= 0.9 * max(values.notna().sum(), 1) and numbers.notna().any())


def by_name(table: pd.DataFrame, meanings: Iterable[str]) -> list[ColumnEntry]:
    """Return the columns whose names say what they are, one a meaning. Units only where the name has one."""
    wanted = set(meanings)
    head = table.head(2000)
    named = {c: split_unit(str(c)) for c in table.columns}
    taken: dict[str, ColumnEntry] = {}
    used: set[str] = set()
    for meaning, pattern, but in _NAMES:
        if meaning not in wanted or meaning in taken:
            continue
        for column, (name, unit) in named.items():
            if unit and unit not in FACTORS.get(MEANINGS[meaning], {}):
                name, unit = str(column), ""  # noqa: PLW2901
            text = plain(name)
            if column in used or not re.search(pattern, text) or (but and re.search(but, text)):
                continue
            if MEANINGS[meaning] and not number_like(head[column]):
                continue
            if table[column].isna().all():
                continue
            taken[meaning] = ColumnEntry(meaning, column, unit, "certain", "by its name", samples_of(head[column]))
            used.add(column)
            break
    return list(taken.values())


def position_by_values(table: pd.DataFrame, used: set[str]) -> list[ColumnEntry]:
    """Return two columns that look like a position: degrees of one farm, or metres of a grid."""
    found: dict[str, str] = {}
    for column in table.columns:
        if column in used or not number_like(table[column].head(2000)):
            continue
        v = pd.to_numeric(table[column], errors="coerce").to_numpy(float)
        v = v[np.isfinite(v) & (v != 0)]
        if len(v) < 2:
            continue
        low, high = np.quantile(v, [0.02, 0.98])
        middle, spread = float(np.median(v)), float(high - low)
        fine = bool((np.abs(v * 1000 - np.round(v * 1000)) > 1e-6).mean() > 0.5)
        if fine and spread < 1.0 and spread > 1e-5:
            if 90 < abs(middle) <= 180:
                found.setdefault("longitude", column)
            elif 10 < abs(middle) <= 90:
                found.setdefault("latitude" if "latitude" not in found else "longitude", column)
        elif 10 < spread < 100_000 and 1e5 < middle < 9e5:
            found.setdefault("easting", column)
        elif 10 < spread < 100_000 and 1e6 < middle < 1e7:
            found.setdefault("northing", column)
    sure: Sure = "guess"
    pairs = (("longitude", "latitude"), ("easting", "northing"))
    for pair in pairs:
        if all(p in found for p in pair):
            columns = [(p, found[p]) for p in pair]
            return [ColumnEntry(p, c, "", sure, "by its values", samples_of(table[c].head(2000))) for p, c in columns]
    return []
