"""Degrees as logs write them: decimal, degrees and minutes, with N, S, E, W beside them or in a column of their own."""

import re
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.ranged import Array
from mapper.files.names import plain as plain_name
from mapper.files.numbers import numbers
from mapper.files.unitguess import thinned

_LOOKED_AT = 500
_MARKS = re.compile(r"[^\d.,+\-NSEWOnsewo]+")
# Up to three numbers, a letter for the side before or behind: 36 12 20.5 S, S36 12.345, -36 12 20.5.
_PARTS = re.compile(
    r"^([NSEWO])? ?([+-])? ?(\d+(?:[.,]\d+)?)(?: (\d+(?:[.,]\d+)?))?(?: (\d+(?:[.,]\d+)?))? ?([NSEWO])?$"
)


MINUTES = "degrees and minutes in one number (DDMM.mmm)"


def degrees_of(
    values: "pd.Series[Any]", side: "pd.Series[Any] | None", most: float, name: str, minutes: bool = False
) -> tuple[Array, str]:
    """Return decimal degrees and how they were written ("" for plain ones).

    values: latitudes or longitudes. side: a column of N, S, E, W or None. most: 90 for latitudes, 180 for longitudes.
    name: of the column; "O" is east (Ost) where it is German, else west (ouest, oeste, ovest). minutes: the other
    coordinate is in degrees and minutes, so this one is too.
    """
    how = ""
    west = ["S", "W"] if re.search(r"laeng|lang|ost", plain_name(name)) else ["S", "W", "O"]
    signs = _signs(side, west)
    plain = numbers(values)
    text_like = not pd.api.types.is_numeric_dtype(values) and values.notna().any()
    if text_like and pd.to_numeric(values.dropna().head(_LOOKED_AT), errors="coerce").notna().mean() < 0.5:
        parsed, parted = _parsed(values, west)
        if np.isfinite(parsed).sum() >= np.isfinite(plain).sum():
            plain, how = parsed, "degrees, minutes and sides" if parted else ""
    middle = float(np.nanmedian(np.abs(thinned(plain)))) if np.isfinite(thinned(plain)).any() else 0.0
    if not how and (minutes or middle > 180):
        if _is_minutes(plain, most):
            plain, how = _from_minutes(plain), MINUTES
        elif middle > 1e5 and middle / 1e7 <= most and (plain[np.isfinite(plain)] % 1 == 0).all():
            plain, how = plain / (1e7 if middle > 1e7 else 1e6), "whole numbers of 1e-7 or 1e-6 degree"
    if signs is not None:
        plain = np.where(signs == 0, plain, np.abs(plain) * signs)
    if most == 180.0 and 180 < middle <= 360:
        plain, how = np.where(plain > 180, plain - 360.0, plain), "longitudes from 0 to 360"
    return plain, how


def _signs(side: "pd.Series[Any] | None", west: list[str]) -> Array | None:
    """Return +1 for north and east, -1 for south and west, 0 where not said."""
    if side is None:
        return None
    letter = side.astype(str).str.strip().str.upper().str[:1]
    return np.select([letter.isin(west), letter.isin(["N", "E", "O"])], [-1.0, 1.0], 0.0)


def _parsed(values: "pd.Series[Any]", west: list[str]) -> tuple[Array, bool]:
    """Return degrees of texts with marks, and whether minutes or sides were in them."""
    text = values.astype(str).str.replace(_MARKS, " ", regex=True).str.strip().str.upper()
    found = text.str.extract(_PARTS)
    parts = [pd.to_numeric(found[i].str.replace(",", "."), errors="coerce").to_numpy(float) for i in (2, 3, 4)]
    degrees = parts[0].copy()
    one = np.isnan(parts[1])
    for part, share in zip(parts[1:], (60.0, 3600.0), strict=True):
        fits = np.isnan(part) | (part < 60)
        degrees = np.where(fits, degrees + np.nan_to_num(part) / share, np.nan)
    letters = found[0].fillna(found[5])
    signs = np.where(letters.isin(west) | (found[1] == "-"), -1.0, 1.0)
    if one.all() and letters.isna().all():
        return degrees * signs, False
    if one.mean() > 0.9 and np.isfinite(degrees).any() and np.nanmedian(degrees) > 180:
        degrees = _from_minutes(degrees)
    return degrees * signs, True


def _is_minutes(v: Array, most: float) -> bool:
    """Return whether numbers such as -3612.345 are degrees * 100 + minutes."""
    known = np.abs(v[np.isfinite(v) & (v != 0)])
    inside = (known // 100 <= most) & (known % 100 < 60)
    return bool(len(known) and inside.mean() > 0.98)


def _from_minutes(v: Array) -> Array:
    size = np.abs(v)
    out: Array = np.sign(v) * (size // 100 + size % 100 / 60.0)
    return out
