"""A night's record on disk: one line of JSON an entry, added at the end and never rewritten.

The first line holds the plan's rows as they were when the record was opened. Each entry is on the disk before the call
returns, so that a flat battery costs at most the line being typed. Lines that cannot be read are left out and said.
"""

import json
import os
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import asdict, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely
from pyproj import CRS

from mapper.farm.errors import FileError, MapperError
from mapper.farm.layers import LAYERS, TIME, make_layer
from mapper.files.atomic import written_whole
from mapper.files.limits import days_plain, local_limits
from mapper.record.asked import Field
from mapper.record.entry import Entry
from mapper.record.merge import merge_records
from mapper.record.night import NightRecord

VERSION = 1
ENDING = ".record.jsonl"
_PLAIN = ("farm", "zone", "plan_number", "author", "invented", "people", "row_width_m", "spread_m_min", "burnout_min",
          "point_gap_m")  # fmt: skip


def record_path(folder: Path, record: NightRecord) -> Path:
    """Return where the record of a night and plan belongs.

    Plans are numbered anew when a farm is opened anew: where another plan of the number has a record already, this one
    stands beside it.
    """
    name = f"{record.night:%Y-%m-%d} plan {record.plan_number}"
    for other in range(1, 1000):
        path = folder / (f"{name}{ENDING}" if other == 1 else f"{name} ({other}){ENDING}")
        if not path.exists() or _same_rows(read_record(path)[0], record):
            return path
    raise FileError("there is no name left for the record", str(folder), "Move some away")


def _same_rows(one: NightRecord, other: NightRecord) -> bool:
    return dict(zip(one.pieces["piece_id"], one.pieces["order_no"], strict=True)) == dict(
        zip(other.pieces["piece_id"], other.pieces["order_no"], strict=True)
    )


def start_record(record: NightRecord, folder: Path) -> Path:
    """Write a new record's first line and its entries; returns its path. Raises FileError where one stands already."""
    path = record_path(folder, record)
    if path.exists():
        raise FileError("this night and plan have a record already", str(path), "Open it and go on")
    folder.mkdir(parents=True, exist_ok=True)
    with written_whole(path) as half:
        half.write_text(_head(record) + "".join(map(_line, record.entries)), encoding="utf-8")
    return path


def add_entries(path: Path, entries: Iterable[Entry]) -> None:
    """Add entries at the end of a record, on the disk when this returns. Raises FileError where that fails."""
    lines = "".join(map(_line, entries)).encode()
    try:
        with path.open("r+b") as file:
            file.seek(0, os.SEEK_END)
            if file.tell():
                file.seek(-1, os.SEEK_END)
                # A line torn by a flat battery stays as it is; the next one begins on a line of its own.
                if file.read(1) != b"\n":
                    lines = b"\n" + lines
            file.write(lines)
            file.flush()
            os.fsync(file.fileno())
    except OSError as exc:
        raise FileError(f"the entry could not be kept ({exc.strerror})", str(path), "Write it on paper now") from exc


def new_entries(
    kind: str,
    by: str,
    now: datetime,
    bodies: Iterable[tuple[Mapping[str, Any], datetime | None]],
    replaces: str = "",
    after: Iterable[Entry] = (),
) -> tuple[Entry, ...]:
    """Return entries (what, when it happened) with names unlike any other ever made, written one after the other.

    after: entries that stand already. What is written later lies over what was written before it, so each entry's time
    is a microsecond past the last one's at least, even where a clock is coarse or has been set back.
    """
    last = max((e.entered_at for e in after), default=None)
    begin = now if last is None or now > last else last + timedelta(microseconds=1)
    return tuple(
        Entry(uuid.uuid4().hex[:16], kind, by, begin + timedelta(microseconds=k), at, dict(body), replaces)
        for k, (body, at) in enumerate(bodies)
    )


def read_record(path: Path) -> tuple[NightRecord, tuple[str, ...]]:
    """Return a record, and a sentence for each line that was left out. Raises FileError where it is no record."""
    try:
        raw = path.read_bytes().decode("utf-8", errors="replace").split("\n")
    except OSError as exc:
        raise FileError(f"it cannot be read ({exc.strerror})", str(path), "Check the name and the folder") from exc
    record = _record(raw[0], path)
    entries: dict[str, Entry] = {}
    notes = []
    for number, text in enumerate(raw[1:], start=2):
        if not text.strip("\0 \r"):
            continue
        try:
            entry = _entry(json.loads(text))
            record.with_entries([*entries.values(), entry])
            entries[entry.entry_id] = entry
        except (ValueError, KeyError, TypeError, AttributeError, MapperError):
            notes.append(f"Line {number} of {path.name} cannot be read and is left out: it was cut short or changed.")
    return record.with_entries(entries.values()), tuple(notes)


