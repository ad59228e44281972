"""Two people's records of one night as one: nothing vanishes, and where they disagree both stand, shown."""

from collections import defaultdict
from dataclasses import dataclass

from mapper.farm.errors import SettingError
from mapper.record.entry import Entry, in_turn, standing
from mapper.record.night import NightRecord


@dataclass(frozen=True)
class Conflict:
    """Entries of different people that cannot both hold, and what they disagree about, in a sentence."""

    entry_ids: tuple[str, ...]
    text: str
    numbers: tuple[int, ...] = ()


def merge_records(one: NightRecord, other: NightRecord) -> NightRecord:
    """Return both records' entries as one record; the order of the two does not matter.

    Raises SettingError where they are of different nights, plans or rows, or where one name stands for two entries.
    """
    for what, a, b in (
        ("farms", one.farm, other.farm),
        ("nights", one.night, other.night),
        ("plans", one.plan_number, other.plan_number),
    ):
        if a != b:
            raise SettingError(f"the records are of different {what} ({a}, {b})", "record", "Open two of one night")
    mine, theirs = (dict(zip(r.pieces["piece_id"], r.pieces["order_no"], strict=True)) for r in (one, other))
    if mine != theirs:
        raise SettingError("the records number their rows differently", "record", "Open two of one printed plan")
    return one.with_entries(other.entries)


def conflicts(entries: tuple[Entry, ...]) -> tuple[Conflict, ...]:
    """Return where standing entries disagree: two corrections of one entry, or two people on one stretch of row.

    What one person wrote later on is no conflict: rows are lit before they are out.
    """
    return _two_corrections(entries) + _two_people(standing(entries))


def _two_corrections(entries: tuple[Entry, ...]) -> tuple[Conflict, ...]:
    by_old: dict[str, list[Entry]] = defaultdict(list)
    holding = {e.entry_id for e in standing(entries)}
    for entry in in_turn(entries):
        if entry.replaces and entry.entry_id in holding:
            by_old[entry.replaces].append(entry)
    return tuple(
        Conflict(
            tuple(e.entry_id for e in several),
            f"{' and '.join(dict.fromkeys(e.by for e in several))} corrected the same entry differently: both stand.",
        )
        for several in by_old.values()
        if len({(e.kind, repr(sorted(e.body.items())), e.at) for e in several}) > 1
    )


def _two_people(entries: tuple[Entry, ...]) -> tuple[Conflict, ...]:
    said: dict[int, list[Entry]] = defaultdict(list)
    for entry in entries:
        if entry.kind == "rows" and entry.body["state"] != "lit":
            for number in entry.body["numbers"]:
                said[number].append(entry)
    found: dict[tuple[str, ...], tuple[list[int], str]] = {}
    for number, several in sorted(said.items()):
        last: dict[str, Entry] = {e.by: e for e in several}  # each person's last word
        for a, b in ((a, b) for k, a in enumerate(last.values()) for b in list(last.values())[k + 1 :]):
            if a.body["state"] != b.body["state"] and _overlap(a, b):
                text = f"{a.by} wrote {a.body['state']}, {b.by} {b.body['state']}"
                found.setdefault((a.entry_id, b.entry_id), ([], text))[0].append(number)
    return tuple(
        Conflict(ids, f"Row{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}: {text}.", tuple(numbers))
        for ids, (numbers, text) in found.items()
    )


def _overlap(a: Entry, b: Entry) -> bool:
    (a_low, a_high), (b_low, b_high) = (
        (float(e.body.get("from_m") or 0.0), float("inf") if e.body.get("to_m") is None else float(e.body["to_m"]))
        for e in (a, b)
    )
    return max(a_low, b_low) < min(a_high, b_high)
