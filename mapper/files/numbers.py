"""Numbers as people write them in cells: decimal commas, grouped thousands, units behind them."""

import re
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.ranged import Array

_LOOKED_AT = 500
_BEHIND = r"^\s*([+-]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(?:[A-Za-z°%][^\d]*)?$"
_GROUPED = re.compile(r"^[+-]?\d{1,3}(?:[.,' \u00a0\u202f]\d{3})+(?:[.,]\d+)?$")


def numbers(values: "pd.Series[Any]") -> Array:
    """Return a column's numbers, NaN where a cell holds none.

    "12,5", "1 234.5", "1.234,5" and "7.2 km/h" are read where plain numbers are not what the column holds.
    """
    if pd.api.types.is_bool_dtype(values) or pd.api.types.is_datetime64_any_dtype(values):
        return np.full(len(values), np.nan)
    if pd.api.types.is_numeric_dtype(values):
        return values.to_numpy(float, na_value=np.nan)
    plain = pd.to_numeric(values, errors="coerce").to_numpy(float, na_value=np.nan)
    text = values.astype(str).str.strip()
    known = values.notna().to_numpy() & (text != "").to_numpy()
    if not known.any() or np.isfinite(plain[known]).mean() > 0.5:
        return plain
    body = text.str.extract(_BEHIND)[0]
    some = body[known & body.notna().to_numpy()].head(_LOOKED_AT)
    if some.empty:
        return plain
    return pd.to_numeric(_one_mark(body, some), errors="coerce").to_numpy(float, na_value=np.nan)


def _one_mark(text: "pd.Series[Any]", some: "pd.Series[Any]") -> "pd.Series[Any]":
    """Return texts with a point as decimal mark and thousands not grouped."""
    grouped = some.map(lambda t: _GROUPED.match(t) is not None)
    both = some.str.contains(",") & some.str.contains(".", regex=False)
    if both.any():
        last_is_comma = (some[both].str.rfind(",") > some[both].str.rfind(".")).mean() > 0.5
        return text.str.replace("." if last_is_comma else ",", "", regex=False).str.replace(",", ".", regex=False)
    if grouped.all() and some.str.count(r"[.,]").max() > 1:
        return text.str.replace(r"[.,]", "", regex=True)
    return text.str.replace(",", ".", regex=False)


def number_like(values: "pd.Series[Any]") -> bool:
    """Return whether nearly all values given are numbers."""
    found = np.isfinite(numbers(values))
    return bool(found.sum() >= 0.9 * max(values.notna().sum(), 1) and found.any())