def records_in(folder: Path) -> tuple[Path, ...]:
    """Return the records of a folder by night."""
    return tuple(sorted(folder.glob(f"*{ENDING}")))


def merge_into(path: Path, other: Path) -> tuple[NightRecord, int]:
    """Add another person's entries to a record; returns the record and how many were new. The other stays as it is."""
    mine, theirs = read_record(path)[0], read_record(other)[0]
    merged = merge_records(mine, theirs)
    held = {e.entry_id for e in mine.entries}
    new = [e for e in merged.entries if e.entry_id not in held]
    add_entries(path, new)
    return merged, len(new)


def _head(record: NightRecord) -> str:
    head: dict[str, Any] = {name: getattr(record, name) for name in _PLAIN}
    head |= {
        "night": record.night.isoformat(),
        "crs": record.pieces.crs.to_wkt(),
        "pieces": _layer(record.pieces, "pieces"),
        "land": _layer(record.land, "paddocks"),
        "limits": [asdict(limit) for limit in record.limits.limits.values()],
        **days_plain(record.limits),
        "hours": {c: [_plain(v) for v in record.hours[c]] for c in record.hours.columns},
        "window_end": _plain(record.window_end),
        "escape_fields": [asdict(field) for field in record.escape_fields],
    }
    return json.dumps({"mapper_record": VERSION, **head}, ensure_ascii=False) + "\n"


def _record(text: str, path: Path) -> NightRecord:
    try:
        head = json.loads(text)
        version = head["mapper_record"]
    except (ValueError, KeyError, TypeError) as exc:
        raise FileError(
            "it is no record of this program, or its first line is damaged", str(path), "Open a copy"
        ) from exc
    if version > VERSION:
        raise FileError("it was written by a newer version of this program", str(path), "Open it with that version")
    crs = CRS.from_user_input(head["crs"])
    hours = pd.DataFrame(head["hours"])
    hours["time_utc"] = pd.to_datetime(hours["time_utc"], utc=True, format="ISO8601").astype("datetime64[ns, UTC]")
    return NightRecord(
        **{name: head[name] for name in _PLAIN},
        night=date.fromisoformat(head["night"]),
        pieces=_read_layer(head["pieces"], "pieces", crs),
        land=_read_layer(head["land"], "paddocks", crs),
        limits=local_limits(head["limits"], head),
        hours=hours.astype({c: "float64" for c in hours.columns if c != "time_utc"}),
        window_end=_time(head["window_end"]),
        escape_fields=tuple(Field(**field) for field in head["escape_fields"]),
    )


def _layer(layer: gpd.GeoDataFrame, name: str) -> dict[str, Any]:
    columns = {c: [_plain(v) for v in layer[c]] for c in LAYERS[name].columns}
    return {"columns": columns, "shapes": list(shapely.to_wkt(layer.geometry.to_numpy(), rounding_precision=3))}


def _read_layer(stored: dict[str, Any], name: str, crs: CRS) -> gpd.GeoDataFrame:
    columns = dict(stored["columns"])
    for column, kind in LAYERS[name].columns.items():
        if kind == TIME:
            columns[column] = pd.to_datetime(pd.Series(columns[column]), utc=True, format="ISO8601")
    return make_layer(name, columns, shapely.from_wkt(stored["shapes"]), crs)


def _line(entry: Entry) -> str:
    values = asdict(replace(entry, body=dict(entry.body)))
    values |= {"at": _plain(entry.at), "entered_at": _plain(entry.entered_at)}
    return json.dumps(values, ensure_ascii=False) + "\n"


def _entry(values: dict[str, Any]) -> Entry:
    entered = _time(values["entered_at"])
    if entered is None:
        raise ValueError("no time")
    return Entry(values["entry_id"], values["kind"], values["by"], entered, _time(values["at"]), values["body"],
                 values["replaces"])  # fmt: skip


def _plain(value: Any) -> Any:
    """A value as JSON knows it; times as ISO 8601 in UTC, what is not known as null."""
    if value is None or (not isinstance(value, str) and pd.isna(value)):
        return None
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    return value.item() if hasattr(value, "item") else value


def _time(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)
