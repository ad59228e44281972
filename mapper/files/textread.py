"""A text table read in pieces: repeated headers, cut lines, noughts of a lost supply left out, and each said."""

import codecs
import io
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from mapper.farm.errors import FileError, Stopped
from mapper.files.textfile import LINE_END, SPACES, TextFormat, fields_of, look_at_text

_PIECE_BYTES = 8_000_000
# One more column than rows have: what lands there is too much.
_SPARE = "(too many)"


@dataclass(frozen=True)
class TextTable:
    """The table as text or numbers, its format, all its column names, and what had to be mended to read it."""

    table: pd.DataFrame
    format: TextFormat
    repaired: tuple[str, ...]


Choose = Callable[[pd.DataFrame], list[str]]


def read_text(
    path: Path,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    choose: Choose | None = None,
    most_bytes: int = 0,
) -> TextTable:
    """Return a text table, numbers as numbers where a column holds little else. progress counts bytes.

    choose: given the first piece, the columns to keep (all where it is None): so a long log stays small in memory.
    most_bytes: read about this much and no more; 0 for all. Raises FileError where no row is left.
    """
    how = look_at_text(path)
    size = path.stat().st_size
    faults: Counter[str] = Counter()
    pieces: list[pd.DataFrame] = []
    kept: list[str] | None = None
    order = list(how.names)
    for text, done in _pieces(path, how, faults):
        if cancelled is not None and cancelled():
            raise Stopped
        table = _parse(text, how, faults)
        table, order = _without_headers(table, how, order, faults)
        if kept is None and len(table) and choose is not None:
            kept = choose(table)
        pieces.append(_compact(table[kept] if kept is not None else table))
        if progress is not None:
            progress(min(done, size), size)
        if most_bytes and done >= most_bytes:
            break
    table = pd.concat(pieces, ignore_index=True) if len(pieces) > 1 else pieces[0] if pieces else pd.DataFrame()
    del pieces
    if table.empty:
        raise FileError("it holds no rows", str(path), "Export it again")
    return TextTable(table, how, _said(faults))


def _said(faults: "Counter[str]") -> tuple[str, ...]:
    words = {
        "cut": "the last line is cut short and was left out: the file is not whole.",
        "long": "{} lines with too many fields were left out.",
        "headers": "{} repeated header rows were left out.",
        "turned": "the order of the columns changes {} times within the file; each part was read by its own header.",
        "noughts": "{} bytes of noughts (a supply lost while writing) were left out.",
    }
    return tuple(words[k].format(n) for k, n in faults.items() if n)


def _pieces(path: Path, how: TextFormat, faults: "Counter[str]") -> Iterator[tuple[str, int]]:
    """Give the text after the header rows in pieces of whole lines, with the bytes read so far."""
    decoder = codecs.getincrementaldecoder(how.encoding)(errors="replace")
    wide = how.encoding.startswith("utf-16")
    skip, rest = how.first_line, ""
    with path.open("rb") as handle:
        while raw := handle.read(_PIECE_BYTES):
            if not wide and b"\x00" in raw:
                faults["noughts"] += raw.count(b"\x00")
                raw = raw.replace(b"\x00", b"")
            text = rest + decoder.decode(raw)
            while skip:
                end = LINE_END.search(text)
                if end is None:
                    break
                text, skip = text[end.end() :], skip - 1
            cut = max(text.rfind("\n"), text.rfind("\r", 0, -1) if "\n" not in text else -1) + 1
            rest = text[cut:]
            if cut:
                yield text[:cut], handle.tell()
        rest += decoder.decode(b"", final=True)
        rest = rest.strip("\x1a\r\n")
        if rest.strip() and not skip:
            if len(fields_of(rest, how.delimiter)) < how.width:
                faults["cut"] += 1
            else:
                yield rest, handle.tell()


