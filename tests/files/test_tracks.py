"""Harvester logs of several makes, all made up here, read to one table with the guesses said."""

import zipfile
from dataclasses import replace

import numpy as np
import pandas as pd
import pyogrio
import pytest
import shapely

from mapper.farm.crs import Grid, metric_crs
from mapper.farm.errors import CrsError, FileError, SettingError, Stopped
from mapper.files.columns import ColumnEntry
from mapper.files.tracks import guess_columns, read_columns, read_tracks, write_columns

GRID = Grid(metric_crs(141.6, -36.2))
START = pd.Timestamp("2025-11-30T22:00:00Z")
FOOT, POUND = 0.3048, 0.45359237  # by definition


@pytest.fixture
def folder(tmp_path):
    path = tmp_path / "Gümüş paddock"
    path.mkdir()
    return path


def _drive(passes=6, length=300.0, width=12.0, speed=2.0):
    """Fixes every second, up and down; the last ten metres of each pass with the header up."""
    rows = []
    for p in range(passes):
        along = np.arange(0.0, length, speed)
        y = along if p % 2 == 0 else length - along
        rows.append(
            pd.DataFrame(
                {
                    "x": 554000.0 + p * width,
                    "y": 5993000.0 + y,
                    "heading": 0.0 if p % 2 == 0 else 180.0,
                    "down": (along < length - 10).astype(int),
                    "pass_no": p,
                }
            )
        )
    out = pd.concat(rows, ignore_index=True)
    out["lon"], out["lat"] = GRID.to_lonlat(out["x"].to_numpy(), out["y"].to_numpy())
    out["t"] = START + pd.to_timedelta(np.arange(len(out)), unit="s")
    out["speed"] = speed
    out["yield"] = np.where(out["down"] == 1, 3.0, 0.0)
    return out


def _csv(folder, table, name="log.csv", **options):
    path = folder / name
    table.to_csv(path, index=False, **options)
    return path


def _same_place(track, drive, within=0.02):
    assert np.abs(track["x"].to_numpy() - drive["x"].to_numpy()).max() < within
    assert np.abs(track["y"].to_numpy() - drive["y"].to_numpy()).max() < within


def test_units_in_the_names(folder):
    d = _drive()
    path = _csv(
        folder,
        pd.DataFrame(
            {
                "GPS Time (UTC)": d["t"].dt.strftime("%Y-%m-%dT%H:%M:%SZ"), "Latitude(deg)": d["lat"].round(8),
                "Longitude(deg)": d["lon"].round(8), "Ground Speed (mph)": d["speed"] / 0.44704,
                "Swth Wdth(ft)": 40.0, "Yld Mass(Dry)(tonne/ha)": d["yield"],
                "Header": d["down"].map({1: "Down", 0: "Up"}),
                "Moisture(%)": 11.0,
            }
        ),
    )  # fmt: skip
    track, report = read_tracks(path, GRID)
    _same_place(track, d)
    assert track["t_s"].iloc[0] == START.timestamp()
    assert track["speed_m_s"].iloc[0] == pytest.approx(2.0)
    assert track["width_m"].iloc[0] == pytest.approx(40 * FOOT)
    assert track["header_down"].tolist() == d["down"].tolist()
    assert report.ignored == ("Moisture(%)",)


def test_decimal_comma_semicolon_local_time_and_codes(folder):
    d = _drive()
    local = d["t"].dt.tz_convert("Australia/Melbourne")
    path = _csv(
        folder,
        pd.DataFrame(
            {
                "Datum": local.dt.strftime("%d/%m/%Y"), "Zeit": local.dt.strftime("%H:%M:%S"), "Lat": d["lat"],
                "Lon": d["lon"], "Speed_kmh": d["speed"] * 3.6, "WorkCode": d["down"].map({1: 10, 0: 2}),
                "Yield": d["yield"],
            }
        ),
        sep=";", decimal=",", encoding="cp1252",
    )  # fmt: skip
    track, report = read_tracks(path, GRID)
    _same_place(track, d)
    assert track["t_s"].to_numpy() == pytest.approx(d["t"].astype("int64").to_numpy() / 1e9) or (
        track["t_s"].iloc[0] == START.timestamp()
    )
    assert track["header_down"].tolist() == d["down"].tolist()
    assert any("decimal comma" in n for n in report.notes)
    assert any("Australia/Melbourne" in n for n in report.notes)


