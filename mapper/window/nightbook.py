"""The night's record in hand: every entry is on the disk before it is shown."""

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from mapper.farm.errors import MapperError

if TYPE_CHECKING:
    import geopandas as gpd

    from mapper.plan.burnplan import BurnPlan
    from mapper.record.entry import Entry
    from mapper.record.merge import Conflict
    from mapper.record.night import NightRecord

FOLDER = "records"


class NightBook(QObject):
    """Signals: changed (another record, or an entry more). now: the clock, passed in."""

    changed = Signal()

    def __init__(self, now: Callable[[], datetime], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._now = now
        self.record: NightRecord | None = None
        self.path: Path | None = None
        self.by = ""
        self.notes: tuple[str, ...] = ()
        self._read: dict[Path, tuple[int, NightRecord]] = {}
        self._worked: tuple[NightRecord, dict[str, Any]] | None = None

    def begin(self, plan: "BurnPlan", project: str) -> None:
        """Open the record of a plan's night, or go on with the one that stands. Raises MapperError.

        project: the farm's file, beside which records are kept.
        """
        from mapper.files.record import record_path, start_record
        from mapper.record.night import open_record

        if not project:
            raise MapperError("the record is kept beside the farm's file, and there is none", "Record", "Save the farm")
        fresh = open_record(plan)
        folder = Path(project).resolve().parent / FOLDER
        path = record_path(folder, fresh)
        self.open(path if path.exists() else start_record(fresh, folder))

    def open(self, path: Path) -> None:
        """Open a record. Raises MapperError where it is none."""
        from mapper.files.record import read_record

        self.record, self.notes = read_record(path)
        self.path = path
        self.changed.emit()

    def beside(self, project: str) -> "tuple[Path, ...]":
        """Return the records that stand beside a farm's file, the latest night first."""
        from mapper.files.record import records_in

        return records_in(Path(project).resolve().parent / FOLDER)[::-1] if project else ()

    def leave(self) -> None:
        """Put the record away; it stays on the disk as it is."""
        self.record, self.path, self.notes = None, None, ()
        self.changed.emit()

    def write(
        self, kind: str, bodies: Iterable[tuple[Mapping[str, Any], datetime | None]], replaces: str = ""
    ) -> "tuple[Entry, ...]":
        """Write entries, on the disk first, then in the record in hand. Raises MapperError; then nothing is written."""
        from mapper.files.record import add_entries, new_entries

        if self.record is None or self.path is None:
            raise MapperError("no record is open", "Record", "Open one")
        if not self.by.strip():
            raise MapperError("nobody is named as writing this down", "Record", "Type your name first")
        made = new_entries(kind, self.by.strip(), self._now(), bodies, replaces, self.record.entries)
        self.record.check(made)
        after = self.record.with_entries(made)
        add_entries(self.path, made)
        self.record = after
        self.changed.emit()
        return made

    def add_other(self, other: Path) -> int:
        """Add another person's record of the night; returns how many entries were new. Raises MapperError."""
        from mapper.files.record import merge_into

        if self.path is None:
            raise MapperError("no record is open", "Record", "Open one")
        self.record, new = merge_into(self.path, other)
        self.changed.emit()
        return new

    def clock(self, when: Any) -> str:
        """Return a time as read on the farm's clock, "" where it is not known."""
        from zoneinfo import ZoneInfo

        import pandas as pd

        assert self.record is not None
        return "" if pd.isnull(when) else f"{when.astimezone(ZoneInfo(self.record.zone)):%H:%M}"

    def moment(self, text: str) -> datetime | None:
        """Return a clock time of the night that was typed, None where nothing was. Raises MapperError."""
        if not text.strip() or self.record is None:
            return None
        found = self.record.moment_of(text.strip())
        if found is None:
            raise MapperError(f"{text!r} is not a time", "Record", "Write 20:41")
        return found

    # What the record says, worked out once for each state of it ------------------------------------------------

    def _once(self, name: str, work: "Callable[[NightRecord], Any]") -> Any:
        if self.record is None:
            return None
        if self._worked is None or self._worked[0] is not self.record:
            self._worked = (self.record, {})
        known = self._worked[1]
        if name not in known:
            known[name] = work(self.record)
        return known[name]

    @property
    def parts(self) -> "gpd.GeoDataFrame | None":
        """Layer "row_parts" of the record in hand."""
        from mapper.record.parts import row_parts

        return self._once("row_parts", row_parts)

    @property
    def states(self) -> dict[int, str]:
        """What became of each numbered piece, "" where not all of it is written down."""
        from mapper.record.parts import state_of_pieces

        return self._once("states", lambda _: state_of_pieces(self.parts)) or {}

    @property
    def places(self) -> "gpd.GeoDataFrame":
        """Layer "look_here" of the record in hand."""
        from mapper.record.look import look_here

        return self._once("look_here", look_here)

    def nights(self, project: str) -> "list[NightRecord]":
        """Return all nights kept beside a farm's file, the one in hand as it stands; each is read once a change."""
        from mapper.files.record import read_record

        found = []
        for path in self.beside(project):
            if path == self.path and self.record is not None:
                found.append(self.record)
                continue
            changed = path.stat().st_mtime_ns
            if path not in self._read or self._read[path][0] != changed:
                try:
                    self._read[path] = (changed, read_record(path)[0])
                except MapperError:
                    continue
            found.append(self._read[path][1])
        if self.record is not None and self.path not in self.beside(project):
            found.append(self.record)
        return found

    def layers(self) -> dict[str, Any]:
        """Return what the map shows of the record; nothing where none is open."""
        from mapper.record.escape import escape_areas

        if self.record is None:
            return {}
        return {"row_parts": self.parts, "escapes": self._once("escapes", escape_areas)}

    @property
    def conflicts(self) -> "tuple[Conflict, ...]":
        """Where two people's words cannot both hold."""
        from mapper.record.merge import conflicts

        return self._once("conflicts", lambda record: conflicts(record.entries)) or ()

    @property
    def state(self) -> tuple[str, str]:
        """How far the record is, as a step's state and its words (window/walk.py)."""
        from mapper.record.states import LOOK_AT

        if self.record is None:
            return "todo", ""
        if self.record.closed:
            return "done", "closed"
        if self.conflicts:
            return "look", f"{len(self.conflicts)} to settle"
        states = self.states.values()
        done = sum(map(bool, states))
        if done < len(states):
            return ("working", f"{done} of {len(states)}") if done else ("todo", "nothing written")
        look = sum(s in LOOK_AT for s in states)
        return ("look", f"{look} to look at") if look else ("todo", "to be closed")
