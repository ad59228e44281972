"""NMEA 0183 sentences and GPX tracks: whole, damaged, and with what is no fix."""

import numpy as np
import pytest

from mapper.farm.errors import FileError, Stopped
from mapper.files.nmea import is_nmea, read_nmea
from mapper.files.tracks import read_tracks
from tests.files.drives import _sentence, drive, gpx, nmea, write

# The sentences usually shown for RMC and GGA; their checksums (6A, 47) are part of them. From memory of the standard's
# common examples.
RMC = "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A"
GGA = "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"


def test_the_usual_examples_are_read_to_the_letter(tmp_path):
    path = tmp_path / "a.nmea"
    path.write_text(f"{RMC}\r\n{GGA}\r\n")
    table, repaired, notes = read_nmea(path)
    assert repaired == ()
    assert table["latitude"].tolist() == pytest.approx([48 + 7.038 / 60])
    assert table["longitude"].tolist() == pytest.approx([11 + 31 / 60])
    # 23 March 1994, 12:35:19 UTC; two-digit years from 80 on are of the last century.
    assert table["time (UTC)"].iloc[0] == np.datetime64("1994-03-23T12:35:19").astype("datetime64[s]").astype(int)
    assert (table["speed (kn)"].iloc[0], table["heading (deg)"].iloc[0]) == (22.4, 84.4)
    assert "plain" in notes[0]


def test_south_and_west_are_negative(tmp_path):
    path = tmp_path / "a.log"
    path.write_text(_sentence("GNRMC,000000.0,A,3612.5,S,06030.0,W,3.9,0.0,010125,,,A") + "\n")
    table, _, _ = read_nmea(path)
    assert (table["latitude"].iloc[0], table["longitude"].iloc[0]) == pytest.approx((-(36 + 12.5 / 60), -60.5))


def test_a_wrong_sum_a_void_fix_and_a_cut_sentence_are_left_out_and_said(tmp_path):
    d = drive()
    style = nmea(d)
    lines = style.content.decode().splitlines()
    rmc = [i for i, line in enumerate(lines) if "RMC" in line]
    lines[rmc[10]] = lines[rmc[10]].replace("A,", "A,1", 1)  # a figure more: the sum no longer fits
    lines[rmc[20]] = _sentence(lines[rmc[20]][1:].split("*")[0].replace(",A,", ",V,", 1))
    lines[rmc[30]] = lines[rmc[30]][:40]
    path = tmp_path / "r.txt"
    path.write_text("\n".join(f"12:00:00 > {line}" for line in lines))
    track, report = read_tracks(path, d.grid)
    assert len(track) == len(d.table) - 3
    said = " ".join(report.repaired)
    assert "1 sentences whose checksum is wrong" in said
    assert "1 sentences without a checksum" in said
    assert "1 fixes that the receiver itself calls void" in said
    assert any("100 % RTK fixed" in n for n in report.notes)


def test_gga_alone_has_no_date_and_zda_gives_one(tmp_path):
    d = drive(passes=2)
    gga = [line for line in nmea(d).content.decode().splitlines() if "GGA" in line]
    path = tmp_path / "g.nmea"
    path.write_text("\n".join(gga))
    track, report = read_tracks(path, d.grid)
    assert np.diff(track["t_s"]) == pytest.approx(1.0)
    assert any("hold no date" in n for n in report.notes)
    path.write_text("\n".join([_sentence("GNZDA,215800.00,14,07,2025,00,00"), *gga]))
    track, _ = read_tracks(path, d.grid)
    assert track["t_s"].to_numpy() == pytest.approx(d.table["t_s"].to_numpy())


def test_what_is_no_nmea_and_what_has_no_fix(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("lat,lon\n1,2\n")
    assert not is_nmea(path)
    path = tmp_path / "b.nmea"
    path.write_text("\n".join([_sentence("GPRMC,000000,V,,,,,,,010125,,,N")] * 9))
    with pytest.raises(FileError, match="no sentence has a fix"):
        read_tracks(path, None)


def test_a_gpx_cut_short_is_read_as_far_as_it_goes(tmp_path):
    d = drive()
    path = write(gpx(d), tmp_path)
    path.write_bytes(path.read_bytes()[:-20_000])
    track, report = read_tracks(path, d.grid)
    n = len(track)
    assert 100 < n < len(d.table)
    assert np.hypot(track["x"] - d.table["x"][:n], track["y"] - d.table["y"][:n]).max() < 0.1
    assert "breaks off" in report.repaired[0]
    assert any("1 waypoints not used" in t for t in report.notes)


def test_gpx_with_speed_course_and_parts(tmp_path):
    body = "".join(
        f'<trkseg><trkpt lat="-36.2" lon="{141.6 + i / 1e4}"><time>2025-11-30T22:00:0{i}Z</time>'
        f"<extensions><x:speed>{1.5 + i}</x:speed><x:course>90</x:course></extensions></trkpt></trkseg>"
        for i in range(3)
    )
    path = tmp_path / "x.gpx"
    path.write_text(f'<gpx version="1.1" xmlns:x="invented"><trk>{body}</trk></gpx>')
    track, report = read_tracks(path, None)
    assert track["speed_m_s"].tolist() == [1.5, 2.5, 3.5]
    assert any("3 parts" in n for n in report.notes)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('<gpx><rte><rtept lat="1" lon="2"/></rte></gpx>', "only 1 route points"),
        ('<!DOCTYPE g [<!ENTITY a "b">]><gpx>&a;</gpx>', "declares entities"),
        ("no xml at all", "holds no track"),
    ],
)
def test_gpx_without_a_track_is_refused_in_a_sentence(tmp_path, text, said):
    path = tmp_path / "x.gpx"
    path.write_text(text)
    with pytest.raises(FileError, match=said):
        read_tracks(path, None)


@pytest.mark.parametrize("make", [nmea, gpx])
def test_progress_counts_bytes_and_stopping_stops(tmp_path, make):
    path = write(make(drive()), tmp_path)
    seen = []
    read_tracks(path, None, progress=lambda done, total: seen.append((done, total)))
    assert seen[-1] == (path.stat().st_size, path.stat().st_size)
    with pytest.raises(Stopped):
        read_tracks(path, None, cancelled=lambda: True)
