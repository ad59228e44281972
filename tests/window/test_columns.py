"""The dialog of a log's columns: shows what the readers see, keeps what was put right."""

from mapper.files.preview import look_at_log
from mapper.files.tracks import read_tracks
from mapper.window import columns as dialogs
from tests.farms import small_farm
from tests.files.drives import Style, drive, write


def _log(folder, d, name):
    t = d.table
    table = t.assign(Lat=t["lat"], Lon=t["lon"], velo=t["speed"], Flag=t["down"])[["Lat", "Lon", "velo", "Flag"]]
    return write(Style(name, (table.round(8).to_csv(index=False) + "x,y,z,w\n").encode(), frozenset()), folder)


def test_shown_put_right_and_kept_for_the_next_log(qtbot, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    d, farm = drive(), small_farm()
    path = _log(tmp_path, d, "one.csv")

    def put_right(dialog):
        shown = {name: (meaning, unit) for name, meaning, unit in dialog.rows}
        assert set(shown) == {"Lat", "Lon", "velo", "Flag"}
        meaning, unit = shown["velo"]
        meaning.setCurrentIndex(meaning.findData("speed"))
        unit.setCurrentIndex(unit.findData("m/s"))
        dialog.take()

    seen = dialogs.look_at_columns(str(path), farm.zone)(None, None)
    dialog = dialogs.ColumnsDialog(None, [str(path)], farm, seen)
    qtbot.addWidget(dialog)
    put_right(dialog)
    columns, _ = dialog.agreed
    assert columns.get("speed").column == "velo"
    two = _log(tmp_path, d, "two.csv")
    seen = look_at_log(two, remembered=tmp_path / "config" / "mapper" / "columns")
    assert seen.remembered and seen.columns.get("speed").unit == "m/s"
    assert any("without a position" in f for f in seen.faults())
    track, _ = read_tracks(two, d.grid, columns=columns)
    assert track["speed_m_s"].notna().all()