def test_german_headings_with_wind_inside_a_word(folder):
    d = _drive()
    local = d["t"].dt.tz_convert("Australia/Melbourne")
    table = {"Datum": local.dt.strftime("%d.%m.%Y"), "Uhrzeit": local.dt.strftime("%H:%M:%S"),
             "Breitengrad": d["lat"], "Längengrad": d["lon"], "Geschwindigkeit (km/h)": d["speed"] * 3.6,
             "Arbeitsbreite (m)": 12.0, "Ertrag (t/ha)": d["yield"]}  # fmt: skip
    path = _csv(folder, pd.DataFrame(table), sep=";", decimal=",", encoding="cp1252")
    track, report = read_tracks(path, GRID)
    _same_place(track, d)
    assert track["t_s"].iloc[0] == START.timestamp()
    assert track["speed_m_s"].to_numpy() == pytest.approx(d["speed"].to_numpy(), abs=0.01)
    assert not report.ignored


def test_units_found_from_the_numbers(folder):
    """Feet, miles an hour, pounds: the grain balance and the steps tell them. Unit factors by definition."""
    d = _drive(speed=2.0, width=12.0)
    flow_kg_s = 0.1 * 3.0 * 12.0 * 2.0
    acre_ha = 0.40468564224
    path = _csv(
        folder,
        pd.DataFrame(
            {
                "lon": d["lon"], "lat": d["lat"], "dstnc": 2.0 / FOOT, "durtn": 1.0, "spd": 2.0 / 0.44704,
                "swth_w": 12.0 / FOOT, "crp_flw_m": flow_kg_s / POUND, "yld_mss_d": 3000.0 / POUND * acre_ha,
            }
        ),
    )  # fmt: skip
    track, report = read_tracks(path, GRID)
    assert track["speed_m_s"].median() == pytest.approx(2.0, rel=1e-6)
    assert track["width_m"].median() == pytest.approx(12.0, rel=1e-6)
    assert track["flow_kg_s"].median() == pytest.approx(flow_kg_s, rel=1e-6)
    assert track["yield_t_ha"].median() == pytest.approx(3.0, rel=1e-6)
    assert np.diff(track["t_s"]).min() >= 1.0
    assert any("assumed from the logged durations" in n for n in report.notes)


def test_scrambled_sets_are_put_in_driven_order(folder):
    d = _drive(passes=8)
    d["dataset"] = np.where(d["pass_no"] < 4, "A (1)", "B (2)")
    d["Obj. Id"] = d.groupby("dataset").cumcount() + 1
    mixed = d.sample(frac=1.0, random_state=3)[["lon", "lat", "dataset", "Obj. Id"]]
    track, report = read_tracks(_csv(folder, mixed), GRID)
    step = np.hypot(np.diff(track["x"]), np.diff(track["y"]))
    assert np.mean(step > 25) < 0.01
    assert any("set and point number" in n for n in report.notes)


def test_a_file_written_backwards_is_turned_round(folder):
    d = _drive()
    table = d[["lon", "lat", "heading"]].iloc[::-1]
    track, report = read_tracks(_csv(folder, table), GRID)
    _same_place(track, d)
    assert any("backwards" in n for n in report.notes)


def test_a_date_alone_and_a_date_in_the_future_are_said_and_not_used(folder):
    d = _drive()
    d["DateStamp"] = "27/11/2099"
    track, report = read_tracks(_csv(folder, d[["lon", "lat", "DateStamp"]]), GRID)
    assert track["t_s"].isna().all()
    assert any("future" in n for n in report.notes)
    assert any("no time of day" in n for n in report.notes)


