"""A text table read in pieces: repeated headers, cut lines, noughts of a lost supply left out, and each said."""

import codecs
import io
import re
import warnings
from collections import Counter, deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from mapper.farm.errors import FileError, Stopped
from mapper.files.textfile import SPACES, TextFormat, fields_of, look_at_text

_PIECE_BYTES = 8_000_000
# Pieces parsed at once: pandas lets go of the interpreter while it parses.
_AT_ONCE = 2
# One more column than rows have: what lands there is too much.
_SPARE = "(too many)"
_LINE_END = re.compile(rb"\r\n|\n|\r")


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
    """Return a text table whole, numbers as numbers where a column holds little else. progress counts bytes.

    choose: given the first piece, the columns to keep (all where it is None): so a long log stays small in memory.
    most_bytes: read about this much and no more; 0 for all. Raises FileError where no row is left.
    """
    blocks = list(read_blocks(path, progress, cancelled, choose, most_bytes))
    table = pd.concat([b.table for b in blocks], ignore_index=True) if len(blocks) > 1 else blocks[0].table
    return TextTable(table, blocks[0].format, blocks[-1].repaired)


def read_blocks(
    path: Path,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    choose: Choose | None = None,
    most_bytes: int = 0,
    most_rows: int = 0,
) -> Iterator[TextTable]:
    """Give a text table in blocks of about most_rows rows (0: as one); arguments as of read_text().

    What was mended up to its end stands with each block. Raises FileError where the file holds no row.
    """
    how = look_at_text(path)
    size = path.stat().st_size
    faults: Counter[str] = Counter()
    pieces: list[dict[str, pd.Series[Any]]] = []
    reader = _Reader(how, faults)
    rows = given = 0
    for table, done in reader.tables(path, cancelled, most_bytes):
        if reader.kept is None and len(table) and choose is not None:
            reader.kept = choose(table)
        if most_rows and rows >= most_rows:
            yield TextTable(_whole(pieces), how, _said(faults))
            pieces, given, rows = [], given + rows, 0
        pieces.append({c: _compact(table[c]) for c in (reader.kept if reader.kept is not None else table.columns)})
        rows += len(table)
        if progress is not None:
            progress(min(done, size), size)
    if rows + given == 0:
        raise FileError("it holds no rows", str(path), "Export it again")
    yield TextTable(_whole(pieces), how, _said(faults))


def _whole(pieces: list[dict[str, "pd.Series[Any]"]]) -> pd.DataFrame:
    """Return pieces as one, a column at a time, so that they and the whole never stand side by side."""
    columns = {c: pd.concat([piece.pop(c) for piece in pieces], ignore_index=True) for c in list(pieces[0])}
    return pd.DataFrame(columns, copy=False)


def _said(faults: "Counter[str]") -> tuple[str, ...]:
    words = {
        "cut": "the last line is cut short and was left out: the file is not whole.",
        "long": "{} lines with too many fields were left out.",
        "headers": "{} repeated header rows were left out.",
        "turned": "the order of the columns changes {} times within the file; each part was read by its own header.",
        "noughts": "{} bytes of noughts (a supply lost while writing) were left out.",
    }
    return tuple(words[k].format(n) for k, n in faults.items() if n)


class _Parsed(NamedTuple):
    """A piece's table, how many of its lines were too long, whether a header may stand among its rows."""

    table: pd.DataFrame
    long: int
    headed: bool


