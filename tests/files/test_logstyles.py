"""The same invented drive in 26 styles of log must come back as the same track, or say what it took for what."""

import numpy as np
import pandas as pd
import pytest

from mapper.farm.errors import CrsError
from mapper.files.guess import by_name
from mapper.files.headerdown import guess_down
from mapper.files.tracks import guess_columns, read_tracks
from tests.files.drives import STYLES, drive, write


@pytest.mark.parametrize("name", STYLES)
def test_the_same_drive_comes_back(tmp_path, name):
    place, make = STYLES[name]
    d = drive(place)
    style = make(d)
    track, report = read_tracks(write(style, tmp_path), d.grid, crs=style.crs, zone=d.zone)
    said = "\n".join(report.lines())
    truth = d.table
    assert len(track) == len(truth), said
    # Positions to 0.1 m and times to 1 s, as the issue asks; the styles themselves round to centimetres.
    assert np.hypot(track["x"] - truth["x"], track["y"] - truth["y"]).max() < 0.1, said
    if "time" in style.holds:
        assert np.abs(track["t_s"] - truth["t_s"]).max() < 1.0, said
    if "speed" in style.holds:
        assert np.median(np.abs(track["speed_m_s"] / truth["speed"] - 1)) < 0.01, said
    if "heading" in style.holds:
        convergence = d.grid.convergence_deg(float(truth["x"].mean()), float(truth["y"].mean()))
        off = (track["heading_deg"] + convergence - truth["heading"] + 180) % 360 - 180
        assert np.abs(off).max() < 0.5, said
    if "down" in style.holds:
        assert track["header_down"].tolist() == truth["down"].tolist(), said
    if "width" in style.holds:
        assert np.abs(track["width_m"] - 12.0).max() < 0.06, said
    if "yield" in style.holds:
        cut = truth["down"] == 1
        assert np.abs(track["yield_t_ha"][cut] / truth["yield"][cut] - 1).max() < 0.01, said
    if "flow" in style.holds:
        assert np.abs(track["flow_kg_s"] - truth["flow"]).max() < 0.1, said
    assert style.doubt in said


@pytest.mark.parametrize("name", STYLES)
def test_a_look_shows_what_every_column_is_taken_as(tmp_path, name):
    place, make = STYLES[name]
    d = drive(place)
    style = make(d)
    columns = guess_columns(write(style, tmp_path), style.crs)
    taken = {e.meaning for e in columns.entries}
    assert {"longitude", "latitude"} <= taken or {"easting", "northing"} <= taken
    assert all(e.samples for e in columns.entries)


@pytest.mark.parametrize(
    ("lon", "lat", "said"),
    [
        (lambda t: np.radians(t["lon"]), lambda t: np.radians(t["lat"]), "radians"),
        (lambda t: t["lat"], lambda t: t["lon"], "each other's column"),
        (lambda t: t["lon"].abs(), lambda t: t["lat"].abs(), "no sign for south or west"),
    ],
)
def test_positions_that_only_the_farms_place_makes_sense_of(tmp_path, lon, lat, said):
    """Spain: latitude and longitude both under 90; west of Greenwich. Said as repaired, never silent."""
    d = drive("es")
    table = pd.DataFrame({"lon": lon(d.table), "lat": lat(d.table)})
    path = tmp_path / "log.csv"
    path.write_text(table.to_csv(index=False))
    track, report = read_tracks(path, d.grid)
    assert np.hypot(track["x"] - d.table["x"], track["y"] - d.table["y"]).max() < 0.1
    assert any(said in r for r in report.repaired)


def test_a_log_of_another_country_is_refused(tmp_path):
    d = drive("de")
    path = tmp_path / "log.csv"
    path.write_text(d.table[["lon", "lat"]].to_csv(index=False))
    with pytest.raises(CrsError, match=r"outside the zone of the farm's grid"):
        read_tracks(path, drive("au").grid)


@pytest.mark.parametrize(
    ("column", "down", "up"),
    [
        ("Arbeitsstellung", "ein", "aus"), ("Schneidwerk", "unten", "oben"), ("En travail", "oui", "non"),
        ("Trabajando", "Sí", "No"), ("Plataforma", "baixa", "alta"), ("Barra", "giù", "su"), ("Header", "aan", "uit"),
    ],
)  # fmt: skip
def test_the_flag_speaks_other_languages(column, down, up):
    """Most fixes are driven with the header up, so that the most frequent value would be the wrong guess."""
    values = pd.Series([down, up, up, up] * 20)
    sign = guess_down(values, column, None)
    assert (sign.down, sign.sure) == ((down,), "certain")
    table = pd.DataFrame({"latitude": 52.0, "longitude": 11.0, column: values})
    assert [e.column for e in by_name(table, ["header_down"])] == [column]
