"""Weeds counted in the next crop as a table: a line a place: burnt or not, plants, and the area looked at."""

from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from mapper.farm.errors import FileError
from mapper.files.names import find_column
from mapper.files.numbers import numbers
from mapper.files.textread import read_text

_COLUMNS: dict[str, tuple[str, ...]] = {
    "burnt": ("burned", "on burnt", "treated"),
    "plants": ("weeds", "count", "number", "plants counted"),
    "area_m2": ("area", "m2", "quadrat m2", "square metres"),
    "length_m": ("length", "along", "transect length", "transect m"),
    "width_m": ("width", "across", "transect width"),
    "row": ("row number", "row no", "no", "order no"),
    "species": ("weed", "name"),
}
_YES = ("yes", "y", "true", "1", "burnt", "burned", "b")
_NO = ("no", "n", "false", "0", "not burnt", "unburnt", "unburned", "not", "u")


def read_counts(path: Path) -> list[tuple[dict[str, Any], datetime | None]]:
    """Return bodies of "count" entries. The area is given, or length times width of a transect.

    Raises FileError naming the column that is missing or the line that does not make sense; nothing is guessed.
    """
    table = read_text(path).table
    named = {k: find_column(table.columns, k, words) for k, words in _COLUMNS.items()}
    for key in ("burnt", "plants"):
        if named[key] is None:
            raise FileError(f"no column holds {key!r}", str(path), "Give burnt (yes, no), plants, area_m2")
    values = {k: numbers(table[c]) for k, c in named.items() if c is not None and k not in ("burnt", "species")}
    if "area_m2" not in values:
        if not {"length_m", "width_m"} <= set(values):
            raise FileError("no column holds the area looked at", str(path), "Give area_m2, or length_m and width_m")
        values["area_m2"] = values["length_m"] * values["width_m"]
    found: list[tuple[dict[str, Any], datetime | None]] = []
    for k in range(len(table)):
        where = f"{path.name}, line {k + 2}"
        word = str(table[named["burnt"]].iloc[k]).strip().lower().removesuffix(".0")
        if word not in _YES + _NO:
            raise FileError(f"{word!r} does not say whether the place burnt", where, "Write yes or no")
        plants, area = float(values["plants"][k]), float(values["area_m2"][k])
        if not np.isfinite(plants) or plants < 0 or plants != round(plants) or not area > 0:
            raise FileError("plants and area are not numbers that make sense", where, "Write whole plants on some m2")
        row = values["row"][k] if "row" in values else np.nan
        species = "" if named["species"] is None else str(table[named["species"]].iloc[k]).strip()
        body = {"burnt": word in _YES, "plants": int(plants), "area_m2": area,
                "row": int(row) if np.isfinite(row) else None, "species": species.replace("nan", "")}  # fmt: skip
        found.append((body, None))
    if not found:
        raise FileError("there are no counts in it", str(path), "Give a line a place")
    return found
