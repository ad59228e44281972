"""The command line end to end, in this process, on small files made here."""

import csv
import json

import numpy as np
import pyogrio
import pytest

from mapper.cli import main
from mapper.farm.layers import LAYERS
from mapper.files.project import save_project
from tests.farms import EAST, GRID, NORTH, small_farm


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "Gümüş paddock"
    made.mkdir()
    return made


def _forecast(path, wind="8"):
    lines = ["time_utc,temp_C,rh_pct,wind_kmh,wind_dir_deg,gust_kmh,rain_mm,cloud_pct"]
    lines += [f"2026-04-{17 + h // 24}T{h % 24:02d}:00Z,20,45,{wind},315,12,0,60" for h in range(12, 60)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def _log(path):
    """A machine up and down the western paddock, 12 m apart, 2 m/s, header flag, degrees."""
    rows = ["Time,Latitude,Longitude,Speed (m/s),Header down,Yield (t/ha)"]
    t = 0
    for k in range(20):
        north = np.arange(0, 301, 2.0) if k % 2 == 0 else np.arange(300, -1, -2.0)
        x = EAST + 6 + 12 * k + (160 if k > 19 else 0)
        lon, lat = GRID.to_lonlat(np.full(len(north), x), NORTH + north)
        for a, b in zip(lon, lat, strict=True):
            clock = f"2025-12-01T{t // 3600:02d}:{t // 60 % 60:02d}:{t % 60:02d}Z"
            rows.append(f"{clock},{b:.8f},{a:.8f},2.0,1,2.5")
            t += 1
        t += 20
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def _one_sentence(capsys, code, *words):
    said = capsys.readouterr().err.strip().splitlines()[-1]
    assert code == 1
    assert said.startswith("mapper: ")
    assert "Traceback" not in said
    for word in words:
        assert word in said, said


def test_a_project_is_planned_printed_and_written(folder, capsys):
    save_project(small_farm(), folder / "farm.gpkg")
    out = folder / "out"
    code = main(
        [
            "plan",
            str(folder / "farm.gpkg"),
            "--night",
            "2026-04-18",
            "--out",
            str(out),
            "--save",
            str(folder / "again.gpkg"),
        ]
    )
    assert code == 0
    said = capsys.readouterr().out
    assert "NOT A GO" in said
    assert "Nobody has checked" in said
    names = {n for n, _ in pyogrio.list_layers(out / "plan.gpkg")}
    assert {"windrows", "pieces", "lighting_points", "edges", "breaks", "buffers", "ways_out", "hours"} <= names
    pieces = pyogrio.read_dataframe(out / "plan.gpkg", layer="pieces")
    assert set(LAYERS["pieces"].columns) <= set(pieces.columns)
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    assert summary["go"] is False
    assert len(summary["order"]) == (pieces["order_no"] > 0).sum() > 0
    assert sorted(p.suffix for p in out.iterdir()).count(".pdf") >= 3
    assert (folder / "again.gpkg").exists()


def test_hours_come_as_a_table_with_four_verdicts(folder, capsys):
    out = folder / "hours.csv"
    assert main(["hours", str(_forecast(folder / "f.csv")), "--at", "141.6,-36.2", "--out", str(out)]) == 0
    rows = list(csv.DictReader(out.open(encoding="utf-8")))
    assert len(rows) == 48
    for name in ("stay_in_row", "heat", "smoke", "local_rules"):
        assert {r[name] for r in rows} <= {"go", "caution", "no-go"}
        assert f"{name}_why" in rows[0]
    assert rows[0]["time_local"].endswith("+10:00")
    # Nobody was asked about bans: never a go.
    assert all(r["verdict"] != "go" for r in rows)


def test_a_western_longitude_is_no_option(folder):
    assert main(["hours", str(_forecast(folder / "f.csv")), "--at", "-98.5,38.2", "--out", str(folder / "h.csv")]) == 0


def test_rows_are_found_in_a_log(folder, capsys):
    boundary = folder / "boundary.geojson"
    small_farm().paddocks.to_crs("EPSG:4326").to_file(boundary, driver="GeoJSON")
    out = folder / "rows.gpkg"
    command = [
        "rows",
        str(_log(folder / "log.csv")),
        "--boundary",
        str(boundary),
        "--header-width",
        "12",
        "--out",
        str(out),
    ]
    assert main(command) == 0
    rows = pyogrio.read_dataframe(out, layer="windrows")
    assert len(rows) == 20
    assert {"row_id", "machine", "length_m", "load_kg_m"} <= set(rows.columns)
    assert rows["length_m"].sum() == pytest.approx(20 * 300, rel=0.1)
    # Each row lies where the machine drove.
    middle = rows.geometry.interpolate(0.5, normalized=True).x.sort_values().to_numpy()
    assert np.abs(middle - (EAST + 6 + 12 * np.arange(20))).max() < 0.3
    assert pyogrio.read_info(out, layer="heaps")["features"] >= 0


def test_ground_and_order_stand_alone(folder):
    farm = small_farm()
    farm.paddocks.to_file(folder / "b.gpkg", driver="GPKG")
    farm.breaks_there.to_file(folder / "breaks.gpkg", driver="GPKG")
    boundary, forecast = str(folder / "b.gpkg"), str(_forecast(folder / "f.csv"))
    log = str(_log(folder / "log.csv"))
    assert main(["rows", log, "--boundary", boundary, "--header-width", "12", "--out", str(folder / "rows.gpkg")]) == 0
    common = [
        "--boundary",
        boundary,
        "--forecast",
        forecast,
        "--breaks",
        str(folder / "breaks.gpkg"),
        "--night",
        "2026-04-18",
    ]
    assert main(["ground", *common, "--out", str(folder / "ground.gpkg")]) == 0
    edges = pyogrio.read_dataframe(folder / "ground.gpkg", layer="edges")
    assert {"chance_downwind", "reach_m", "breach"} <= set(edges.columns)
    assert main(["order", str(folder / "rows.gpkg"), *common, "--out", str(folder / "order.gpkg")]) == 0
    pieces = pyogrio.read_dataframe(folder / "order.gpkg", layer="pieces")
    assert pieces.loc[pieces["paddock"] == "West", "length_m"].sum() == pytest.approx(
        pyogrio.read_dataframe(folder / "rows.gpkg", layer="windrows")["length_m"].sum(), rel=0.01
    )


def test_what_a_file_holds_is_said_and_nothing_changed(folder, capsys):
    log = _log(folder / "log.csv")
    before = log.read_bytes()
    assert main(["read", str(log), "--as", "log", "--columns-out", str(folder / "columns.toml")]) == 0
    assert "fixes read" in capsys.readouterr().out
    assert log.read_bytes() == before
    assert (folder / "columns.toml").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["hours", "none.csv", "--at", "141,-36", "--out", "x.csv"], "none.csv"),
        (["hours", "none.csv", "--at", "somewhere", "--out", "x.csv"], "somewhere"),
        (["hours", "none.csv", "--at", "141,-36", "--ban", "none", "--out", "x.csv"], "ban"),
        (["plan", "none.toml", "--night", "2026-04-18", "--out", "x"], "none.toml"),
        (["rows", "none.csv", "--boundary", "none.shp", "--header-width", "12", "--out", "x.gpkg"], "none.shp"),
        (["neverland"], "neverland"),
    ],
)
def test_what_is_wrong_is_one_sentence(folder, capsys, monkeypatch, words, said):
    monkeypatch.chdir(folder)
    (folder / "none.csv").unlink(missing_ok=True)
    if words[0] == "hours" and said == "ban":
        _forecast(folder / "none.csv")
    _one_sentence(capsys, main(words), said)
    assert not (folder / "x").exists()
    assert not list(folder.glob("x.*"))


def test_words_that_are_off_end_in_two(capsys):
    with pytest.raises(SystemExit) as stopped:
        main(["plan", "farm.toml", "--night", "Saturday", "--out", "x"])
    assert stopped.value.code == 2
    assert "write 2026-04-18" in capsys.readouterr().err
