"""The night's record on the command line, end to end."""

import pytest

from mapper.cli import main
from mapper.files.record import read_record, start_record
from tests.record.nights import night


@pytest.fixture
def record(tmp_path):
    return start_record(night(), tmp_path / "Gümüş nights")


def write(record, *words: str, by: str = "Ada", at: str = "20:10") -> int:
    what, *rest = words
    return main(["record", what, str(record), *rest, "--by", by, *(["--at", at] if at else [])])


def test_a_tally_becomes_entries(record, capsys):
    assert write(record, "rows", "1-40 done, 17 missed, 22 went out from 150 m, 31 left the row") == 0
    entries = read_record(record)[0].entries
    assert [e.body["state"] for e in entries] == ["burnt", "missed", "went out", "got away"]
    assert {e.at for e in entries} == {read_record(record)[0].moment(20, 10)}
    assert main(["record", "show", str(record)]) == 0
    shown = capsys.readouterr().out
    assert "Burnt: 37 rows: 1-16, 18-21, 23-30, 32-40." in shown
    assert "row 22, 150 to" in shown


def test_words_that_are_not_understood_change_nothing(record, capsys):
    before = record.read_bytes()
    assert write(record, "rows", "1-40 vanished") == 1
    assert "does not say what became of the rows" in capsys.readouterr().err
    assert record.read_bytes() == before


def test_a_reading_outside_a_limit_says_stop(record, capsys):
    assert write(record, "reading", "--temp", "18", "--humidity", "45", "--wind", "30") == 0
    assert "Stop and hold." in capsys.readouterr().out
    assert read_record(record)[0].entries[0].body["wind_km_h"] == 30


def test_an_escape_names_what_is_still_to_be_written(record, capsys):
    assert write(record, "escape", "E1", "cause=ember", "area_ha=0.2", at="20:41") == 0
    said = capsys.readouterr().out
    assert "E1: Out at is not written yet" in said
    assert "Cause" not in said


def test_a_correction_and_a_withdrawal_keep_the_old_words(record):
    write(record, "rows", "17 missed")
    (first,) = read_record(record)[0].entries
    assert main(["record", "correct", str(record), first.entry_id, "17 burnt", "--by", "Ben"]) == 0
    second = read_record(record)[0].entries[1]
    assert (second.replaces, second.by, second.at) == (first.entry_id, "Ben", first.at)
    assert main(["record", "correct", str(record), second.entry_id, "--by", "Ben"]) == 0
    assert len(read_record(record)[0].entries) == 3
    assert main(["record", "correct", str(record), "nobody", "--by", "Ben"]) == 1


def test_two_records_of_one_night_become_one(record, tmp_path, capsys):
    other = start_record(night(), tmp_path / "other")
    write(record, "rows", "3 burnt")
    write(other, "rows", "3 missed", by="Ben")
    assert main(["record", "merge", str(record), str(other)]) == 0
    assert "Row 3: Ada wrote burnt, Ben missed." in capsys.readouterr().out


def test_a_night_goes_on_past_midnight(record):
    write(record, "patrol", "no smoke", at="01:10")
    (entry,) = read_record(record)[0].entries
    assert entry.at > read_record(record)[0].moment(23, 59)


def test_weeds_and_probes_and_the_close(record, tmp_path):
    trace = tmp_path / "probe.csv"
    trace.write_text("degC\n" + "\n".join(["25"] * 3 + ["450"] * 60), encoding="utf-8")
    assert write(record, "heat", str(trace), "--step", "1", "--row", "3") == 0
    assert write(record, "count", "--burnt", "--plants", "2", "--area", "4", at="2026-08-01T10:00") == 0
    assert write(record, "count", "--not-burnt", "--plants", "30", "--area", "4", at="2026-08-01T10:10") == 0
    assert write(record, "close", at="23:30") == 0
    kept, notes = read_record(record)
    assert notes == ()
    assert kept.closed
    assert len(kept.entries[0].body["temp_c"]) == 63
