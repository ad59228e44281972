"""Text tables of any make: encoding, delimiter, decimal mark and header rows found from the text itself."""

import csv
import io
import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from mapper.farm.errors import FileError, Stopped

_LOOKED_AT_LINES = 200
_LOOKED_AT_BYTES = 262_144
_PIECE_ROWS = 100_000
_NUMBER = re.compile(r"^[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?$")


@dataclass(frozen=True)
class TextFormat:
    """How a text table is written.

    names: of the columns, made up where the file gives none. first_line: lines before the first row.
    width: fields of a usual row. named: whether the file names its columns.
    """

    encoding: str
    delimiter: str
    decimal: str
    names: tuple[str, ...]
    first_line: int
    width: int
    named: bool


@dataclass(frozen=True)
class TextTable:
    """The table as text or numbers, its format, and what had to be mended to read it."""

    table: pd.DataFrame
    format: TextFormat
    repaired: tuple[str, ...]


def _encoding(head: bytes) -> str:
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if head.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig"
    try:
        # The last bytes may be the first half of a letter.
        head[: len(head) - 4].decode("utf-8") if len(head) > 1000 else head.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _fields(line: str, delimiter: str) -> list[str]:
    return [f.strip() for f in next(csv.reader([line], delimiter=delimiter), [])]


def _delimiter(lines: list[str]) -> str:
    """Return the mark that parts the lines into the same number of fields most often, and into most fields."""
    best, best_score = ",", 0.0
    for mark in (";", "\t", ",", "|"):
        counts = [len(_fields(line, mark)) for line in lines]
        usual = max(set(counts), key=counts.count)
        if usual < 2:
            continue
        agree = counts.count(usual) / len(counts)
        # A decimal comma parts lines evenly too: a semicolon or tab that does so comes first.
        score = agree + (0.5 if mark in ";\t" else 0.0) + min(usual, 50) / 1000
        if score > best_score:
            best, best_score = mark, score
    return best


def _decimal(rows: list[list[str]], delimiter: str) -> str:
    if delimiter == ",":
        return "."
    commas = sum(bool(_NUMBER.match(f)) and "," in f for row in rows for f in row)
    points = sum(bool(_NUMBER.match(f)) and "." in f for row in rows for f in row)
    return "," if commas > points else "."


def _first_row(rows: list[list[str]], width: int) -> int:
    """Return the first row that holds numbers as data rows do."""
    numbers = [sum(bool(_NUMBER.match(f)) for f in row) for row in rows]
    usual = sorted(numbers[len(numbers) // 2 :])[len(numbers[len(numbers) // 2 :]) // 2]
    wanted = max(1, usual / 2)
    return next((i for i, n in enumerate(numbers) if n >= wanted and len(rows[i]) >= 0.7 * width), 0)


def look_at_text(path: Path) -> TextFormat:
    """Return how a text table is written, from its first lines. Raises FileError where it is none."""
    try:
        with path.open("rb") as handle:
            head = handle.read(_LOOKED_AT_BYTES)
    except OSError as exc:
        raise FileError(f"it cannot be opened ({exc.strerror})", str(path), "Check the name and folder") from exc
    if not head.strip():
        raise FileError("the file is empty", str(path), "Copy it again from where it came")
    encoding = _encoding(head)
    if b"\x00" in head and encoding != "utf-16":
        raise FileError("it is not a text table", str(path), "Export it as CSV")
    numbered = [(i, t) for i, t in enumerate(head.decode(encoding, errors="replace").splitlines()) if t.strip()]
    if len(numbered) > 1 and len(head) == _LOOKED_AT_BYTES:
        numbered = numbered[:-1]
    numbered = numbered[:_LOOKED_AT_LINES]
    delimiter = _delimiter([t for _, t in numbered[-100:]])
    rows = [_fields(t, delimiter) for _, t in numbered]
    counts = [len(r) for r in rows]
    width = max(set(counts), key=counts.count)
    first = _first_row(rows, width)
    header = next((i for i in range(first) if sum(bool(f) for f in rows[i]) >= 0.5 * width), -1)
    names = list(rows[header]) if header >= 0 else []
    if 0 <= header < first - 1:
        names = _with_units(names, rows[header + 1])
    names += [f"column {i + 1}" for i in range(len(names), width)]
    return TextFormat(
        encoding,
        delimiter,
        _decimal(rows[first:], delimiter),
        tuple(_once(names)),
        numbered[first][0],
        width,
        header >= 0,
    )


def _with_units(names: list[str], below: list[str]) -> list[str]:
    """Add a second header row (units under the names) to the names."""
    padded = below + [""] * (len(names) - len(below))
    return [f"{n} ({u.strip('()[]')})" if u else n for n, u in zip(names, padded, strict=False)]


def _once(names: list[str]) -> list[str]:
    out: list[str] = []
    for i, given in enumerate(names):
        name = given or f"column {i + 1}"
        out.append(f"{name} [{i + 1}]" if name in out else name)
    return out


def read_text(
    path: Path,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> TextTable:
    """Return a text table whole, numbers as numbers where a column holds nothing else. progress counts bytes.

    A last line cut short, and lines with too many fields, are left out and said. Raises FileError where no row is left.
    """
    how = look_at_text(path)
    size = path.stat().st_size
    pieces: list[pd.DataFrame] = []
    with path.open("rb") as raw, warnings.catch_warnings(record=True) as warned:
        warnings.simplefilter("always")
        reader = pd.read_csv(
            io.TextIOWrapper(raw, encoding=how.encoding, errors="replace", newline=""),
            sep=how.delimiter,
            decimal=how.decimal,
            names=list(how.names),
            header=None,
            skiprows=how.first_line,
            skipinitialspace=True,
            index_col=False,
            chunksize=_PIECE_ROWS,
            on_bad_lines="warn",
        )
        for piece in reader:
            if cancelled is not None and cancelled():
                raise Stopped
            pieces.append(piece)
            if progress is not None:
                progress(min(raw.tell(), size), size)
    repaired = []
    table = pd.concat(pieces, ignore_index=True) if pieces else pd.DataFrame()
    if len(table) and _cut_short(path, how):
        table = table.iloc[:-1]
        repaired.append("the last line is cut short and was left out: the file is not whole.")
    too_long = sum(str(w.message).count("Skipping line") for w in warned)
    if too_long:
        repaired.append(f"{too_long} lines with too many fields were left out.")
    if table.empty:
        raise FileError("it holds no rows", str(path), "Export it again")
    return TextTable(table, how, tuple(repaired))


def _cut_short(path: Path, how: TextFormat) -> bool:
    """Return whether the last line lacks its end and some of its fields."""
    with path.open("rb") as handle:
        handle.seek(max(0, path.stat().st_size - 65_536))
        tail = handle.read()
    if tail.endswith((b"\n", b"\r", b"\n\x00")):
        return False
    last = tail.decode(how.encoding.removesuffix("-sig"), errors="replace").splitlines()[-1]
    return len(_fields(last, how.delimiter)) < how.width
