import hashlib
import signal
import sqlite3
import subprocess
import sys
import time
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pyogrio
import pytest

from mapper.farm.errors import FileError
from mapper.farm.farm import OPTIONAL_LAYERS
from mapper.farm.layers import LAYERS
from mapper.farm.tracks import TRACK_COLUMNS, check_track
from mapper.files.atomic import unfinished
from mapper.files.project import FARM_LAYERS, VERSION, is_project, open_project, read_nights, save_project
from mapper.hours.verdict import BanCheck
from mapper.order.wishes import Earlier, FixedStart, LostCrew, Wishes
from mapper.plan.asked import Asked
from mapper.plan.job import run
from mapper.plan.request import NightRequest
from mapper.weather.windchange import WindChange
from tests.farms import EAST, MADE_AT, NORTH, small_farm


def _track(n: int = 70_000) -> pd.DataFrame:
    rng = np.random.default_rng(5)
    track = pd.DataFrame({c: np.zeros(n, dtype=d) for c, d in TRACK_COLUMNS.items() if c != "machine"})
    track["x"], track["y"] = EAST + rng.normal(0, 100, n), NORTH + rng.normal(0, 100, n)
    track["t_s"] = np.where(rng.random(n) < 0.1, np.nan, np.arange(n))
    track["machine"] = pd.Series(np.where(np.arange(n) % 3 == 0, "Mähdrescher 1", "2"), dtype=object)
    return check_track(track[list(TRACK_COLUMNS)])


@pytest.fixture
def path(tmp_path):
    return tmp_path / "Gümüş paddock" / "farm.gpkg"


def test_a_farm_comes_back_as_it_was(path):
    farm = small_farm(tracks={"log 1": _track(), "log 2": _track(3)})
    save_project(farm, path)
    back, report = open_project(path)
    assert report.notes == ()
    for name in FARM_LAYERS:
        a, b = getattr(farm, name), getattr(back, name)
        assert a.drop(columns="geometry").equals(b.drop(columns="geometry"))
        assert a.geometry.geom_equals_exact(b.geometry, 0).all()
    for name, track in farm.tracks.items():
        pd.testing.assert_frame_equal(back.tracks[name], track)
    pd.testing.assert_frame_equal(back.forecast, farm.forecast)
    same = ("name", "zone", "limits", "harvesters", "crews", "row_burn", "in_charge", "phone", "invented", "grid")
    for field in same:
        assert getattr(back, field) == getattr(farm, field), field


def test_opening_changes_nothing_and_any_gis_sees_the_layers(path):
    farm = small_farm()
    plan, _ = run(farm, NightRequest(date(2026, 4, 18), MADE_AT))
    save_project(farm, path, plan)
    before = hashlib.md5(path.read_bytes()).hexdigest()
    path.chmod(0o444)
    path.parent.chmod(0o555)
    open_project(path)
    path.parent.chmod(0o755)
    assert hashlib.md5(path.read_bytes()).hexdigest() == before
    assert [p.name for p in path.parent.iterdir()] == ["farm.gpkg"]
    names = [n for n, _ in pyogrio.list_layers(path)]
    assert {*FARM_LAYERS, "plan_pieces", "plan_windrows"} <= set(names)
    assert list(pyogrio.read_dataframe(path, layer="plan_pieces")["order_no"]) == list(plan.pieces["order_no"])
    with sqlite3.connect(path) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert db.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_one_save_before_is_kept(path):
    save_project(small_farm(name="First (invented)"), path)
    save_project(small_farm(name="Second (invented)"), path)
    assert open_project(path)[0].name == "Second (invented)"
    older = path.with_name("older.gpkg")
    path.with_name("farm.gpkg.bak").rename(older)
    assert open_project(older)[0].name == "First (invented)"


def test_a_newer_file_is_refused_and_left_alone(path):
    save_project(small_farm(), path)
    with sqlite3.connect(path) as db:
        db.execute("UPDATE mapper_version SET version = ?", (VERSION + 1,))
    before = path.read_bytes()
    with pytest.raises(FileError, match="newer version"):
        open_project(path)
    assert path.read_bytes() == before


