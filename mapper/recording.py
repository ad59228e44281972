"""What the commands of a night's record and of a season do: files in, entries and files out."""

import argparse
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from mapper.farm.errors import SettingError

if TYPE_CHECKING:
    from mapper.record.night import NightRecord


def start(options: argparse.Namespace) -> int:
    """Work out the plan and open an empty record of its night."""
    from mapper.commands import worked_out
    from mapper.files.record import start_record
    from mapper.record.night import open_record

    print(start_record(open_record(worked_out(options)), options.out))
    return 0


def write_tally(options: argparse.Namespace) -> int:
    """Add what a tally says to a record, each phrase an entry."""
    from mapper.record.parts import row_parts
    from mapper.record.tally import read_tally

    record = _read(options.record)
    parts = row_parts(record)
    # A row alight is not done with: "rest done" means it too.
    copied = set(parts.loc[~parts["state"].isin(["", "lit"]), "order_no"])
    bodies = []
    for said in read_tally(options.tally, record.numbers, record.blocks, tuple(copied)):
        at = record.moment(*said.clock) if said.clock else _at(options, record)
        bodies.append((said.body, at))
    return _add(options, record, "rows", bodies)


def write_reading(options: argparse.Namespace) -> int:
    """Add a meter's reading, and say at once where it is outside a limit."""
    from mapper.record.readings import against_limits

    record = _read(options.record)
    body = {
        "temp_c": options.temp,
        "rh_pct": options.humidity,
        "wind_km_h": options.wind,
        "gust_km_h": options.gust,
        "wind_from_deg": options.wind_from,
        "height_m": options.height,
    }
    code = _add(options, record, "reading", [({k: v for k, v in body.items() if v is not None}, _at(options, record))])
    for why in against_limits(body, record.limits).why:
        print(why)
    return code


def write_meter(options: argparse.Namespace) -> int:
    """Add the readings of a meter's log, and say where they are outside a limit."""
    from mapper.files.meterlog import meter_readings
    from mapper.record.readings import against_limits

    record = _read(options.record)
    found, left_out = meter_readings(options.log, record)
    code = _add(options, record, "reading", found)
    if left_out:
        print(f"{left_out} lines without air, humidity or wind were left out.")
    for body, at in found:
        for why in against_limits(body, record.limits).why:
            print(f"{at.astimezone(ZoneInfo(record.zone)):%H:%M}" if at else "", why)
    return code


def write_words(options: argparse.Namespace) -> int:
    """Add a hold, a patrol, a note, an escape or a count: fields written as name=value."""
    record = _read(options.record)
    body = dict(_field(text) for text in options.fields)
    if options.kind == "escape":
        from mapper.record.escape import still_missing

        code = _add(options, record, "escape", [({"name": options.text, **body}, _at(options, record))])
        last = _read(options.record).entries[-1]
        for field in still_missing(last, record.escape_fields):
            print(f"{options.text}: {field.label} is not written yet ({field.source}).")
        return code
    key = {"hold": "why", "patrol": "seen", "note": "text"}[options.kind]
    return _add(options, record, options.kind, [({key: options.text, **body}, _at(options, record))])


def write_count(options: argparse.Namespace) -> int:
    """Add weeds counted in the next crop."""
    record = _read(options.record)
    body = {"burnt": options.burnt, "plants": options.plants, "area_m2": options.area, "row": options.row,
            "species": options.species}  # fmt: skip
    return _add(options, record, "count", [(body, _at(options, record))])


def write_counts(options: argparse.Namespace) -> int:
    """Add all counts of a table."""
    from mapper.files.weedcounts import read_counts

    record, at = _read(options.record), _at(options, _read(options.record))
    return _add(options, record, "count", [(body, at) for body, _ in read_counts(options.table)])


def write_heat(options: argparse.Namespace) -> int:
    """Add a probe's trace."""
    import math

    from mapper.files.heattrace import read_trace

    record, trace = _read(options.record), read_trace(options.trace)
    step = options.step if options.step is not None else trace.step_s
    if math.isnan(step):
        raise SettingError("it does not say how far apart its readings are", str(options.trace), "Give --step seconds")
    body = {"points": 1, "step_s": step, "temp_c": list(trace.temp_c), "ambient_c": options.ambient,
            "row": options.row}  # fmt: skip
    return _add(options, record, "heat", [(body, _at(options, record))])


def match_lighter(options: argparse.Namespace) -> int:
    """Add the rows that a lighter's GPX track was driven along, with their times."""
    from mapper.files.lighttrack import lit_rows

    record = _read(options.record)
    return _add(options, record, "rows", lit_rows(options.track, record))


def correct(options: argparse.Namespace) -> int:
    """Replace or withdraw an entry; what stood before is kept."""
    from mapper.record.tally import read_tally

    record = _read(options.record)
    old = next((e for e in record.entries if e.entry_id == options.entry), None)
    if old is None:
        raise SettingError(f"there is no entry {options.entry}", str(options.record), "`mapper record show` lists them")
    if not options.tally:
        return _add(options, record, "withdrawn", [({}, None)], replaces=old.entry_id)
    (said,) = read_tally(options.tally, record.numbers, record.blocks)
    return _add(options, record, "rows", [(said.body, old.at)], replaces=old.entry_id)


