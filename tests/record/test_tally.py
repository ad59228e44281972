import pytest
from hypothesis import given
from hypothesis import strategies as st

from mapper.farm.errors import SettingError
from mapper.record.tally import Said, read_tally

KNOWN = range(1, 61)


def one(text: str, **more) -> Said:
    (said,) = read_tally(text, KNOWN, **more)
    return said


def test_a_tally_as_people_write_it():
    said = read_tally("1-40 done, 17 missed, 22 went out, 31 left the row", KNOWN)
    assert [(s.numbers, s.state) for s in said] == [
        (tuple(range(1, 41)), "burnt"),
        ((17,), "missed"),
        ((22,), "went out"),
        ((31,), "got away"),
    ]


@pytest.mark.parametrize(
    ("text", "numbers", "state"),
    [
        ("3, 5 and 7 missed", (3, 5, 7), "missed"),
        ("1,2,3 missed", (1, 2, 3), "missed"),
        ("rows 3 to 5: burnt", None, None),
        ("rows 3 to 5 burnt", (3, 4, 5), "burnt"),
        ("1–4 B", (1, 2, 3, 4), "burnt"),
        ("1-4 m", (1, 2, 3, 4), "missed"),
        ("12 Left on purpose", (12,), "left"),
        ("7 burnt out", (7,), "burnt"),
        ("missed 8 and 9", (8, 9), "missed"),
        ("all burnt", tuple(KNOWN), "burnt"),
    ],
)
def test_ways_of_writing_it(text, numbers, state):
    if numbers is None:
        with pytest.raises(SettingError, match="':' is not understood"):
            one(text)
        return
    said = one(text)
    assert (said.numbers, said.state) == (numbers, state)


def test_a_part_of_a_row_and_a_time():
    assert one("22 went out from 150 m") == Said((22,), "went out", 150.0, None)
    assert one("22 went out from 150 to 210 m") == Said((22,), "went out", 150.0, 210.0)
    assert one("22 burnt up to 90,5 m") == Said((22,), "burnt", None, 90.5)
    assert one("1-12 lit at 20:05") == Said(tuple(range(1, 13)), "lit", clock=(20, 5))


def test_blocks_and_the_rest():
    blocks = {"A": (1, 2, 3), "B": (4, 5)}
    assert one("block A and B done", blocks=blocks).numbers == (1, 2, 3, 4, 5)
    assert read_tally("1-58 done; rest missed", KNOWN)[1].numbers == (59, 60)
    assert one("rest missed", copied=range(1, 60)).numbers == (60,)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("93 missed", "there is no row 93"),
        ("40-1 done", "40 to 1 runs backwards"),
        ("12", "does not say what became"),
        ("17 vanished", "does not say what became"),
        ("missed", "no row number"),
        ("22 out", "does not say what became"),
        ("12 burnt quickly", "'quickly' is not understood"),
        ("22 went out from 200 to 100 m", "runs backwards"),
        ("22 burnt 1 to 40 m", "'m' is not understood"),
        ("", "nothing in the tally"),
        ("block Z done", "not understood"),
    ],
)
def test_what_is_not_understood_is_said_and_not_guessed(text, why):
    with pytest.raises(SettingError, match=why):
        read_tally(text, KNOWN)


@given(
    st.lists(st.tuples(st.integers(1, 60), st.sampled_from(["burnt", "missed", "went out", "got away"])), min_size=1)
)
def test_every_row_written_is_read(pairs):
    text = ", ".join(f"{number} {state}" for number, state in pairs)
    assert [(s.numbers, s.state) for s in read_tally(text, KNOWN)] == [((n,), state) for n, state in pairs]


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused_in_a_sentence(text):
    try:
        read_tally(text, KNOWN)
    except SettingError as error:
        assert str(error)