def test_what_is_no_project_is_said(path, tmp_path):
    path.parent.mkdir()
    small_farm().paddocks.to_file(path, driver="GPKG")
    with pytest.raises(FileError, match="no project of this program"):
        open_project(path)
    assert not is_project(path)
    text = tmp_path / "text.gpkg"
    text.write_text("not a database at all, but longer than a header of sixteen bytes" * 9)
    with pytest.raises(FileError, match="damaged"):
        open_project(text)
    with pytest.raises(FileError, match="no such file"):
        open_project(tmp_path / "none.gpkg")


def test_half_a_file_is_said_with_what_to_do(path):
    save_project(small_farm(tracks={"a": _track(5000)}), path)
    save_project(small_farm(tracks={"a": _track(5000)}), path)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(FileError, match=r"farm\.gpkg\.bak"):
        open_project(path)


def test_killed_while_saving_the_old_farm_is_there(path, tmp_path):
    save_project(small_farm(name="Kept (invented)"), path)
    program = tmp_path / "saves.py"
    program.write_text(
        "import sys\nfrom pathlib import Path\nfrom mapper.files.project import save_project\n"
        "from tests.farms import small_farm\nfrom tests.files.test_project import _track\n"
        "farm = small_farm(name='New (invented)', tracks={'a': _track(400_000)})\nprint('ready', flush=True)\n"
        "while True:\n    save_project(farm, Path(sys.argv[1]))\n"
    )
    root = str(Path(__file__).parents[2])
    half = unfinished(path)
    for moment in (0.0, 0.05, 0.15):
        child = subprocess.Popen(
            [sys.executable, str(program), str(path)], stdout=subprocess.PIPE, cwd=root, env={"PYTHONPATH": root}
        )
        assert child.stdout.readline()
        wait_until = time.monotonic() + 20
        while not half.exists() and time.monotonic() < wait_until:
            time.sleep(0.001)
        time.sleep(moment)
        child.send_signal(signal.SIGKILL)
        child.wait()
        farm, report = open_project(path)
        assert farm.name in ("Kept (invented)", "New (invented)")
        if half.exists():
            assert any("cut short" in n for n in report.notes)
    save_project(small_farm(), path)
    assert not half.exists()
    assert open_project(path)[1].notes == ()


def test_every_farm_layer_is_kept():
    assert {k for k in LAYERS if hasattr(small_farm(), k)} == {*FARM_LAYERS, *OPTIONAL_LAYERS}


def test_what_the_hand_did_to_rows_comes_back(path):
    from shapely.geometry import LineString

    from mapper.farm.layers import make_layer
    from mapper.farm.rowedit import RowEdit

    farm = small_farm()
    line = LineString([(EAST, NORTH), (EAST + 30, NORTH + 200)])
    seen = make_layer("rows_seen", {"paddock": ["North"], "note": ["walked"]}, [line], farm.grid.crs)
    before = make_layer("rows_before", {"paddock": ["North"], "season": ["2025"]}, [line], farm.grid.crs)
    farm = farm.with_(row_edits=(RowEdit("delete", "North", was=line),), rows_seen=seen, rows_before=before)
    save_project(farm, path)
    back, _ = open_project(path)
    assert back.row_edits == farm.row_edits
    for name in ("rows_seen", "rows_before"):
        assert getattr(back, name).geometry.geom_equals_exact(getattr(farm, name).geometry, 1e-6).all()
        assert back.with_().rows_seen["note"].iloc[0] == "walked"


def test_what_was_asked_of_nights_is_kept(tmp_path):
    at = datetime(2026, 4, 18, 10, 30, tzinfo=UTC)
    lost = (LostCrew("1"), LostCrew("2", at))
    wishes = Wishes((Earlier(("a",), ("b", "c")),), ("r9",), (FixedStart(("a",), at),), lost)
    change, ban = WindChange(at, 315.0, 225.0, 11.0, 20.0), BanCheck("none", at, "manager")
    asked = Asked(date(2026, 4, 18), ("West",), ban, (change,), wishes)
    path = tmp_path / "farm.gpkg"
    save_project(small_farm(), path, nights=[asked, Asked(date(2026, 4, 19))])
    assert read_nights(path) == (asked, Asked(date(2026, 4, 19)))
    save_project(small_farm(), path)
    assert read_nights(path) == ()