def close(options: argparse.Namespace) -> int:
    """Close the burn."""
    from mapper.record.said import check_close

    record = _read(options.record)
    check_close(record, datetime.now(UTC))
    return _add(options, record, "close", [({}, _at(options, record))])


def merge(options: argparse.Namespace) -> int:
    """Add another person's record of the same night, and say where the two disagree."""
    from mapper.files.record import merge_into
    from mapper.record.merge import conflicts

    merged, new = merge_into(options.record, options.other)
    print(f"{new} entries added.")
    for conflict in conflicts(merged.entries):
        print(conflict.text)
    return 0


def show(options: argparse.Namespace) -> int:
    """Print what a record says, and its entries with the names by which they are corrected."""
    from mapper.record.said import entry_words, sentences

    record = _read(options.record)
    print(f"{record.farm}, night of {record.night}, plan {record.plan_number}" + (" (invented)" * record.invented))
    for sentence in sentences(record, datetime.now(UTC)):
        print(sentence)
    for entry in record.entries:
        when = entry.happened.astimezone(ZoneInfo(record.zone))
        before = f" (in place of {entry.replaces})" if entry.replaces else ""
        print(f"{entry.entry_id} {when:%d %H:%M} {entry.by}: {entry_words(entry)}{before}")
    return 0


def write_pages(options: argparse.Namespace) -> int:
    """Write a record's pages, layers and places."""
    from mapper.files.recordout import write_record
    from mapper.sheets.recordbook import print_record

    record = _read(options.record)
    for path in [*print_record(record, options.out, datetime.now(UTC)), *write_record(record, options.out)]:
        print(path)
    return 0


def season(options: argparse.Namespace) -> int:
    """Print a season's nights from a folder of records, and leave them as a spreadsheet and a report."""
    from mapper.files.farmtoml import read_farm
    from mapper.files.seasontable import write_season
    from mapper.record.season import burnt_parts, season_of
    from mapper.sheets.seasonpage import season_words

    farm, _ = read_farm(options.farm)
    records = _records(options.records)
    before = _records(options.last_season) if options.last_season is not None else []
    found = season_of(farm, records, before, options.cost_hour, options.cost_km)
    write_season(found, records, options.out)
    if options.report is not None:
        from mapper.sheets.recordbook import print_season

        print_season(found, farm, burnt_parts(records), datetime.now(UTC), options.report)
    for sentence in season_words(found):
        print(sentence)
    return 0


def _records(folder: Path) -> "list[NightRecord]":
    from mapper.files.record import records_in

    found = [_read(path) for path in records_in(folder)]
    if not found:
        raise SettingError("there are no records in it", str(folder), "`mapper record start` opens one")
    return found


def roll_over(options: argparse.Namespace) -> int:
    """Leave the farm as the next season finds it in a new project file; the old file stays as it is."""
    from mapper.commands import say
    from mapper.farm.errors import FileError
    from mapper.files.farmtoml import read_farm
    from mapper.files.project import save_project
    from mapper.plan.rows import rows_of_farm
    from mapper.record.nextseason import next_season

    if options.out.exists():
        raise FileError(
            "there is a file already, and a season is never written over", str(options.out), "Name a new one"
        )
    farm, reports = read_farm(options.farm)
    say(reports)
    windrows = rows_of_farm(farm, {}, lambda done, total: None, lambda: False)[0]
    save_project(next_season(farm, windrows, options.season), options.out)
    print(f"{options.out}: {len(farm.paddocks)} paddocks, {len(windrows)} rows kept as those of {options.season}.")
    return 0


def _read(path: Path) -> "NightRecord":
    import sys

    from mapper.files.record import read_record

    record, notes = read_record(path)
    for note in notes:
        print(note, file=sys.stderr)
    return record


def _add(
    options: argparse.Namespace,
    record: "NightRecord",
    kind: str,
    bodies: list[tuple[dict[str, Any], datetime | None]],
    replaces: str = "",
) -> int:
    from mapper.files.record import add_entries, new_entries

    made = new_entries(kind, options.by, datetime.now(UTC), bodies, replaces, record.entries)
    record.check(made)
    record.with_entries(made)
    add_entries(options.record, made)
    for entry in made:
        print(f"kept: {entry.entry_id}")
    return 0


def _at(options: argparse.Namespace, record: "NightRecord") -> datetime | None:
    """The --at of a command: a clock time of that night, or a full local time, or nothing said."""
    if not options.at:
        return None
    if (clock := record.moment_of(options.at)) is not None:
        return clock
    try:
        when = datetime.fromisoformat(options.at)
    except ValueError as exc:
        raise SettingError(f"{options.at!r} is not a time", "--at", "Write 20:41 or 2026-04-18T20:41") from exc
    return (when if when.tzinfo else when.replace(tzinfo=ZoneInfo(record.zone))).astimezone(UTC)


def _field(text: str) -> tuple[str, str]:
    key, mark, value = text.partition("=")
    if not mark or not key.strip():
        raise SettingError(f"{text!r} is no field", "record", "Write for example cause=ember")
    return key.strip(), value.strip()
