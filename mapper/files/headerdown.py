"""The log's sign of the header being down: words, bits, codes or none."""

from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.files.columns import Sure
from mapper.files.names import plain

# English, then German and Dutch, French, Spanish and Portuguese, Italian.
_DOWN = {"down", "in", "on", "yes", "true", "working", "work", "cutting", "active", "engaged", "harvesting", "1", "low",
         "lowered", "recording", "y", "t", "ein", "an", "ja", "unten", "aktiv", "arbeit", "abgesenkt", "aan", "omlaag",
         "oui", "bas", "baisse", "baissee", "marche", "actif", "en travail", "si", "s", "abajo", "bajado", "bajo",
         "trabajando", "activo", "sim", "baixo", "baixa", "abaixada", "ligado", "ativo", "trabalhando", "giu",
         "abbassata", "attivo"}  # fmt: skip
_UP = {"up", "out", "off", "no", "false", "not working", "idle", "inactive", "disengaged", "raised", "0", "high",
       "transport", "turning", "n", "f", "paused", "aus", "nein", "oben", "inaktiv", "angehoben", "ausgehoben", "uit",
       "nee", "omhoog", "non", "haut", "leve", "relevee", "arret", "inactif", "arriba", "levantado", "alto", "alta",
       "parado", "inactivo", "nao", "cima", "levantada", "desligado", "inativo", "su", "alzata",
       "inattivo"}  # fmt: skip
_MOST_CODES = 12


class WorkSign(NamedTuple):
    """down: values (as text) that mean down; empty where the column tells nothing. sure, why: for the eye."""

    down: tuple[str, ...]
    sure: Sure
    why: str


def as_text(values: "pd.Series[Any]") -> "pd.Series[Any]":
    """Return flag values as text, whole numbers without a point."""
    if pd.api.types.is_bool_dtype(values):
        return values.astype(int).astype(str)
    if pd.api.types.is_numeric_dtype(values):
        whole = (values.dropna() % 1 == 0).all()
        return values.astype("Int64" if whole else "Float64").astype(str)
    return values.astype(str).str.strip()


def guess_down(values: "pd.Series[Any]", name: str, grain: NDArray[np.float64] | None) -> WorkSign:
    """Return which values mean header down. grain: yield or flow of each fix, None where the log has none."""
    text = as_text(values)
    different = [v for v in text.unique() if v not in ("nan", "<NA>", "None", "")]
    if len(different) < 2:
        return WorkSign((), "certain", "the same value throughout, so it tells nothing")
    if len(different) > _MOST_CODES:
        return WorkSign((), "guess", "too many different values for a sign")
    words = {v: plain(v) for v in different}
    known = [v for v in different if words[v] in _DOWN or words[v] in _UP]
    if len(known) == len(different):
        down = tuple(v for v in different if words[v] in _DOWN)
        lifted = "up" in plain(name).split() or "raised" in plain(name)
        if lifted and set(words.values()) <= {"1", "0", "true", "false", "yes", "no"}:
            down = tuple(v for v in different if v not in down)
        if 0 < len(down) < len(different):
            return WorkSign(down, "certain", "by its values")
    if grain is not None and np.nanmax(grain, initial=0.0) > 0:
        share = {v: float(np.mean(grain[(text == v).to_numpy()] > 0)) for v in different}
        low, high = min(share.values()), max(share.values())
        if high - low > 0.3:
            down = tuple(v for v in different if share[v] > (low + high) / 2)
            return WorkSign(down, "likely", "grain comes while it says so")
    numbers = pd.to_numeric(pd.Series(different), errors="coerce")
    if numbers.notna().all() and (numbers % 1 == 0).all() and numbers.mod(2).nunique() == 2:
        down = tuple(v for v, n in zip(different, numbers, strict=True) if int(n) % 2 == 1)
        return WorkSign(down, "guess", "by the lowest bit")
    return WorkSign((str(text.mode().iloc[0]),), "guess", "the most frequent value")


def header_down(values: "pd.Series[Any]", down: tuple[str, ...]) -> NDArray[np.int8]:
    """Return 1 where the header is down, 0 where up, -1 where the log does not say."""
    if not down:
        return np.full(len(values), -1, np.int8)
    text = as_text(values)
    out = np.where(text.isin(down), 1, 0).astype(np.int8)
    out[values.isna().to_numpy()] = -1
    return out
