"""Binary time logs of ISO 11783-10 task data: records of unequal length, decoded by columns with numpy."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mapper.farm.errors import FileError

# Position fields in the order in which a record carries them: attribute in the header file, numpy type.
_POSITION = (("A", "<i4"), ("B", "<i4"), ("C", "<i4"), ("D", "u1"), ("E", "<u2"), ("F", "<u2"), ("G", "u1"),
             ("H", "<u4"), ("I", "<u2"))  # fmt: skip
_NOT_KNOWN = (2**31 - 1, -(2**31))


@dataclass(frozen=True)
class Column:
    """One value column of a log: data dictionary number (DDI), device element, value before the first record."""

    ddi: int
    element: str
    first: float = float("nan")


@dataclass(frozen=True)
class Header:
    """What a time log's header file (TLGnnnnn.XML) says stands in each record."""

    fields: tuple[tuple[str, str], ...]
    columns: tuple[Column, ...]

    @property
    def dtype(self) -> np.dtype[Any]:
        """The fixed head of a record: milliseconds of the day, days since 1980, position, number of values."""
        return np.dtype([("ms", "<u4"), ("day", "<u2"), *self.fields, ("n", "u1")])


@dataclass(frozen=True)
class TimeLog:
    """A decoded log. head: structured array, one row a record. values: (records, columns), carried forward.

    cut_short: bytes at the end that make no whole record. unknown: values with a number the header does not name.
    """

    head: NDArray[Any]
    values: NDArray[np.float64]
    cut_short: int
    unknown: int


def read_header(time: Any, where: str) -> Header:
    """Return what the records hold, from the header's TIM element. Raises FileError where it names no position."""
    position = time.find("PTN")
    if position is None or position.get("A") is None or position.get("B") is None:
        raise FileError("the log has no positions", where, "Export the task data again with positions logged")
    # A field stands in the records where its attribute is there but empty.
    fields = tuple((name, kind) for name, kind in _POSITION if position.get(name) == "")
    columns = []
    for value in time.findall("DLV"):
        try:
            ddi = int(value.get("A", ""), 16)
            first = float(value.get("B") or "nan")
        except ValueError as exc:
            raise FileError(
                f"a logged value is described wrongly ({exc})", where, "Export the task data again"
            ) from exc
        columns.append(Column(ddi, value.get("C", ""), first))
    return Header(fields, tuple(columns))


def decode(data: bytes, header: Header, wanted: tuple[int, ...], where: str) -> TimeLog:
    """Return a log's records with the wanted columns (indices into header.columns), each value held until the next.

    About a second for a million records. Raises FileError where the first record already makes no sense.
    """
    head_type = header.dtype
    starts, end = _record_starts(data, head_type.itemsize)
    if not len(starts):
        raise FileError("the log holds no whole record", where, "Export the task data again")
    raw = np.frombuffer(data, dtype=np.uint8)
    head = raw[starts[:, None] + np.arange(head_type.itemsize)].view(head_type)[:, 0]
    counts = head["n"].astype(np.int64)
    record = np.repeat(np.arange(len(starts)), counts)
    within = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    at = starts[record] + head_type.itemsize + 5 * within
    number = raw[at]
    values = np.empty((len(starts), len(wanted)))
    for i, column in enumerate(wanted):
        mine = number == column
        found = raw[at[mine][:, None] + np.arange(1, 5)].view("<i4")[:, 0]
        values[:, i] = _held(record[mine], found, len(starts), header.columns[column].first)
    unknown = int((number >= len(header.columns)).sum())
    return TimeLog(head, values, len(data) - end, unknown)


def _record_starts(data: bytes, head_size: int) -> tuple[NDArray[np.int64], int]:
    """Return where each whole record starts, and where the last one ends."""
    starts, at, size = [], 0, len(data)
    while at + head_size <= size:
        end = at + head_size + 5 * data[at + head_size - 1]
        if end > size:
            break
        starts.append(at)
        at = end
    return np.array(starts, dtype=np.int64), at


def _held(record: NDArray[np.int64], found: NDArray[np.int32], n: int, first: float) -> NDArray[np.float64]:
    """Return one value a record: the last one given at or before it."""
    values = np.where(np.isin(found, _NOT_KNOWN), np.nan, found.astype(float))
    last = np.searchsorted(record, np.arange(n), side="right")
    return np.append(first, values)[last]


def gps_utc_s(head: NDArray[Any]) -> NDArray[np.float64] | None:
    """Return the receiver's own UTC in seconds since 1970 where the log carries it, else None."""
    if "H" not in (head.dtype.names or ()) or "I" not in (head.dtype.names or ()):
        return None
    return seconds_since_1970(head["H"], head["I"])


def seconds_since_1970(ms: NDArray[Any], day: NDArray[Any]) -> NDArray[np.float64]:
    """Return seconds since 1970 for milliseconds of the day and days since 1 January 1980."""
    return (day.astype(np.float64) + 3652) * 86_400 + ms.astype(np.float64) / 1000
