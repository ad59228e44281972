"""Columns put right once hold for every log with the same columns, in the program and on the command line."""

from dataclasses import replace

import pytest

from mapper.cli import main
from mapper.files.columns import ColumnEntry, read_columns, write_columns
from mapper.files.preview import keep_columns, look_at_log
from mapper.files.remembered import recall
from mapper.files.tracks import guess_columns, read_tracks
from tests.files.drives import Style, drive, no_header, write


def _log(folder, d, name, order):
    t = d.table
    table = {"Lat": t["lat"], "Lon": t["lon"], "velo_raw": t["speed"], "Flag": t["down"]}
    text = t.assign(**table)[order].round(8).to_csv(index=False)
    return write(Style(name, text.encode(), frozenset()), folder)


ORDER = ["Lat", "Lon", "velo_raw", "Flag"]


def test_kept_for_the_same_columns_in_any_order_and_forgotten(tmp_path):
    d, folder = drive(), tmp_path / "kept"
    one = _log(tmp_path, d, "one.csv", ORDER)
    columns = guess_columns(one)
    assert columns.get("header_down") is None
    put_right = replace(
        columns,
        entries=(
            *(e for e in columns.entries if e.column not in ("velo_raw", "Flag")),
            ColumnEntry("speed", "velo_raw", "m/s"),
            ColumnEntry("header_down", "Flag", down=("1",)),
        ),
    )
    assert keep_columns(put_right, one, folder) is not None
    two = _log(tmp_path, d, "two.csv", ORDER[::-1])
    track, report = read_tracks(two, d.grid, remembered=folder)
    assert track["header_down"].tolist() == d.table["down"].tolist()
    assert track["speed_m_s"].to_numpy() == pytest.approx(d.table["speed"].to_numpy(), abs=1e-6)
    assert any("put right before" in n for n in report.notes)
    assert look_at_log(two, remembered=folder).remembered
    # Other columns: guessed as ever.
    other = _log(tmp_path, d, "other.csv", ORDER[:3])
    assert not look_at_log(other, remembered=folder).remembered
    for file in folder.iterdir():  # as the report says how
        file.unlink()
    assert recall(ORDER, folder) is None


def test_a_damaged_memory_is_no_memory(tmp_path):
    d, folder = drive(), tmp_path / "kept"
    log = _log(tmp_path, d, "one.csv", ORDER)
    keep_columns(guess_columns(log), log, folder).write_text("[speed\n")
    assert recall(ORDER, folder) is None
    assert len(read_tracks(log, d.grid, remembered=folder)[0]) == len(d.table)


def test_a_log_without_names_is_not_remembered(tmp_path):
    log = write(no_header(drive("de")), tmp_path)
    assert keep_columns(guess_columns(log), log, tmp_path / "kept") is None


def test_a_preview_shows_values_of_every_column_and_what_was_amiss(tmp_path):
    d = drive()
    log = _log(tmp_path, d, "one.csv", ORDER)
    log.write_text(log.read_text() + "x,y,z,w\n")
    seen = look_at_log(log)
    assert set(seen.names) == set(ORDER) == set(seen.samples)
    assert all(len(v) > 1 for v in seen.samples.values())
    assert seen.report is not None and any("without a position" in r for r in seen.report.repaired)
    assert seen.track is not None and len(seen.track) == len(d.table)
    assert set(seen.columns.unused) | {e.column for e in seen.columns.entries} == set(ORDER)


def test_the_command_line_keeps_what_it_was_told(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    d = drive()
    log, out = _log(tmp_path, d, "one.csv", ORDER), tmp_path / "columns.toml"
    assert main(["read", str(log), "--as", "log", "--columns-out", str(out)]) == 0
    columns = read_columns(out)
    write_columns(replace(columns, entries=(*columns.entries, ColumnEntry("header_down", "Flag", down=("1",)))), out)
    t = d.table
    lon, lat = d.grid.to_lonlat([t["x"].min() - 20, t["x"].max() + 20], [t["y"].min() - 20, t["y"].max() + 20])
    ring = [[lon[0], lat[0]], [lon[1], lat[0]], [lon[1], lat[1]], [lon[0], lat[1]], [lon[0], lat[0]]]
    edge = tmp_path / "edge.geojson"
    edge.write_text(
        '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"paddock":"Invented"},'
        f'"geometry":{{"type":"Polygon","coordinates":[{ring}]}}}}]}}'
    )
    words = ["rows", str(log), "--boundary", str(edge), "--header-width", "12", "--out", str(tmp_path / "rows.gpkg")]
    assert main([*words, "--columns", str(out)]) == 0
    capsys.readouterr()
    assert main(["read", str(log), "--as", "log"]) == 0
    said = capsys.readouterr().out
    assert "put right before" in said and "'Flag' taken as header down or up" in said
