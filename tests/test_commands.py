"""The command line end to end, in this process, on small invented files made here: exit codes, sentences, outputs."""

import json

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import shapely

from mapper.cli import main
from mapper.files.limits import write_limits
from tests.farms import EAST, GRID, NORTH, box, evening_forecast, limits

NIGHT = ["--night", "2026-04-18"]
BAN = ["--ban", "none", "--ban-checked", "2026-04-18T10:00", "--ban-by", "Adviser"]
FARM = """
name = "Test farm (invented)"
invented = true
zone = "Australia/Melbourne"
boundaries = "paddocks.geojson"
breaks = "breaks.gpkg"
assets = "assets.gpkg"
forecast = "forecast.csv"
limits = "limits.toml"
[[crews]]
crew = "Crew 1"
people = 4
units = 2
water_l = 3000
"""


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """Files of a farm of one paddock, a log of its harvest among them."""
    home = tmp_path_factory.mktemp("Gümüş paddock")
    hill = box(0, 0, 300, 240)
    ways = {"crop": "wheat", "yield_t_ha": 2.5, "header_width_m": 12.0, "row_heading_deg": 0.0, "headland_laps": 1}
    paddocks = gpd.GeoDataFrame([{"Field Name": "Hill", **ways}], geometry=[hill], crs=GRID.crs)
    paddocks.to_crs(4326).to_file(home / "paddocks.geojson")
    far = gpd.GeoDataFrame({"paddock": ["Far"]}, geometry=[box(9000, 0, 300, 240)], crs=GRID.crs)
    far.to_crs(4326).to_file(home / "far.geojson")
    ring = shapely.LineString(hill.buffer(6, join_style="mitre").exterior.coords)
    gpd.GeoDataFrame({"width_m": [12.0]}, geometry=[ring], crs=GRID.crs).to_file(home / "breaks.gpkg")
    gate, road = shapely.Point(EAST, NORTH + 120), shapely.LineString([(EAST - 60, NORTH), (EAST - 60, NORTH + 240)])
    things = gpd.GeoDataFrame({"kind": ["gate", "road"], "name": ["G1", "Tank Road"]}, geometry=[gate, road])
    things.set_crs(GRID.crs).to_file(home / "assets.gpkg")
    evening_forecast().assign(time_utc=lambda t: t["time_utc"].map(pd.Timestamp.isoformat)).to_csv(
        home / "forecast.csv", index=False
    )
    write_limits(limits(), home / "limits.toml")
    (home / "farm.toml").write_text(FARM, encoding="utf-8")
    _log().to_csv(home / "log.csv", index=False)
    return home


def _log():
    """A harvester that goes up and down the paddock at 2 m/s, 12 m apart, header down inside."""
    x, y, down = [], [], []
    for k in range(25):
        north = np.arange(-20.0, 260.0, 2.0)
        y += list(north if k % 2 == 0 else north[::-1])
        x += [EAST + 6.0 + 12.0 * k] * len(north)
        down += list(((north > 0) & (north < 240)).astype(int))
    lon, lat = GRID.to_lonlat(np.array(x), NORTH + np.array(y))
    times = pd.date_range("2025-12-01T00:00:00Z", periods=len(x), freq="s").map(pd.Timestamp.isoformat)
    return pd.DataFrame(
        {"time": times, "lon": lon, "lat": lat, "speed (m/s)": 2.0, "header down": down, "yield (t/ha)": 2.5}
    )


@pytest.fixture(scope="module")
def planned(home):
    """The folder of a plan, and the project kept with it."""
    out = home / "out"
    words = ["plan", str(home / "farm.toml"), *NIGHT, *BAN, "--out", str(out), "--save", str(home / "farm.gpkg")]
    assert main(words) == 0
    return out


def test_a_plan_leaves_what_the_readme_says(planned):
    names = {p.name for p in planned.iterdir()}
    assert names == {
        "plan.gpkg", "summary.json", "order.csv", "order.gpx", "order.geojson", "order.kml",
        "2026-04-18_burn-order_Hill_A4.pdf",
        "2026-04-18_buffer-map_A4.pdf", "2026-04-18_plan-book.pdf", "2026-04-18_cover-list.pdf",
    }  # fmt: skip
    layers = {n for n, _ in pyogrio.list_layers(planned / "plan.gpkg")}
    assert layers >= {
        "windrows", "pieces", "lighting_points", "edges", "breaks", "buffers", "ways_out", "hours",
    }  # fmt: skip
    pieces = pyogrio.read_dataframe(planned / "plan.gpkg", layer="pieces")
    rows = pyogrio.read_dataframe(planned / "plan.gpkg", layer="windrows").set_index("row_id")["length_m"]
    lit = pieces[pieces["order_no"] > 0].sort_values("order_no")
    assert len(lit) > 10
    assert lit["order_no"].tolist() == list(range(1, len(lit) + 1))
    assert lit["lit_at"].is_monotonic_increasing
    assert np.allclose(pieces.groupby("row_id")["length_m"].sum().reindex(rows.index), rows, atol=0.5)
    summary = json.loads((planned / "summary.json").read_text(encoding="utf-8"), parse_constant=pytest.fail)
    assert len(summary["order"]) == len(lit)
    opens = [(pd.Timestamp(w["starts_at"]), pd.Timestamp(w["last_light_at"])) for w in summary["windows"]]
    assert all(any(a <= t <= b for a, b in opens) for t in lit["lit_at"])


