"""The night's record on the command line, end to end."""

import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date

import pyogrio
import pytest
from pyogrio import read_dataframe
from pypdf import PdfReader

from mapper.cli import main
from mapper.farm.wording import Wording
from mapper.files.project import save_project
from mapper.files.record import read_record, start_record
from mapper.record.night import open_record
from tests.demo import demo_farm, demo_plan
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


def test_the_pages_the_layers_and_the_places_of_a_night(record, tmp_path, capsys):
    write(record, "rows", "1-40 done, 17 missed, 22 went out from 150 m")
    write(record, "escape", "E1", "cause=ember", "area_ha=0.2", at="20:41")
    write(record, "reading", "--temp", "18", "--humidity", "45", "--wind", "12")
    out = tmp_path / "Gümüş pages"
    assert main(["record", "pages", str(record), "--out", str(out)]) == 0
    names = sorted(p.name for p in out.iterdir())
    assert [n for n in names if n.endswith(".pdf")] == [
        "2026-04-18_after-burn_record.pdf", "2026-04-18_escape_E1.pdf", "2026-04-18_look_here.pdf",
    ]  # fmt: skip
    (gpkg,), (gpx,) = ([out / n for n in names if n.endswith(e)] for e in (".gpkg", ".gpx"))
    layers = {name for name, _ in pyogrio.list_layers(gpkg)}
    assert {"row_parts", "look_here", "readings", "entries"} <= layers
    places = read_dataframe(gpkg, layer="look_here")
    waypoints = ET.parse(gpx).getroot().findall("{*}wpt")
    assert len(waypoints) == len(places)
    missed = next(w for w in waypoints if "row 17," in w.find("{*}desc").text)
    begins = places.to_crs("EPSG:4326").set_index("place").geometry[missed.find("{*}name").text].coords[0]
    assert (float(missed.get("lon")), float(missed.get("lat"))) == pytest.approx(begins[:2], abs=1e-6)
    author = PdfReader(out / "2026-04-18_after-burn_record.pdf").metadata.author
    assert author


def test_a_table_of_counts_says_whether_it_worked(record, tmp_path, capsys):
    table = tmp_path / "counts.csv"
    lines = "burnt;plants;length_m;width_m;row;weed\nyes;1;50;0,6;3;ryegrass\nno;40;50;0,6;;ryegrass\n"
    table.write_text(lines, encoding="utf-8")
    assert write(record, "counts", str(table), at="") == 0
    counts = read_record(record)[0].entries
    assert [(e.body["burnt"], e.body["plants"], e.body["area_m2"]) for e in counts] == [(True, 1, 30), (False, 40, 30)]
    table.write_text("burnt,plants,area_m2\nperhaps,3,1\n", encoding="utf-8")
    assert write(record, "counts", str(table), at="") == 1
    assert "does not say whether the place burnt" in capsys.readouterr().err
    assert len(read_record(record)[0].entries) == 2


def test_a_season_in_sentences_as_a_spreadsheet_and_on_paper(record, tmp_path, capsys):
    write(record, "rows", "all done", at="20:10")
    farm = tmp_path / "farm.gpkg"
    save_project(demo_farm(), farm)
    last = start_record(replace(night(), night=date(2025, 4, 18)), tmp_path / "last")
    write(last, "rows", "1-30 done")
    words = ["season", str(farm), str(record.parent), "--last-season", str(last.parent), "--cost-hour", "50"]
    sheet, paper = tmp_path / "season.xlsx", tmp_path / "season.pdf"
    assert main([*words, "--out", str(sheet), "--report", str(paper)]) == 0
    said = capsys.readouterr().out
    assert "lies on strips burnt last season too" in said
    assert "covered" in said or "type in its stubble" in said
    front = " ".join(PdfReader(paper).pages[0].extract_text().split())
    assert sheet.exists() and "Season 2025/26" in front


def test_a_meters_log_becomes_readings(record, tmp_path, capsys):
    log = tmp_path / "meter.csv"
    log.write_text(
        "time,temperature (C),humidity (%),wind (km/h),gust (km/h)\n2026-04-18 20:00,18,45,12,16\n"
        "2026-04-18 20:30,17,50,34,44\n2026-04-18 21:00,,,9,\n", encoding="utf-8",
    )  # fmt: skip
    assert write(record, "meter", str(log), at="") == 0
    kept = read_record(record)[0]
    assert [e.body["wind_km_h"] for e in kept.entries] == [12, 34]
    assert kept.entries[1].at == kept.moment(20, 30)
    said = capsys.readouterr().out
    assert "20:30 Wind" in said and "Stop and hold" in said and "1 lines without" in said


def test_the_farms_own_list_of_what_is_asked_of_an_escape(tmp_path, capsys):
    own = Wording("escape_asks", ("Where", "Out at", "Permit number"), "Shire of Example (invented)", "2026-02-01")
    plan = demo_plan()
    made = open_record(replace(plan, farm=plan.farm.with_(wording={"escape_asks": own})))
    path = start_record(made, tmp_path)
    assert write(path, "escape", "E1", "place=south edge", at="20:41") == 0
    said = capsys.readouterr().out
    assert "E1: Out at is not written yet" in said and "E1: Permit number is not written yet (Shire of" in said
    assert "Cause" not in said
    assert write(path, "escape", "E2", "permit_number=7", "out_at=20:55", "place=gate", at="20:50") == 0
    assert "is not written yet" not in capsys.readouterr().out
    assert [f.label for f in read_record(path)[0].escape_fields] == ["Where", "Out at", "Permit number"]


def test_the_pages_are_written_where_no_window_is(record, tmp_path):
    """In a process of its own: whoever paints text before Qt is started is killed by it."""
    write(record, "rows", "1-40 done, 17 missed")
    out = tmp_path / "out"
    words = [sys.executable, "-m", "mapper", "record", "pages", str(record), "--out", str(out)]
    subprocess.run(words, check=True, capture_output=True)
    assert len(list(out.glob("*.pdf"))) == 2


def test_a_part_beyond_the_rows_end_is_refused_and_changes_nothing(record, capsys):
    before = record.read_bytes()
    assert write(record, "rows", "22 went out from 5000 m") == 1
    assert "row 22 is 808 m long, and the part begins at 5000 m" in capsys.readouterr().err
    assert record.read_bytes() == before


def test_paddocks_that_are_not_burnt_that_night_are_not_on_its_record():
    both = demo_plan(("Bottom Dam", "Hut"))
    record = open_record(replace(both, paddocks=("Hut",)))
    assert set(record.pieces["paddock"]) == set(record.land["paddock"]) == {"Hut"}


def test_a_burn_with_rows_alight_is_not_closed(record, capsys):
    write(record, "rows", "1-40 done, 3 lit")
    assert write(record, "close", at="23:30") == 1
    assert "row 3 is still written as alight" in capsys.readouterr().err
    write(record, "rows", "3 burnt", at="23:40")
    assert write(record, "close", at="23:45") == 0
    assert read_record(record)[0].closed
