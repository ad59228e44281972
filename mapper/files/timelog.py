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
_DAY_MS = 86_400_000
# A season's logs are of one year; bytes looked at together when records have to be found again.
_DAYS_APART = 400
_SEARCH = 1_000_000


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
    damaged: bytes within that make no record, and in how many places.
    """

    head: NDArray[Any]
    values: NDArray[np.float64]
    cut_short: int
    unknown: int
    damaged: tuple[int, int] = (0, 0)


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

    Where bytes are lost or mixed in, reading goes on at the next place from which records follow each other. About a
    second for a million records. Raises FileError where no record makes sense.
    """
    head_type = header.dtype
    size = head_type.itemsize
    starts, end = _record_starts(data, size, 0)
    if not len(starts):
        raise FileError("the log holds no whole record", where, "Export the task data again")
    raw = np.frombuffer(data, dtype=np.uint8)
    damaged = (0, 0)
    if not _sound(_heads(raw, starts, head_type), header).all():
        starts, end, damaged = _resumed(data, raw, header)
        if not len(starts):
            raise FileError("its records do not fit what its header file says", where, "Export the task data again")
    head = _heads(raw, starts, head_type)
    counts = head["n"].astype(np.int64)
    record = np.repeat(np.arange(len(starts)), counts)
    within = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    at = starts[record] + size + 5 * within
    number = raw[at]
    values = np.empty((len(starts), len(wanted)))
    for i, column in enumerate(wanted):
        mine = number == column
        found = raw[at[mine][:, None] + np.arange(1, 5)].view("<i4")[:, 0]
        values[:, i] = _held(record[mine], found, len(starts), header.columns[column].first)
    unknown = int((number >= len(header.columns)).sum())
    return TimeLog(head, values, len(data) - end, unknown, damaged)


def _heads(raw: NDArray[np.uint8], starts: NDArray[np.int64], head_type: np.dtype[Any]) -> NDArray[Any]:
    heads: NDArray[Any] = raw[starts[:, None] + np.arange(head_type.itemsize)].view(head_type)[:, 0]
    return heads


def _sound(head: NDArray[Any], header: Header) -> NDArray[np.bool_]:
    """Return which records can be: a time of day, a place on Earth, a kind of fix, no more values than are named."""
    names = head.dtype.names or ()
    sound = (head["ms"] <= _DAY_MS) & (head["day"] > 0)
    # A harvester's log names each value once a record, or now and then twice.
    sound &= head["n"] <= 2 * len(header.columns) + 2
    for name, most in (("A", 900_000_000), ("B", 1_800_000_000)):
        if name in names:
            sound &= np.abs(head[name].astype(np.int64)) <= most
    if "D" in names:
        sound &= (head["D"] <= 8) | (head["D"] >= 14)
    return sound


def _record_starts(data: bytes, head_size: int, begin: int) -> tuple[NDArray[np.int64], int]:
    """Return where each whole record from `begin` on starts, and where the last one ends."""
    starts, at, size = [], begin, len(data)
    while at + head_size <= size:
        end = at + head_size + 5 * data[at + head_size - 1]
        if end > size:
            break
        starts.append(at)
        at = end
    return np.array(starts, dtype=np.int64), at


def _resumed(data: bytes, raw: NDArray[np.uint8], header: Header) -> tuple[NDArray[np.int64], int, tuple[int, int]]:
    """Return the starts of the records that can be trusted, where the last one ends, and (bytes, places) left out."""
    head_type = header.dtype
    size = head_type.itemsize
    linked = _links(raw, header)
    good = np.flatnonzero(linked)
    if not len(good):
        return np.array([], np.int64), 0, (0, 0)
    days = np.frombuffer(data, np.uint8)
    day_at = days[good + 4].astype(np.int64) + 256 * days[good + 5].astype(np.int64)
    usual = int(np.median(day_at))
    linked[good[np.abs(day_at - usual) > _DAYS_APART]] = False
    runs: list[NDArray[np.int64]] = []
    at, end, lost, places = 0, 0, 0, 0
    while at < len(data):
        ahead = np.flatnonzero(linked[at : at + _SEARCH])
        if not len(ahead):
            if at + _SEARCH >= len(data):
                break
            lost, at = lost + _SEARCH, at + _SEARCH
            continue
        if ahead[0]:
            lost, places = lost + int(ahead[0]), places + 1
        at += int(ahead[0])
        starts, _ = _record_starts(data, size, at)
        whole = linked[starts]
        # The last record of a run has nothing sound behind it: it is where bytes are missing, or the end.
        stop = int(np.argmin(whole)) if not whole.all() else len(starts)
        at_end = stop == len(starts) - 1 and bool(_sound(_heads(raw, starts[-1:], head_type), header)[0])
        stop = stop + 1 if at_end else stop
        if stop == 0:
            lost, at = lost + 1, at + 1
            continue
        runs.append(starts[:stop])
        last = int(starts[stop - 1])
        at = end = last + size + 5 * int(raw[last + size - 1])
    return np.concatenate(runs) if runs else np.array([], np.int64), max(end, at if not runs else end), (lost, places)


def _links(raw: NDArray[np.uint8], header: Header) -> NDArray[np.bool_]:
    """Return at which bytes a sound record begins that is followed by another sound one."""
    head_type = header.dtype
    size = head_type.itemsize
    out = np.zeros(len(raw) + 1, bool)
    for begin in range(0, max(len(raw) - size + 1, 0), _SEARCH):
        at = np.arange(begin, min(begin + _SEARCH, len(raw) - size + 1))
        out[at] = _sound(_heads(raw, at, head_type), header)
    good = np.flatnonzero(out)
    after = good + size + 5 * raw[good + size - 1].astype(np.int64)
    out[good] = (after < len(out)) & out[np.minimum(after, len(out) - 1)] | (after == len(raw))
    return out[: len(raw)]


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