class _Reader:
    """Parses the pieces of one file, some ahead in threads. kept: the columns to keep, None for all."""

    def __init__(self, how: TextFormat, faults: "Counter[str]") -> None:
        self.how, self.faults = how, faults
        self.kept: list[str] | None = None
        self.order = list(how.names)
        self._mark = max(how.header, key=len, default="").encode()

    def tables(
        self, path: Path, cancelled: Callable[[], bool] | None, most_bytes: int
    ) -> Iterator[tuple[pd.DataFrame, int]]:
        """Give the tables of the pieces in order, with the bytes read so far."""
        waiting: deque[tuple[bytes, Future[_Parsed], int]] = deque()
        with warnings.catch_warnings(), ThreadPoolExecutor(_AT_ONCE) as pool:
            # What it warns of is counted here and said.
            warnings.simplefilter("ignore", pd.errors.ParserWarning)
            for piece, done in _pieces(path, self.how, self.faults):
                if cancelled is not None and cancelled():
                    raise Stopped
                asked = self.kept if self.order == list(self.how.names) else None
                waiting.append((piece, pool.submit(self._parse, piece, asked), done))
                # The first piece alone: it says which columns to keep.
                while len(waiting) > (_AT_ONCE if self.kept is not None else 0):
                    yield self._finished(*waiting.popleft())
                if most_bytes and done >= most_bytes:
                    break
            while waiting:
                if cancelled is not None and cancelled():
                    raise Stopped
                yield self._finished(*waiting.popleft())

    def _finished(self, piece: bytes, parsed: "Future[_Parsed]", done: int) -> tuple[pd.DataFrame, int]:
        table, long, headed = parsed.result()
        self.faults["long"] += long
        if headed:
            table = self._without_headers(table)
        elif self.order != list(self.how.names):
            table = self._in_order(self._parse(piece, None).table)
        return _numeric(table, self.how.decimal), done

    def _parse(self, piece: bytes, columns: list[str] | None) -> "_Parsed":
        """Return a piece's table: the columns asked for, all where that is None or a header stands in the piece."""
        how = self.how
        headed = bool(self._mark) and self._mark in piece
        columns = None if headed else columns
        options: dict[str, Any] = {
            "sep": how.delimiter, "decimal": how.decimal, "names": [*how.names, _SPARE], "header": None,
            "skipinitialspace": True, "index_col": False, "on_bad_lines": "skip", "low_memory": False,
            "quoting": 0 if how.quoted or how.delimiter == SPACES else 3,
 "usecols": [*columns, _SPARE] if columns is not None else None,
        }  # fmt: skip
        # A copy of the first line with the spare field: with columns asked for, the parser takes its width from it.
        end = _LINE_END.search(piece)
        first = piece[: end.start()] if end else piece
        mark = b" " if how.delimiter == SPACES else how.delimiter.encode()
        lack = how.width - len(fields_of(first.decode("utf-8", "replace"), how.delimiter))
        data = first.rstrip() + mark * max(lack, 0) + mark + b"0\n" + piece
        try:
            data.decode()
        except UnicodeDecodeError:
            data = data.decode("utf-8", "replace").encode()
        try:
            table = pd.read_csv(io.BytesIO(data), **options)
        except pd.errors.EmptyDataError:
            return _Parsed(pd.DataFrame({n: pd.Series(dtype=float) for n in columns or how.names}), 0, False)
        except pd.errors.ParserError:
            # A quotation mark that nothing closes.
            table = pd.read_csv(io.BytesIO(data.replace(b'"', b"")), **{**options, "quoting": 3})
        table = table.iloc[1:]
        lines = piece.count(b"\n") + (not piece.endswith(b"\n"))
        if lines != len(table):
            lines = sum(bool(line.strip()) for line in _LINE_END.split(piece))
        over = table[_SPARE].notna().to_numpy()
        # A mark at the end of each line makes an empty field more; anything in it is a line run into the next.
        long = max(lines - len(table), 0) + int(over.sum())
        table = table.drop(columns=_SPARE)
        return _Parsed((table[~over] if over.any() else table).reset_index(drop=True), long, headed)

    def _without_headers(self, table: pd.DataFrame) -> pd.DataFrame:
        """Return a piece without header rows among its rows, its columns in order as each header says."""
        header, names = self.how.header, list(self.how.names)
        texts = [c for c in table.columns if not pd.api.types.is_numeric_dtype(table[c])]
        words = {w: n for w, n in zip(header, names, strict=False) if w}
        hits = np.sum([table[c].isin(list(words)).to_numpy() for c in texts], axis=0)
        at = np.flatnonzero(hits >= max(2, 0.6 * len(header))) if texts else np.array([], int)
        parts, begin = [], 0
        for row in at:
            parts.append(self._in_order(table.iloc[begin:row]))
            new = [words.get(str(v).strip(), "") for v in table.iloc[row]]
            if sorted(new) == sorted(names) and new != self.order:
                self.order = new
                self.faults["turned"] += 1
            begin = int(row) + 1
        parts.append(self._in_order(table.iloc[begin:]))
        self.faults["headers"] += len(at)
        return pd.concat(parts, ignore_index=True)

    def _in_order(self, table: pd.DataFrame) -> pd.DataFrame:
        names = list(self.how.names)
        return table if self.order == names else table.set_axis(self.order, axis=1)[names]


def _pieces(path: Path, how: TextFormat, faults: "Counter[str]") -> Iterator[tuple[bytes, int]]:
    """Give what follows the header rows, as UTF-8 in pieces of whole lines, with the bytes of the file read so far."""
    decoder = None if how.encoding.startswith("utf-8") else codecs.getincrementaldecoder(how.encoding)(errors="replace")
    skip, rest = how.first_line, b""
    with path.open("rb") as handle:
        if how.encoding == "utf-8-sig":
            handle.seek(3)
        while raw := handle.read(_PIECE_BYTES):
            if not how.encoding.startswith("utf-16") and b"\x00" in raw:
                faults["noughts"] += raw.count(b"\x00")
                raw = raw.replace(b"\x00", b"")
            if decoder is not None:
                raw = decoder.decode(raw).encode()
            data = rest + raw if rest else raw
            while skip:
                end = _LINE_END.search(data)
                if end is None:
                    break
                data, skip = data[end.end() :], skip - 1
            cut = max(data.rfind(b"\n"), data.rfind(b"\r", 0, -1)) + 1
            rest = data[cut:]
            if cut:
                yield data[:cut], handle.tell()
        rest = rest.strip(b"\x1a\r\n")
        if rest.strip() and not skip:
            last = rest.decode("utf-8", "replace")
            if len(fields_of(last, how.delimiter)) < how.width or (how.quoted and last.count('"') % 2):
                faults["cut"] += 1
            else:
                yield rest, handle.tell()


def _numeric(table: pd.DataFrame, decimal: str) -> pd.DataFrame:
    """Return the piece with columns as numbers that hold numbers but for a few cells."""
    made: dict[str, Any] = {}
    for column in table.columns:
        if pd.api.types.is_numeric_dtype(table[column]) or pd.api.types.is_bool_dtype(table[column]):
            continue
        some = table[column].head(400).dropna()
        if len(some) == 0 or pd.to_numeric(_pointed(some, decimal), errors="coerce").notna().mean() < 0.8:
            continue
        found = pd.to_numeric(_pointed(table[column], decimal), errors="coerce")
        known = table[column].notna() & (table[column].astype(str).str.strip() != "")
        if found[known].notna().mean() > 0.9:
            made[column] = found
    return table.assign(**made) if made else table


def _pointed(values: "pd.Series[Any]", decimal: str) -> "pd.Series[Any]":
    return values.astype(str).str.replace(",", ".", regex=False) if decimal == "," else values


def _compact(values: "pd.Series[Any]") -> "pd.Series[Any]":
    """Return a column of its own, texts that repeat held once."""
    if values.dtype == object and values.nunique() < 0.5 * len(values):
        return values.astype("category").astype(object)
    return values.copy()
