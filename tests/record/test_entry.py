from datetime import datetime

import pytest

from mapper.farm.errors import SettingError
from mapper.record.entry import Entry, history, standing
from tests.record.nights import at, night, rows


def test_a_correction_keeps_what_stood_before():
    first, second = rows("a", [1], "burnt"), rows("b", [1], "missed", 5, replaces="a")
    assert standing([first, second]) == (second,)
    assert history([first, second], "b") == (second, first)


def test_a_withdrawn_entry_does_not_hold():
    gone = Entry("w", "withdrawn", "Crew 1", at(3), replaces="a")
    assert standing([rows("a", [1], "burnt"), gone]) == ()


def test_two_corrections_of_one_entry_both_stand():
    entries = [
        rows("a", [1], "burnt"),
        rows("b", [1], "missed", 1, replaces="a"),
        rows("c", [1], "late", 2, replaces="a"),
    ]
    assert [e.entry_id for e in standing(entries)] == ["b", "c"]


def test_entries_that_replace_each_other_in_a_ring_all_stand():
    ring = [rows("a", [1], "burnt", replaces="b"), rows("b", [1], "missed", replaces="a")]
    assert len(standing(ring)) == 2


@pytest.mark.parametrize(
    "broken",
    [
        {"kind": "rumour"},
        {"by": " "},
        {"body": {"numbers": [1]}},
        {"entry_id": ""},
        {"entered_at": datetime(2026, 4, 18, 8)},
        {"kind": "withdrawn"},
    ],
)
def test_an_entry_that_cannot_be_is_refused(broken):
    good = {
        "entry_id": "a",
        "kind": "rows",
        "by": "Crew 1",
        "entered_at": at(0),
        "body": {"numbers": [1], "state": "burnt"},
    }
    with pytest.raises(SettingError):
        Entry(**{**good, **broken})


def test_a_name_stands_for_one_entry_only():
    record = night(rows("a", [1], "burnt"))
    assert record.with_entries([rows("a", [1], "burnt")]) is not record
    with pytest.raises(SettingError, match="stands already"):
        record.with_entries([rows("a", [1], "missed")])