def test_the_project_plans_the_same_night(home, planned, tmp_path):
    assert main(["plan", str(home / "farm.gpkg"), *NIGHT, *BAN, "--out", str(tmp_path)]) == 0
    assert (tmp_path / "order.csv").read_bytes() == (planned / "order.csv").read_bytes()


def test_sheets_of_an_earlier_plan_are_pointed_out(home, tmp_path, capsys):
    (tmp_path / "burn-order_Old_A4.pdf").write_bytes(b"%PDF")
    assert main(["sheets", str(home / "farm.toml"), *NIGHT, *BAN, "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "Not of this plan, left in the folder: burn-order_Old_A4.pdf" in said
    assert not (tmp_path / "plan.gpkg").exists()


def test_each_thing_against_is_said_once(home, tmp_path, capsys):
    bare = home / "bare.toml"
    bare.write_text(FARM.replace('breaks = "breaks.gpkg"\n', ""), encoding="utf-8")
    assert main(["plan", str(bare), *NIGHT, "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "NOT A GO" in said
    assert "Nobody has checked" in said
    assert said.count("no break along") == said.count("  - Hill: ") - said.count("No way out")
    # Where an escape would press hardest is another matter, and is said below; what stands against is not said again.
    against = [line.strip().removeprefix("- ") for line in said.splitlines() if line.startswith("  - ")]
    assert against
    assert all(said.count(sentence.split(": ", 1)[-1]) == 1 for sentence in against)


def test_rows_from_a_log_go_on_to_an_order(home, tmp_path, capsys):
    rows, order = tmp_path / "rows.gpkg", tmp_path / "order.gpkg"
    boundary = ["--boundary", str(home / "paddocks.geojson")]
    assert main(["rows", str(home / "log.csv"), *boundary, "--header-width", "12", "--out", str(rows)]) == 0
    windrows = pyogrio.read_dataframe(rows, layer="windrows")
    assert {n for n, _ in pyogrio.list_layers(rows)} == {"windrows", "heaps"}
    assert {"row_id", "machine", "length_m", "load_kg_m"} <= set(windrows.columns)
    # 25 passes of 240 m; straw cut last falls beyond the boundary, 12 s at 2 m/s less the chute's 4 m behind.
    assert windrows["length_m"].sum() == pytest.approx(25 * (240 - 20), rel=0.03)
    own = ["rows", str(home / "log.csv"), *boundary, "--header-width", "12", "--chute-behind", "H9=5"]
    assert main([*own, "--out", str(tmp_path / "never.gpkg")]) == 1
    assert "no machine H9" in capsys.readouterr().err
    files = [*boundary, "--forecast", str(home / "forecast.csv"), "--limits", str(home / "limits.toml")]
    files += ["--breaks", str(home / "breaks.gpkg"), "--assets", str(home / "assets.gpkg")]
    assert main(["order", str(rows), *files, *NIGHT, *BAN, "--out", str(order)]) == 0
    pieces = pyogrio.read_dataframe(order, layer="pieces")
    assert set(pieces["row_id"]) == set(windrows["row_id"])
    assert (pieces["order_no"] > 0).any()
    files[1] = str(home / "far.geojson")
    assert main(["order", str(rows), *files, *NIGHT, "--out", str(tmp_path / "never.gpkg")]) == 1
    assert "rows lie in Hill" in capsys.readouterr().err
    assert main(["ground", *files, *NIGHT, "--out", str(tmp_path / "ground.gpkg")]) == 0
    assert {n for n, _ in pyogrio.list_layers(tmp_path / "ground.gpkg")} == {"edges", "breaks", "buffers"}
    assert "edges" in capsys.readouterr().out


def test_hours_are_in_local_time_and_unknown_is_no_go(home, tmp_path):
    out = tmp_path / "hours.csv"
    words = ["hours", str(home / "forecast.csv"), "--at", "142.2,-36.2", "--limits", str(home / "limits.toml")]
    assert main([*words, "--out", str(out)]) == 0
    hours = pd.read_csv(out)
    for part in ("stay_in_row", "heat", "smoke", "local_rules"):
        assert {part, f"{part}_why"} <= set(hours.columns)
    assert {"time_utc", "time_local", "temp_c", "gfdi_mk4", "verdict"} <= set(hours.columns)
    # Melbourne is ten hours ahead in April, after daylight saving.
    assert hours["time_local"].iloc[0] == "2026-04-17T22:00:00+10:00"
    # Nobody gave a ban check.
    assert not (hours["verdict"] == "go").any()


def test_read_says_what_files_hold_and_a_western_longitude_is_no_option(home, capsys):
    assert main(["read", str(home / "paddocks.geojson"), str(home / "paddocks.geojson")]) == 0
    assert main(["read", "--as", "log", str(home / "log.csv")]) == 0
    assert main(["read", "--as", "forecast", "--at", "-101.5,40", str(home / "forecast.csv")]) == 0
    said = capsys.readouterr().out
    assert said.count("1 paddocks read") == 2
    assert "48 hours read" in said


def _wrong(home):
    """Words of a command and what must stand in its sentence, by name."""
    (home / "empty.csv").write_text("")
    (home / "half.geojson").write_text((home / "paddocks.geojson").read_text()[:120])
    (home / "typo.toml").write_text((home / "limits.toml").read_text().replace("[wind_max]", "[wind_maks]"))
    (home / "file").write_text("")
    plan = ["plan", str(home / "farm.toml"), *NIGHT]
    rows = ["rows", str(home / "log.csv"), "--header-width", "12", "--out", str(home / "never.gpkg")]
    hours = ["hours", str(home / "forecast.csv"), "--out", str(home / "never.csv")]

    def farm(old, new):
        path = home / f"wrong_{len(list(home.iterdir()))}.toml"
        path.write_text(FARM.replace(old, new), encoding="utf-8")
        return ["plan", str(path), *NIGHT, "--out", str(home / "never")]

    return {
        "no farm": (["plan", str(home / "none.toml"), *NIGHT, "--out", str(home / "never")], "none.toml"),
        "no boundary file": (farm("paddocks.geojson", "none.geojson"), "none.geojson"),
        "half a file": (farm("paddocks.geojson", "half.geojson"), "half.geojson"),
        "an empty forecast": (farm("forecast.csv", "empty.csv"), "empty.csv"),
        "a limit misspelt": (farm("limits.toml", "typo.toml"), "wind_maks"),
        "no such zone": (farm("Australia/Melbourne", "Mars/Base"), "Mars/Base"),
        "no paddocks": (farm('boundaries = "paddocks.geojson"', 'crs = "EPSG:7854"'), "no paddocks"),
        "half a farm.toml": (farm("[[crews]]", "[[crews"), "TOML"),
        "no such paddock": ([*plan, "--paddock", "Nowhere", "--out", str(home / "never")], "Nowhere"),
        "a ban check without time": ([*plan, "--ban", "none", "--out", str(home / "never")], "--ban-checked"),
        "a ban check at no time": ([*plan, *BAN[:3], "noon", "--out", str(home / "never")], "'noon'"),
        "a file for a folder": ([*plan, "--out", str(home / "file")], "file"),
        "a folder in a file": ([*plan, "--out", str(home / "file" / "out")], "may write to"),
        "a project of no kind": ([*plan, "--out", str(home / "never"), "--save", str(home / "farm.txt")], ".gpkg"),
        "an impossible header": ([*rows[:3], "900", *rows[4:], "--boundary", str(home / "paddocks.geojson")], "900"),
        "a boundary elsewhere": ([*rows, "--boundary", str(home / "far.geojson")], "no paddock holds fixes"),
        "no position": ([*hours, "--at", "here"], "'here'"),
        "no place on Earth": ([*hours, "--at", "10,95"], "no place on Earth"),
    }


def test_what_is_wrong_is_said_in_one_sentence_and_nothing_is_left(home, capsys):
    for name, (words, said) in _wrong(home).items():
        capsys.readouterr()
        before = {p.name for p in home.iterdir()}
        assert main(words) == 1, name
        lines = capsys.readouterr().err.splitlines()
        (sentence,) = [line for line in lines if line.startswith("mapper: ")]
        assert said in sentence, name
        assert lines[-1] == sentence, name
        assert {p.name for p in home.iterdir()} == before, name
    assert (home / "file").read_text() == ""


def test_a_farm_without_a_forecast_is_planned_and_no_go(home, tmp_path, capsys):
    calm = home / "calm.toml"
    calm.write_text(FARM.replace('forecast = "forecast.csv"\n', ""), encoding="utf-8")
    assert main(["plan", str(calm), *NIGHT, *BAN, "--out", str(tmp_path / "calm")]) == 0
    said = capsys.readouterr().out
    assert said.count("NOT A GO") == 1
    assert "There is no forecast" in said
    hours = pyogrio.read_dataframe(tmp_path / "calm" / "plan.gpkg", layer="hours")
    assert len(hours) == 0
    assert {"time_utc", "verdict"} <= set(hours.columns)


def test_words_that_are_off_end_with_code_2_and_help_with_0(capsys):
    hours = ["hours", "forecast.csv", "--at", "141.6,-36.2", "--out", "hours.csv"]
    off = [
        ["plan"],
        ["hours", "--what"],
        ["plan", "x", "--night", "soon"],
        ["plan", "x", "--night", "9999-12-31"],
        [*hours, "--zone", "Mars/Base"],
    ]
    for words, code in (*((words, 2) for words in off), (["--help"], 0)):
        with pytest.raises(SystemExit) as ended:
            main(words)
        assert ended.value.code == code
    said = capsys.readouterr().err
    assert "2026-04-18" in said
    assert "'Mars/Base' is not known" in said
    assert main(["nonsense"]) == 1
    assert "no such file or command" in capsys.readouterr().err