def test_the_same_flag_throughout_tells_nothing(folder):
    d = _drive()
    d["Header"] = "In"
    track, report = read_tracks(_csv(folder, d[["lon", "lat", "Header"]]), GRID)
    assert (track["header_down"] == -1).all()
    assert any("tells nothing" in n for n in report.notes)


def test_width_nought_is_header_up(folder):
    d = _drive()
    d["width_m"] = np.where(d["down"] == 1, 12.0, 0.0)
    track, _ = read_tracks(_csv(folder, d[["lon", "lat", "width_m"]]), GRID)
    assert track["header_down"].tolist() == d["down"].tolist()


def test_lost_fixes_and_swapped_columns(folder):
    d = _drive()
    table = d[["lon", "lat"]].rename(columns={"lon": "Latitude", "lat": "Longitude"})
    table.iloc[5] = 0.0
    table.iloc[6] = np.nan
    table.iloc[7] = [10.0, 10.0]
    track, report = read_tracks(_csv(folder, table), GRID)
    assert len(track) == len(d) - 3
    text = " ".join(report.repaired)
    assert "swapped back" in text
    assert "2 rows without a position" in text
    assert "1 fixes far" in text


def test_projected_columns_need_a_grid(folder):
    d = _drive()
    path = _csv(folder, d[["x", "y"]].rename(columns={"x": "Easting", "y": "Northing"}))
    with pytest.raises(CrsError, match="--crs"):
        read_tracks(path, GRID)
    assert guess_columns(path).get("easting").column == "Easting"
    track, report = read_tracks(path, None, crs="EPSG:7854")
    _same_place(track, d, 1e-6)
    assert report.crs_known == "given"


def test_no_header_row(folder):
    d = _drive()
    track, report = read_tracks(_csv(folder, d[["lat", "lon"]].round(8), header=False), GRID)
    _same_place(track, d)
    assert any("guess" in n for n in report.notes)


def test_titles_units_row_and_a_cut_last_line(folder):
    d = _drive()
    body = d[["lat", "lon", "speed"]].round(8).to_csv(index=False, header=False)
    path = folder / "log.txt"
    path.write_text(
        "Field: Hill\nMade today\n\nLat,Lon,Speed\ndeg,deg,m/s\n" + body.rstrip("\n")[:-14], encoding="utf-8"
    )
    track, report = read_tracks(path, GRID)
    assert len(track) == len(d) - 1
    assert any("cut short" in r for r in report.repaired)
    assert any("speed in m/s" in n for n in report.notes)


