from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.record.look import look_here
from mapper.record.parts import alight, km_by_state, parts_of, row_parts, state_of_pieces
from mapper.record.progress import behind, blocks_as_burnt
from mapper.record.states import STATES
from tests.record.nights import at, night, rows

NIGHT = night()
LENGTH = float(NIGHT.pieces.set_index("order_no").geometry[2].length)


def test_later_words_lie_over_earlier_ones():
    entries = (rows("a", [2], "burnt"), rows("b", [2], "went out", 5, from_m=100, to_m=250))
    parts = parts_of(entries, 2, LENGTH)
    assert [(p.from_m, p.to_m, p.state) for p in parts] == [
        (0, 100, "burnt"),
        (100, 250, "went out"),
        (250, LENGTH, "burnt"),
    ]


spans = st.tuples(st.floats(0, 700), st.floats(0, 700), st.sampled_from(list(STATES)))


@given(st.lists(spans, max_size=12))
@settings(max_examples=60)
def test_parts_never_overlap_and_never_leave_the_row(said):
    entries = tuple(rows(str(k), [2], s, k, from_m=min(a, b), to_m=max(a, b)) for k, (a, b, s) in enumerate(said))
    parts = parts_of(entries, 2, LENGTH)
    ends = [(p.from_m, p.to_m) for p in parts]
    assert all(0 <= a < b <= LENGTH + 1e-9 for a, b in ends)
    assert all(b <= c + 1e-9 for (_, b), (c, _) in pairwise(ends))


def test_every_metre_of_row_is_in_one_part():
    record = night(rows("a", [1, 2, 3], "burnt"), rows("b", [2], "went out", 5, from_m=100, to_m=250))
    parts = row_parts(record)
    assert np.isclose(parts["length_m"].sum(), record.pieces.length.sum(), rtol=1e-6)
    assert np.allclose(parts.length, parts["length_m"], atol=1e-6)
    assert np.isclose(km_by_state(parts)["went out"], 0.15)
    states = state_of_pieces(parts)
    assert (states[1], states[2], states[4]) == ("burnt", "went out", "")


def test_what_is_alight_and_until_when():
    record = night(rows("a", [1, 2], "lit"), rows("b", [1], "burnt", 20))
    # The demo's rows: 100 m between points at 4 m/min, then 20 min: 32.5 min.
    now = alight(record, at(30))
    assert now.numbers == (2,)
    assert now.last_out == at(32.5)
    assert now.overdue == ()
    assert alight(record, at(40)).overdue == (2,)
    assert alight(record, at(-1)).numbers == ()


def test_places_to_look_at_are_worst_first_and_say_why():
    everything = list(NIGHT.numbers)
    record = night(
        rows("a", everything, "burnt"),
        rows("b", [5], "went out", 5, from_m=120, to_m=300),
        rows("c", [9], "missed", 6),
        rows("d", [11], "burnt", 600),
    )
    places = look_here(record)
    numbered = places[places["order_no"] > 0]
    assert list(zip(numbered["order_no"], numbered["reason"], strict=True)) == [
        (9, "Missed"),
        (5, "Went out"),
        (11, "Burnt late"),
    ]
    out = numbered.iloc[1]
    assert (out["from_m"], out["to_m"]) == (120, 300)
    # What the plan left unlit is looked at too, with the plan's own reason.
    left = places[places["order_no"] == 0]
    assert len(left) == int((record.pieces["order_no"] == 0).sum())


def test_rows_of_which_nothing_is_known_are_looked_at():
    assert set(look_here(NIGHT)["reason"]) >= {"Nothing written down"}


def test_blocks_as_burnt_stand_beside_the_plan():
    first = NIGHT.pieces.set_index("order_no")["lit_at"][1]
    record = night(rows("a", [1], "lit", when=(first + np.timedelta64(7, "m")).to_pydatetime()))
    line = blocks_as_burnt(record).iloc[0]
    assert line["block"] == "A"
    assert line["copied"] == 1
    assert (line["from"] - line["planned_from"]).total_seconds() == 420
    assert behind(record, at(10_000)).total_seconds() == 420
    assert behind(night(), at(0)) is None
