"""How a text table of any make is written: encoding, delimiter, decimal mark and header rows, told from its start."""

import csv
import re
from dataclasses import dataclass
from pathlib import Path

from mapper.farm.errors import FileError

_LOOKED_AT_LINES = 200
_LOOKED_AT_BYTES = 262_144
_NUMBER = re.compile(r"^[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?$")
_COMMA_NUMBER = re.compile(r"^[+-]?\d+,\d+$")
# What a data cell begins with and a column's name does not: a number, a time, degrees with their side before them.
_NUMBERISH = re.compile(r"^([NSEWO] ?)?[+-]?[.,]?\d")
LINE_END = re.compile(r"\r\n|\n|\r")
SPACES = r"\s+"


@dataclass(frozen=True)
class TextFormat:
    """How a text table is written.

    names: of the columns, made up where the file gives none. first_line: lines before the first row.
    width: fields of a usual row. header: the fields of its header row as they stand, () where there is none.
    quoted: whether fields stand in quotation marks.
    """

    encoding: str
    delimiter: str
    decimal: str
    names: tuple[str, ...]
    first_line: int
    width: int
    header: tuple[str, ...]
    quoted: bool


def _encoding(head: bytes) -> str:
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if head.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig"
    even, odd = head[::2].count(0), head[1::2].count(0)
    if max(even, odd) > 0.4 * len(head) / 2 and min(even, odd) < 0.05 * len(head) / 2:
        return "utf-16-le" if odd > even else "utf-16-be"
    try:
        # The last bytes may be the first half of a letter.
        head[: len(head) - 4].decode("utf-8") if len(head) > 1000 else head.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def fields_of(line: str, delimiter: str) -> list[str]:
    """Return the fields of one line, blanks round them taken off."""
    line = LINE_END.sub(" ", line)
    if delimiter == SPACES:
        return [f for f in next(csv.reader([re.sub(SPACES, " ", line.strip())], delimiter=" "), []) if f]
    return [f.strip() for f in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])]


def _delimiter(lines: list[str]) -> str:
    """Return the mark that parts the lines into the same number of fields most often, and into most fields."""
    spaced = [fields_of(line, SPACES) for line in lines]
    counts = [len(f) for f in spaced]
    usual = max(set(counts), key=counts.count)
    agree = counts.count(usual) / len(counts)
    commas = sum(bool(_COMMA_NUMBER.match(f)) for row in spaced for f in row)
    # Decimal commas part lines evenly too: blanks come first where they leave nothing but numbers with a comma.
    if usual > 1 and agree > 0.9 and commas >= max(2, 0.4 * usual) * len(lines) and not any(";" in t for t in lines):
        return SPACES
    best, best_score = "", 0.0
    for mark in (";", "\t", ",", "|"):
        counts = [len(fields_of(line, mark)) for line in lines]
        usual = max(set(counts), key=counts.count)
        if usual < 2:
            continue
        # A decimal comma parts lines evenly too: a semicolon or tab that does so comes first.
        score = counts.count(usual) / len(counts) + (0.5 if mark in ";\t" else 0.0) + min(usual, 50) / 1000
        if score > best_score:
            best, best_score = mark, score
    if best and best_score > 0.6:
        return best
    return SPACES if agree > 0.6 and max(len(f) for f in spaced) > 1 else best or ","


def _decimal(rows: list[list[str]]) -> str:
    commas = sum(bool(_NUMBER.match(f)) and "," in f for row in rows for f in row)
    points = sum(bool(_NUMBER.match(f)) and "." in f for row in rows for f in row)
    return "," if commas > points else "."


