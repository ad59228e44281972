"""An invented night to record: the demo's plan, opened."""

from datetime import UTC, datetime, timedelta

from mapper.record.entry import Entry
from mapper.record.night import NightRecord, open_record
from tests.demo import demo_plan

STARTED = datetime(2026, 4, 18, 8, 30, tzinfo=UTC)


def at(minutes: float) -> datetime:
    return STARTED + timedelta(minutes=minutes)


def night(*entries: Entry) -> NightRecord:
    return open_record(demo_plan()).with_entries(entries)


def rows(name: str, numbers: list[int], state: str, minutes: float = 0, by: str = "Crew 1", **more) -> Entry:
    body = {"numbers": numbers, "state": state, **{k: more.pop(k) for k in ("from_m", "to_m") if k in more}}
    return Entry(name, "rows", by, at(minutes), more.pop("when", at(minutes)), body, **more)