@pytest.mark.parametrize(
    ("times", "t0"),
    [
        (lambda t: t.astype("int64") // 10 ** (9 if t.dt.unit == "ns" else 6), START.timestamp()),
        (lambda t: (t.dt.tz_localize(None) - pd.Timestamp("1899-12-30")) / pd.Timedelta("1D"), None),
        (lambda t: t.dt.tz_convert("Australia/Melbourne").dt.strftime("%d/%m/%Y %I:%M:%S %p"), START.timestamp()),
        (lambda t: t.dt.strftime("%Y-%m-%d %H:%M:%S+00:00"), START.timestamp()),
        (lambda t: t.dt.strftime("%Y%m%d%H%M%S"), None),
    ],
)
def test_clocks_of_many_makes(folder, times, t0):
    d = _drive()
    table = pd.DataFrame({"lon": d["lon"], "lat": d["lat"], "time": times(d["t"])})
    track, _ = read_tracks(_csv(folder, table), GRID)
    assert np.diff(track["t_s"]) == pytest.approx(np.ones(len(d) - 1), abs=0.01)
    # Without a zone the wall clock is local: eleven hours ahead of UTC in Victoria's summer.
    expected = t0 if t0 is not None else START.timestamp() - 11 * 3600
    assert track["t_s"].iloc[0] == pytest.approx(expected, abs=0.01)


def test_points_in_map_files(folder):
    d = _drive()
    geometry = shapely.to_wkb(shapely.points(d["lon"], d["lat"]))
    fields = [d["speed"].to_numpy() * 3.6, d["down"].to_numpy()]
    for end in (".gpkg", ".shp", ".geojson"):
        path = folder / f"log{end}"
        pyogrio.raw.write(path, geometry, fields, ["speed_kmh", "header"], geometry_type="Point", crs="EPSG:4326")
        track, report = read_tracks(path, GRID)
        _same_place(track, d)
        assert track["speed_m_s"].iloc[0] == pytest.approx(2.0)
        assert track["header_down"].tolist() == d["down"].tolist()
        assert report.crs_known == "file"


def test_mapping_is_written_corrected_and_used(folder):
    d = _drive()
    d["velo"] = d["speed"]
    path = _csv(folder, d[["lon", "lat", "velo", "down"]])
    columns = guess_columns(path)
    mine = (ColumnEntry("speed", "velo", "km/h"), ColumnEntry("header_down", "down", down=("0",)))
    columns = replace(columns, entries=(*(e for e in columns.entries if e.column in ("lon", "lat")), *mine))
    write_columns(columns, folder / "columns.toml")
    back = read_columns(folder / "columns.toml")
    assert back.entries == columns.entries
    track, _ = read_tracks(path, GRID, columns=back)
    assert track["speed_m_s"].iloc[0] == pytest.approx(2.0 / 3.6)
    assert track["header_down"].tolist() == (1 - d["down"]).tolist()
    with pytest.raises(SettingError, match="no column 'velo'"):
        read_tracks(_csv(folder, d[["lon", "lat"]], "other.csv"), GRID, columns=back)
    (folder / "wrong.toml").write_text('[speed]\ncolumn = "velo"\nunit = "parsec"\n', encoding="utf-8")
    with pytest.raises(SettingError, match=r"parsec.*wrong|wrong.*parsec"):
        read_columns(folder / "wrong.toml")


def test_several_files_keep_their_machines(folder):
    d = _drive()
    one, two = _csv(folder, d[["lon", "lat"]], "one.csv"), _csv(folder, d[["lon", "lat"]], "two.csv")
    track, report = read_tracks([one, two], GRID)
    assert track["machine"].unique().tolist() == ["one", "two"]
    assert report.count == 2 * len(d)


def test_empty_rubbish_missing_and_no_position(folder):
    (folder / "empty.csv").touch()
    (folder / "head.csv").write_text("lat,lon\n", encoding="utf-8")
    (folder / "bytes.csv").write_bytes(bytes(range(256)) * 50)
    (folder / "words.csv").write_text("a,b\nx,y\nz,w\n", encoding="utf-8")
    for name in ("empty.csv", "head.csv", "bytes.csv", "words.csv", "none.csv"):
        with pytest.raises(FileError) as caught:
            read_tracks(folder / name, GRID)
        assert name in str(caught.value)


def test_stop_and_progress(folder):
    d = pd.concat([_drive()] * 3)
    path = _csv(folder, d[["lon", "lat"]])
    seen = []
    read_tracks([path, path], GRID, progress=lambda done, total: seen.append((done, total)))
    assert seen[-1][0] <= seen[-1][1] == 2 * path.stat().st_size
    assert [s[0] for s in seen] == sorted(s[0] for s in seen)
    with pytest.raises(Stopped):
        read_tracks(path, GRID, cancelled=lambda: True)


def test_sections_abreast_become_one_fix(folder):
    d = _drive()
    offsets = (-4.5, -1.5, 1.5, 4.5)
    sections = pd.concat([d.assign(x=d["x"] + o, section=i) for i, o in enumerate(offsets)]).sort_values(
        ["t", "section"], kind="stable"
    )
    sections["lon"], sections["lat"] = GRID.to_lonlat(sections["x"].to_numpy(), sections["y"].to_numpy())
    table = pd.DataFrame(
        {
            "time": sections["t"].dt.strftime("%Y-%m-%dT%H:%M:%SZ"),
            "lat": sections["lat"],
            "lon": sections["lon"],
            "width_m": 3.0,
            "header": np.where(sections["section"] == 2, sections["down"], 0),
        }
    )
    track, report = read_tracks(_csv(folder, table), GRID)
    _same_place(track, d)
    assert track["width_m"].unique().tolist() == [12.0]
    assert track["header_down"].tolist() == d["down"].tolist()
    assert any("4 sections abreast" in n for n in report.notes)


def test_flatgeobuf_stores_points_in_another_order_and_the_time_puts_them_back(folder):
    """FlatGeobuf packs features along a Hilbert curve (its specification): a track comes out of order."""
    d = _drive()
    geometry = shapely.to_wkb(shapely.points(d["lon"], d["lat"]))
    path = folder / "log.fgb"
    when = d["t"].dt.strftime("%Y-%m-%dT%H:%M:%SZ").to_numpy(object)
    pyogrio.raw.write(path, geometry, [when], ["gps_time"], geometry_type="Point", crs="EPSG:4326", driver="FlatGeobuf")
    track, report = read_tracks(path, GRID)
    _same_place(track, d)
    assert any("order of their times" in n for n in report.notes)


def test_a_folder_and_a_zip_of_logs(folder):
    d = _drive()
    for name in ("monday.csv", "tuesday.txt"):
        _csv(folder, d[["lon", "lat"]], name)
    (folder / "notes.pdf").write_bytes(b"no log")
    track, _ = read_tracks(folder, GRID)
    assert track["machine"].unique().tolist() == ["monday", "tuesday"]
    packed = folder.parent / "logs.zip"
    with zipfile.ZipFile(packed, "w") as out:
        for name in ("monday.csv", "tuesday.txt"):
            out.write(folder / name, f"export/{name}")
        out.writestr("__MACOSX/monday.csv", b"junk")
    again, _ = read_tracks(packed, GRID)
    assert again["machine"].unique().tolist() == ["monday", "tuesday"]
    assert np.array_equal(again["x"], track["x"])


def test_one_bad_log_of_several_is_refused_and_the_others_read(folder):
    d = _drive()
    good, bad = _csv(folder, d[["lon", "lat"]], "good.csv"), folder / "bad.csv"
    bad.write_text("nothing here\n", encoding="utf-8")
    track, report = read_tracks([bad, good], GRID)
    assert len(track) == len(d)
    assert any("bad.csv" in r for r in report.refused)
    with pytest.raises(FileError):
        read_tracks([bad], GRID)


def test_a_long_log_read_block_by_block_is_the_same_as_read_whole(folder, monkeypatch):
    """Blocks keep memory flat; what they give must not depend on their size. Units and words are told by the first."""
    import mapper.files.textread as textread
    import mapper.files.tracks as tracks

    d = pd.concat([_drive().assign(x=lambda t, k=k: t["x"] + 100 * k) for k in range(8)], ignore_index=True)
    d["lon"], d["lat"] = GRID.to_lonlat(d["x"].to_numpy(), d["y"].to_numpy())
    d["time"] = (START + pd.to_timedelta(np.arange(len(d)), unit="s")).strftime("%Y-%m-%dT%H:%M:%SZ")
    d["Header"], d["spd"] = d["down"].map({1: "Down", 0: "Up"}), d["speed"] / 0.44704
    d.loc[[10, 3000, 5000], "lat"] = np.nan
    path = _csv(folder, d[["time", "lon", "lat", "spd", "Header", "yield"]])
    whole, said = read_tracks(path, GRID)
    monkeypatch.setattr(textread, "_PIECE_BYTES", 60_000)
    monkeypatch.setattr(tracks, "_BLOCK_ROWS", 1500)
    blocks, said_too = read_tracks(path, GRID)
    pd.testing.assert_frame_equal(whole, blocks)
    assert said.repaired == said_too.repaired == ("3 rows without a position were left out.",)
    assert said.count == said_too.count
    # Without a clock the order has to be found over the whole: blocks are joined first.
    path = _csv(folder, d[["lon", "lat", "spd"]], "no clock.csv")
    assert len(read_tracks(path, GRID)[0]) == len(d) - 3
