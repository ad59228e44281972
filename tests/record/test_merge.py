import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.errors import SettingError
from mapper.record.entry import Entry
from mapper.record.merge import conflicts, merge_records
from tests.record.nights import night, rows

NIGHT = night()
NUMBERS = NIGHT.numbers


@st.composite
def books(draw, who: str):
    entries: list[Entry] = []
    for k in range(draw(st.integers(0, 6))):
        replaces = draw(st.sampled_from(["", *[e.entry_id for e in entries]]))
        numbers = draw(st.lists(st.sampled_from(NUMBERS[:8]), min_size=1, max_size=3, unique=True))
        state = draw(st.sampled_from(["burnt", "missed", "went out"]))
        entries.append(rows(f"{who}{k}", numbers, state, draw(st.integers(0, 90)), by=who, replaces=replaces))
    return tuple(entries)


@given(books("A"), books("B"), books("C"))
@settings(max_examples=40, deadline=None)
def test_order_does_not_matter_and_nothing_vanishes(a, b, c):
    a, b, c = (NIGHT.with_entries(entries) for entries in (a, b, c))
    left = merge_records(merge_records(a, b), c)
    right = merge_records(c, merge_records(b, a))
    assert left.entries == right.entries
    assert all(entry in left.entries for record in (a, b, c) for entry in record.entries)
    assert len(left.entries) == len(a.entries) + len(b.entries) + len(c.entries)
    assert merge_records(left, a).entries == left.entries
    assert conflicts(left.entries) == conflicts(right.entries)


def test_two_people_who_disagree_are_shown():
    both = merge_records(night(rows("a", [3, 4], "burnt", by="Ada")), night(rows("b", [4, 5], "missed", 5, by="Ben")))
    (conflict,) = conflicts(both.entries)
    assert conflict.numbers == (4,)
    assert conflict.text == "Row 4: Ada wrote burnt, Ben missed."


def test_parts_that_do_not_touch_are_no_conflict():
    entries = (rows("a", [4], "burnt", by="Ada", to_m=100), rows("b", [4], "missed", by="Ben", from_m=100))
    assert conflicts(entries) == ()


def test_one_person_may_change_their_mind():
    assert conflicts((rows("a", [4], "missed"), rows("b", [4], "burnt", 30))) == ()


def test_two_corrections_of_one_entry_are_shown():
    entries = (
        rows("a", [4], "burnt"),
        rows("b", [4], "missed", 5, by="Ada", replaces="a"),
        rows("c", [4], "late", 6, by="Ben", replaces="a"),
    )
    assert any("corrected the same entry differently" in c.text for c in conflicts(entries))


@pytest.mark.parametrize("change", [{"farm": "Other"}, {"plan_number": 2}])
def test_records_of_different_nights_are_not_merged(change):
    with pytest.raises(SettingError, match="different"):
        merge_records(NIGHT, dataclasses.replace(NIGHT, **change))