def _first_row(rows: list[list[str]], width: int) -> int:
    """Return the first row that holds numbers as data rows do."""
    numbers = [sum(bool(_NUMBERISH.match(f)) for f in row) for row in rows]
    later = sorted(numbers[len(numbers) // 2 :])
    wanted = max(1, later[len(later) // 2] / 2)
    return next((i for i, n in enumerate(numbers) if n >= wanted and len(rows[i]) >= 0.7 * width), 0)


def _head_of(path: Path) -> tuple[str, str, bool]:
    """Return the first text of a file, its encoding, and whether it goes on after that."""
    try:
        with path.open("rb") as handle:
            head = handle.read(_LOOKED_AT_BYTES)
    except OSError as exc:
        raise FileError(f"it cannot be opened ({exc.strerror})", str(path), "Check the name and folder") from exc
    if not head.strip(b" \t\r\n\x00"):
        raise FileError("the file is empty", str(path), "Copy it again from where it came")
    encoding = _encoding(head)
    if not encoding.startswith("utf-16"):
        # Blocks of noughts are what a lost supply leaves; many among the text are no text at all.
        text = head.strip(b"\x00")
        strange = sum(text.count(c) for c in range(1, 32) if c not in (9, 10, 11, 12, 13, 26))
        if strange > 0.03 * len(text):
            raise FileError("it is not a text table", str(path), "Export it as CSV")
        head = head.replace(b"\x00", b"")
    return head.decode(encoding, errors="replace"), encoding, len(head) >= _LOOKED_AT_BYTES - 4


def look_at_text(path: Path) -> TextFormat:
    """Return how a text table is written, from its first lines. Raises FileError where it is none."""
    text, encoding, more = _head_of(path)
    numbered = [(i, t) for i, t in enumerate(LINE_END.split(text)) if t.strip()]
    if len(numbered) > 1 and more:
        numbered = numbered[:-1]
    if numbered and re.fullmatch(r"sep=.", numbered[0][1].strip(), re.IGNORECASE):
        numbered = numbered[1:]  # a spreadsheet's note to itself
    numbered = numbered[:_LOOKED_AT_LINES]
    if not numbered:
        raise FileError("it holds no rows", str(path), "Export it again")
    lines = [t for _, t in numbered]
    delimiter = _delimiter(lines[-max(1, len(lines) * 2 // 3) :])
    rows = [fields_of(t, delimiter) for t in lines]
    counts = [len(r) for r in rows]
    width = max(set(counts), key=counts.count)
    if not any(_NUMBERISH.match(f) for row in rows for f in row):
        raise FileError("it holds no rows of numbers", str(path), "Export it again")
    first = _first_row(rows, width)
    header, names = _names(lines[:first], rows[:first], width, delimiter)
    quoted = sum('"' in t for t in lines[first:]) > 0.5 * len(lines[first:])
    return TextFormat(
        encoding, delimiter, _decimal(rows[first:]), tuple(_once(names, width)), numbered[first][0], width,
        tuple(header), quoted,
    )  # fmt: skip


def _names(lines: list[str], rows: list[list[str]], width: int, delimiter: str) -> tuple[list[str], list[str]]:
    """Return the header row as it stands and the columns' names, from the rows before the data."""
    full = [i for i, row in enumerate(rows) if sum(bool(f) for f in row) >= 0.5 * width]
    if delimiter == SPACES:
        # Names may hold blanks themselves: then two or more blanks, or a tab, part them.
        wide = [[f for f in re.split(r"\s{2,}|\t", line.strip()) if f] for line in lines]
        rows = [w if len(w) == width else r for w, r in zip(wide, rows, strict=True)]
        full = [i for i, row in enumerate(rows) if len(row) == width]
    if not full:
        return [], []
    # Below the names there may be a row of units; above them, rows of settings as wide by chance.
    last = full[-1]
    units = last - 1 in full and _is_units(rows[last])
    at = last - 1 if units else last
    header = rows[at]
    names = list(header)
    names[0] = names[0].lstrip("#%/* ") or names[0]
    return header, _with_units(names, rows[last]) if units else names


def _is_units(row: list[str]) -> bool:
    """Return whether a row holds units or nothing: deg, (km/h), -."""
    from mapper.files.units import read_unit

    some = [f.strip("()[]{}") for f in row if f.strip("()[]{}-. ")]
    known = sum(bool(read_unit(f)) or len(f) <= 2 for f in some)
    return (bool(some) and known >= 0.5 * len(some)) or len(some) < 0.3 * len(row)


def _with_units(names: list[str], below: list[str]) -> list[str]:
    """Add a second header row (units under the names) to the names."""
    padded = below + [""] * (len(names) - len(below))
    units = [u.strip("()[]{}") for u in padded]
    return [f"{n} ({u})" if u.strip("-. ") else n for n, u in zip(names, units, strict=False)]


def _once(names: list[str], width: int) -> list[str]:
    out: list[str] = []
    for i in range(max(width, len(names))):
        name = (names[i] if i < len(names) else "") or f"column {i + 1}"
        out.append(f"{name} [{i + 1}]" if name in out else name)
    return out