def _parse(text: str, how: TextFormat, faults: "Counter[str]") -> pd.DataFrame:
    options: dict[str, Any] = {
        "sep": how.delimiter, "decimal": how.decimal, "names": [*how.names, _SPARE], "header": None,
        "skipinitialspace": True, "index_col": False, "on_bad_lines": "warn", "low_memory": False,
        "quoting": 0 if how.quoted else 3,
    }  # fmt: skip
    if how.delimiter == SPACES:
        options["quoting"] = 0
    with warnings.catch_warnings(record=True) as warned:
        warnings.simplefilter("always")
        try:
            table = pd.read_csv(io.StringIO(text), **options)
        except pd.errors.EmptyDataError:
            return pd.DataFrame({n: pd.Series(dtype=float) for n in how.names})
        except pd.errors.ParserError:
            # A quotation mark that nothing closes.
            table = pd.read_csv(io.StringIO(text.replace('"', "")), **{**options, "quoting": 3})
    faults["long"] += sum(str(w.message).count("Skipping line") for w in warned)
    over = table[_SPARE].notna().to_numpy()
    # A mark at the end of each line makes an empty field more; anything in it is a line run into the next.
    faults["long"] += int(over.sum())
    table = table.drop(columns=_SPARE)
    whole: pd.DataFrame = table[~over].reset_index(drop=True) if over.any() else table
    return whole


def _without_headers(
    table: pd.DataFrame, how: TextFormat, order: list[str], faults: "Counter[str]"
) -> tuple[pd.DataFrame, list[str]]:
    """Return the piece without header rows among its rows, its columns put back in order where a header says so."""
    texts = [c for c in table.columns if not pd.api.types.is_numeric_dtype(table[c])]
    if not how.header or not texts:
        return _in_order(table, how, order), order
    words = {w: n for w, n in zip(how.header, how.names, strict=False) if w}
    hits = np.sum([table[c].isin(list(words)).to_numpy() for c in texts], axis=0)
    at = np.flatnonzero(hits >= max(2, 0.6 * len(how.header)))
    if not len(at):
        return _numeric(_in_order(table, how, order), how.decimal), order
    parts, begin = [], 0
    for row in at:
        parts.append(_in_order(table.iloc[begin:row], how, order))
        new = [words.get(str(v).strip(), "") for v in table.iloc[row]]
        if sorted(new) == sorted(how.names) and new != order:
            order = new
            faults["turned"] += 1
        begin = int(row) + 1
    parts.append(_in_order(table.iloc[begin:], how, order))
    faults["headers"] += len(at)
    return _numeric(pd.concat(parts, ignore_index=True), how.decimal), order


def _in_order(table: pd.DataFrame, how: TextFormat, order: list[str]) -> pd.DataFrame:
    if order == list(how.names):
        return table
    return table.set_axis(order, axis=1)[list(how.names)]


def _numeric(table: pd.DataFrame, decimal: str) -> pd.DataFrame:
    """Return the piece with columns as numbers that hold numbers but for a few cells."""
    made: dict[str, Any] = {}
    for column in table.columns:
        values = table[column]
        if pd.api.types.is_numeric_dtype(values) or pd.api.types.is_bool_dtype(values):
            continue
        if decimal == ",":
            values = values.astype(str).str.replace(",", ".", regex=False)
        known = table[column].notna() & (values.astype(str).str.strip() != "")
        some = values[known].iloc[:: max(1, int(known.sum()) // 200)]
        if len(some) == 0 or pd.to_numeric(some, errors="coerce").notna().mean() < 0.9:
            continue
        found = pd.to_numeric(values, errors="coerce")
        if found[known].notna().mean() > 0.9:
            made[column] = found
    return table.assign(**made) if made else table


def _compact(table: pd.DataFrame) -> pd.DataFrame:
    """Return the piece with texts that repeat held once."""
    made: dict[str, Any] = {}
    for column in table.columns:
        values = table[column]
        if values.dtype == object and values.nunique() < 0.5 * len(values):
            made[column] = values.astype("category").astype(object)
    return table.assign(**made) if made else table
