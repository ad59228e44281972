import os
import signal
import subprocess
import sys
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.errors import FileError
from mapper.files.record import add_entries, merge_into, new_entries, read_record, records_in, start_record
from tests.record.nights import at, night, rows


@pytest.fixture
def path(tmp_path):
    return start_record(night(rows("a", [1, 2], "burnt")), tmp_path / "Gümüş nights")


def test_a_record_comes_back_as_it_was_written(path):
    record, notes = read_record(path)
    there = night(rows("a", [1, 2], "burnt"))
    assert notes == ()
    assert record.entries == there.entries
    assert record.limits == there.limits
    assert record.window_end == there.window_end
    assert record.hours.equals(there.hours)
    assert record.pieces.geometry.geom_equals_exact(there.pieces.geometry, 0.001).all()
    assert record.pieces.drop(columns="geometry").equals(there.pieces.drop(columns="geometry"))
    assert records_in(path.parent) == (path,)


def test_a_record_is_never_written_over(path):
    with pytest.raises(FileError, match="have a record already"):
        start_record(night(), path.parent)


@given(cut=st.integers(1, 400))
@settings(max_examples=25, deadline=None)
def test_a_line_torn_by_a_flat_battery_is_all_that_is_lost(cut, tmp_path_factory):
    path = start_record(night(rows("a", [1, 2], "burnt")), tmp_path_factory.mktemp("night"))
    add_entries(path, [rows("b", [3], "missed", 5)])
    whole = path.read_bytes()
    last_line = len(whole) - whole[:-1].rindex(b"\n") - 1
    path.write_bytes(whole[: len(whole) - min(cut, last_line)])
    add_entries(path, [rows("c", [4], "missed", 6)])
    record, notes = read_record(path)
    kept = {e.entry_id for e in record.entries}
    # Cutting the line's end only takes nothing away.
    assert kept == ({"a", "b", "c"} if cut == 1 else {"a", "c"})
    assert len(notes) == (0 if cut in (1,) or cut >= last_line else 1)


def test_killed_while_entering_loses_at_most_the_line_being_typed(path, tmp_path):
    """A child writes entries as fast as it can and is killed; every entry it reported as kept is there."""
    told = tmp_path / "told.txt"
    child = (
        "import sys, pathlib\n"
        "from mapper.files.record import add_entries\n"
        "from tests.record.nights import rows\n"
        "told = open(sys.argv[2], 'w', buffering=1)\n"
        "for k in range(100000):\n"
        "    add_entries(pathlib.Path(sys.argv[1]), [rows(f'k{k}', [1], 'burnt', k)])\n"
        "    told.write(f'k{k}\\n')\n"
    )
    process = subprocess.Popen([sys.executable, "-c", child, str(path), str(told)])
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline and (not told.exists() or told.stat().st_size < 50):
        time.sleep(0.02)
    os.kill(process.pid, signal.SIGKILL)
    process.wait()
    said = told.read_text().split()
    record, notes = read_record(path)
    kept = {e.entry_id for e in record.entries}
    assert len(said) >= 5
    assert set(said[:-1]) <= kept
    assert len(notes) <= 1


def test_another_persons_record_is_added_and_theirs_left_alone(path, tmp_path):
    other = start_record(night(rows("z", [5], "missed", 9, by="Ben")), tmp_path / "other")
    before = other.read_bytes()
    merged, new = merge_into(path, other)
    assert new == 1
    assert merge_into(path, other)[1] == 0
    assert {e.entry_id for e in read_record(path)[0].entries} == {"a", "z"} == {e.entry_id for e in merged.entries}
    assert other.read_bytes() == before


def test_no_two_new_entries_share_a_name():
    made = new_entries("note", "Ada", at(0), [({"text": "x"}, None)] * 1000)
    assert len({e.entry_id for e in made}) == 1000
    assert [e.entered_at for e in made] == sorted({e.entered_at for e in made})


@pytest.mark.parametrize("content", [b"", b"{}", b"not json\n", b'{"mapper_record": 99}\n', b"\xff\xfe\x00"])
def test_what_is_no_record_is_refused_in_a_sentence(content, tmp_path):
    bad = tmp_path / "x.record.jsonl"
    bad.write_bytes(content)
    with pytest.raises(FileError):
        read_record(bad)


def test_lines_that_make_no_sense_are_left_out_and_said(path):
    with path.open("ab") as file:
        file.write(b'{"entry_id": "x", "kind": "rumour"}\nnull\n[]\n\0\0\0\n{"entry_id": "a"}\n')
    record, notes = read_record(path)
    assert [e.entry_id for e in record.entries] == ["a"]
    assert len(notes) == 4
