"""Entries of a night's record: written once, never changed; a correction is a new entry that names the old one."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from mapper.farm.errors import SettingError

# What an entry tells of, and the fields its body must hold; others are kept as they are.
KINDS: dict[str, tuple[str, ...]] = {
    "rows": ("numbers", "state"),  # also from_m, to_m: metres along each piece from the end where lighting began
    "reading": ("temp_c", "rh_pct", "wind_km_h"),  # also gust_km_h, wind_from_deg, height_m, place
    "hold": ("why",),  # lighting held or stopped; also until (UTC text)
    "escape": ("name",),  # also the fields of record/escape.py
    "patrol": ("seen",),  # also place, done
    "heat": ("points", "step_s", "temp_c"),  # a probe's trace; also ambient_c, row, place
    "count": ("burnt", "plants", "area_m2"),  # weeds counted in the next crop; also row, species
    "note": ("text",),
    "close": (),  # the burn is closed: by whom, when
    "withdrawn": (),  # with replaces: the entry it names was a mistake
}


@dataclass(frozen=True)
class Entry:
    """One line of a record.

    entry_id is unique for good and comes from the edge (files, window). at: UTC, when it happened, None where nobody
    knows. entered_at: UTC, when it was written down, by whom. body: plain JSON values. replaces: entry_id or "".
    """

    entry_id: str
    kind: str
    by: str
    entered_at: datetime
    at: datetime | None = None
    body: Mapping[str, Any] = field(default_factory=dict)
    replaces: str = ""

    def __post_init__(self) -> None:
        where = f"entry {self.entry_id or '(without a name)'}"
        if not self.entry_id:
            raise SettingError("the entry has no name of its own", "record")
        if self.kind not in KINDS:
            raise SettingError(f"no entry is of kind {self.kind!r}", where, f"There are: {', '.join(KINDS)}")
        if not self.by.strip():
            raise SettingError("nobody is named as having written it", where, "Give a name")
        for when in (self.at, self.entered_at):
            if when is not None and when.utcoffset() is None:
                raise SettingError("the time has no zone", where, "Give it in UTC")
        missing = [name for name in KINDS[self.kind] if name not in self.body]
        if missing:
            raise SettingError(f"{missing[0]!r} is missing", where, "Write it, or withdraw the entry")
        if self.kind == "withdrawn" and not self.replaces:
            raise SettingError("it does not say which entry is withdrawn", where)

    @property
    def happened(self) -> datetime:
        """When it happened, or when it was written down where nobody knows."""
        return self.at or self.entered_at


def in_turn(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Return entries by the time they were written, then by name: one order whatever order they come in."""
    return tuple(sorted(entries, key=lambda e: (e.entered_at, e.entry_id)))


def standing(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Return the entries that hold: neither replaced nor withdrawn, in turn.

    Where two entries replace the same one both stand; record/merge.py shows that as a conflict. Entries that replace
    each other in a ring, which no honest record holds, all stand.
    """
    ordered = in_turn(entries)
    by_id = {e.entry_id: e for e in ordered}
    ringed = {e.entry_id for e in ordered if _in_ring(e, by_id)}
    gone = {e.replaces for e in ordered if e.replaces and e.entry_id not in ringed}
    return tuple(e for e in ordered if e.entry_id not in gone and e.kind != "withdrawn")


def history(entries: Iterable[Entry], entry_id: str) -> tuple[Entry, ...]:
    """Return an entry and all that it replaced, newest first."""
    by_id = {e.entry_id: e for e in entries}
    found: list[Entry] = []
    while entry_id in by_id and by_id[entry_id] not in found:
        found.append(by_id[entry_id])
        entry_id = found[-1].replaces
    return tuple(found)


def _in_ring(entry: Entry, by_id: Mapping[str, Entry]) -> bool:
    seen: set[str] = set()
    at: Entry | None = entry
    while at is not None and at.replaces:
        if at.replaces == entry.entry_id:
            return True
        if at.entry_id in seen:
            return False
        seen.add(at.entry_id)
        at = by_id.get(at.replaces)
    return False
