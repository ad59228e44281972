"""Task data: a tiny set written here record by record, and read back."""

import struct
import time
import zipfile
from pathlib import Path

import numpy as np
import pytest

from mapper.farm.crs import Grid, metric_crs
from mapper.farm.errors import FileError, Stopped
from mapper.files.partfields import read_partfields
from mapper.files.taskdata import read_taskdata
from mapper.files.taskxml import devices, is_taskdata, open_taskdata
from mapper.files.timelog import Column, Header, decode, seconds_since_1970

DAY = 16_771
GRID = Grid(metric_crs(141.6, -36.2))

DEVICE = """
<DVC A="DVC-1" B="Header test (invented)" D="A000">
  <DET A="DET-1" B="1" C="1" E="0" F="0"/>
  <DET A="DET-2" B="2" C="2" E="1" F="1"><DOR A="20"/><DOR A="21"/><DOR A="22"/></DET>
  <DET A="DET-3" B="3" C="7" E="2" F="1"><DOR A="30"/><DOR A="31"/></DET>
  <DPT A="20" B="0046" C="12200"/><DPT A="21" B="0086" C="4100"/><DPT A="22" B="0087" C="0"/>
  <DPT A="30" B="0086" C="500"/><DPT A="31" B="0087" C="250"/>
</DVC>"""
FIELDS = """
<PFD A="PFD1" C="Long (invented)" D="0"><PLN A="1">
  <LSG A="1"><PNT A="2" C="-36.2" D="141.6"/><PNT A="2" C="-36.2" D="141.61"/><PNT A="2" C="-36.19" D="141.61"/>
  <PNT A="2" C="-36.19" D="141.6"/></LSG>
  <LSG A="2"><PNT A="2" C="-36.196" D="141.604"/><PNT A="2" C="-36.196" D="141.606"/>
  <PNT A="2" C="-36.194" D="141.606"/><PNT A="2" C="-36.194" D="141.604"/></LSG></PLN></PFD>
<PFD A="PFD2" C="No edge" D="0"/>"""
TASK = '<TSK A="TSK1" B="t" G="4"><TLG A="TLG00001" C="1"/><DAN A="A000" C="DVC-1"/></TSK>'
TIM = """<TIM A="" D="4"><PTN A="" B="" D=""/>
<DLV A="008D" B="" C="DET-2"/><DLV A="0043" B="" C="DET-2"/><DLV A="0054" B="" C="DET-1"/>
<DLV A="0057" B="" C="DET-1"/></TIM>"""


def record(ms: int, lat: float, lon: float, values: dict[int, int], day: int = DAY) -> bytes:
    head = struct.pack("<IHiiBB", ms, day, round(lat * 1e7), round(lon * 1e7), 4, len(values))
    return head + b"".join(struct.pack("<Bi", k, v) for k, v in values.items())


def write(folder: Path, log: bytes, *, tim: str = TIM, body: str = DEVICE + FIELDS + TASK, case: str = "upper") -> Path:
    folder.mkdir(exist_ok=True)
    main = f'<?xml version="1.0"?><ISO11783_TaskData VersionMajor="4" VersionMinor="2">{body}</ISO11783_TaskData>'
    turn = str.upper if case == "upper" else str.lower
    for name, content in (("TASKDATA.XML", main.encode()), ("TLG00001.XML", tim.encode()), ("TLG00001.BIN", log)):
        (folder / turn(name)).write_bytes(content)
    return folder


RECORDS = [
    record(3_600_000, -36.2, 141.6, {0: 0, 2: 0}),
    record(3_601_000, -36.19998, 141.6, {0: 1, 1: 12_200, 2: 300_000, 3: 9_150_000}),
    record(3_602_000, -36.19996, 141.6, {}),
    record(3_603_000, -36.19994, 141.6, {1: 6_100}),
]


def test_values_are_held_until_the_next_and_come_in_the_tracks_units(tmp_path):
    track, report = read_taskdata(write(tmp_path / "t", b"".join(RECORDS)), GRID, "Australia/Melbourne")
    assert track["header_down"].tolist() == [0, 1, 1, 1]
    # Before its first record a width is the machine's own.
    assert track["width_m"].tolist() == [12.2, 12.2, 12.2, 6.1]
    # 300 000 mg/m2 is 0.3 kg/m2 is 3 t/ha; 9 150 000 mg/s is 9.15 kg/s (units of ISO 11783-11).
    np.testing.assert_allclose(track["yield_t_ha"], [0, 3, 3, 3])
    np.testing.assert_allclose(track["flow_kg_s"], [np.nan, 9.15, 9.15, 9.15])
    assert set(track["machine"]) == {"Header test (invented)"}
    # 01:00 on the clock in Melbourne on 1 December 2025 is 14:00 UTC the day before.
    assert track["t_s"].iloc[0] == np.datetime64("2025-11-30T14:00:00").astype("datetime64[s]").astype(int)
    e, n = GRID.from_lonlat(141.6, -36.19994)
    assert np.hypot(track["x"].iloc[3] - e, track["y"].iloc[3] - n) < 0.02
    assert "clock was taken as Australia/Melbourne" in " ".join(report.lines())


def test_the_machine_tells_its_header_and_antenna(tmp_path):
    device = devices(open_taskdata(write(tmp_path / "t", RECORDS[0])))["DVC-1"]
    assert (device.header_width_m, device.header_ahead_m, device.antenna_right_m) == (12.2, 3.6, 0.25)


@pytest.mark.parametrize("case", ["upper", "lower"])
def test_names_in_either_case_a_folder_above_and_a_zip(tmp_path, case):
    folder = write(tmp_path / "TASKDATA", b"".join(RECORDS), case=case)
    packed = tmp_path / "t.zip"
    with zipfile.ZipFile(packed, "w") as out:
        out.writestr("__MACOSX/TASKDATA.XML", b"junk")
        for file in folder.iterdir():
            out.write(file, f"export/TASKDATA/{file.name}")
    assert not is_taskdata(tmp_path / "nothing") and not is_taskdata(folder / "TLG00001.BIN")
    for path in (folder, tmp_path, packed):
        assert is_taskdata(path)
        assert len(read_taskdata(path, GRID)[0]) == 4


def test_a_log_cut_short_a_lost_fix_and_a_jumping_clock_are_said(tmp_path):
    log = [
        *RECORDS,
        record(3_604_000, 0.0, 0.0, {0: 1}),
        record(3_605_000, -36.19992, 141.6, {}, day=DAY + 900),
        record(3_606_000, -36.1999, 141.6, {}),
        record(3_607_000, -36.19988, 141.6, {0: 1, 1: 1})[:-3],
    ]
    track, report = read_taskdata(write(tmp_path / "t", b"".join(log)), GRID)
    assert len(track) == 5
    said = " ".join(report.lines())
    assert "1 records without a fix" in said
    assert "1 records whose time jumps" in said
    assert "cut short" in said


def test_the_receivers_own_utc_wins_over_the_machines_clock(tmp_path):
    tim = TIM.replace('D=""', 'D="" H="" I=""')
    head = struct.pack("<IHiiBIHB", 3_600_000, DAY, -362_000_000, 1_416_000_000, 4, 50_400_000, DAY - 1, 0)
    track, report = read_taskdata(write(tmp_path / "t", head, tim=tim), GRID, "Australia/Perth")
    assert track["t_s"].iloc[0] == np.datetime64("2025-11-30T14:00:00").astype("datetime64[s]").astype(int)
    assert "clock was taken" not in " ".join(report.lines())


def test_sections_add_up_and_condensed_work_states_tell_cutting(tmp_path):
    body = DEVICE.replace('<DET A="DET-3"', '<DET A="S1" C="4"/><DET A="S2" C="4"/><DET A="DET-3"') + TASK
    tim = '<TIM A="" D="4"><PTN A="" B="" D=""/><DLV A="0043" B="" C="S1"/><DLV A="0043" B="" C="S2"/>'
    tim += '<DLV A="00A1" B="" C="DET-2"/></TIM>'
    # Condensed work state: two bits a section, 1 on, 0 off, 3 not there (ISO 11783-11, DDI 161; from memory).
    off, one_on = -16, -16 + 1
    log = record(0, -36.2, 141.6, {0: 6000, 1: 6200, 2: off}) + record(1000, -36.2, 141.6, {2: one_on})
    track, _ = read_taskdata(write(tmp_path / "t", log, tim=tim, body=body), GRID)
    assert track["width_m"].tolist() == [12.2, 12.2]
    assert track["header_down"].tolist() == [0, 1]


def test_yield_by_volume_only_is_said_not_used(tmp_path):
    tim = TIM.replace('A="0054"', 'A="0053"').replace('A="0057"', 'A="0056"')
    track, report = read_taskdata(write(tmp_path / "t", b"".join(RECORDS), tim=tim), GRID)
    assert track["yield_t_ha"].isna().all() and track["flow_kg_s"].isna().all()
    assert "volume only" in " ".join(report.lines())


def test_partfields_become_paddocks_with_their_holes(tmp_path):
    layer, report = read_partfields(write(tmp_path / "t", RECORDS[0]))
    assert layer["paddock"].tolist() == ["Long (invented)"]
    assert len(layer.geometry.iloc[0].interiors) == 1
    # 0.01 degree of latitude by longitude at 36.195 S is 1109.6 m by 899.5 m on GRS 80; the hole a fifth by a fifth.
    assert layer.area.iloc[0] == pytest.approx(1109.6 * 899.5 * (1 - 0.04), rel=2e-3)
    assert "without a boundary" in " ".join(report.lines())


@pytest.mark.parametrize(
    ("break_it", "said"),
    [
        (lambda f: (f / "TLG00001.BIN").unlink(), ".bin file is missing"),
        (lambda f: (f / "TLG00001.XML").write_text("<TIM><DLV A='0043'/></TIM>"), "no positions"),
        (lambda f: (f / "TLG00001.BIN").write_bytes(b"12"), "no whole record"),
        (lambda f: (f / "TASKDATA.XML").write_text("<ISO11783_TaskData>"), "not valid XML"),
        (lambda f: (f / "TASKDATA.XML").write_text("<kml/>"), "begins with 'kml'"),
        (lambda f: (f / "TASKDATA.XML").unlink(), "no TASKDATA.XML"),
        (
            lambda f: (f / "TASKDATA.XML").write_text(
                '<!DOCTYPE a [<!ENTITY b "c">]><ISO11783_TaskData>&b;</ISO11783_TaskData>'
            ),
            "not valid XML",
        ),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(tmp_path, break_it, said):
    folder = write(tmp_path / "t", b"".join(RECORDS))
    break_it(folder)
    with pytest.raises(FileError, match=said):
        read_taskdata(folder, GRID)


def test_linked_files_are_put_in_and_a_missing_one_named(tmp_path):
    folder = write(tmp_path / "t", RECORDS[0], body=DEVICE + TASK + '<XFR A="PFD00000" B="1"/>')
    with pytest.raises(FileError, match="PFD00000"):
        read_partfields(folder)
    (folder / "PFD00000.XML").write_text(f"<XFC>{FIELDS}</XFC>")
    assert len(read_partfields(folder)[0]) == 1


def test_stops_when_asked(tmp_path):
    with pytest.raises(Stopped):
        read_taskdata(write(tmp_path / "t", RECORDS[0]), GRID, cancelled=lambda: True)


def test_days_are_counted_from_1980():
    # ISO 11783-10: days since 1980-01-01.
    assert seconds_since_1970(np.array([0]), np.array([0]))[0] == np.datetime64("1980-01-01").astype("M8[s]").astype(
        int
    )


def test_a_hundred_thousand_records_decode_fast():
    header = Header((("A", "<i4"), ("B", "<i4"), ("D", "u1")), tuple(Column(d, "DET-1") for d in (141, 67, 84)))
    log = decode(b"".join(RECORDS) * 25_000, header, (0, 1, 2), "log")
    started = time.perf_counter()
    log = decode(b"".join(RECORDS) * 25_000, header, (0, 1, 2), "log")
    # The target is a second or two for a million: five times that here, since test machines are shared.
    assert time.perf_counter() - started < 1.0
    assert log.values.shape == (100_000, 3)
    assert log.values[-1].tolist() == [1, 6100, 300_000]


# Data dictionary entries (ISO 11783-11) that are read, each with what it means and its unit; numbers from memory of the
# open data dictionary. Resolution: 84, 87: 1 mg; 67, 134, 135: 1 mm; 397: 1 mm/s; 141: 0 off, 1 on.
READ = {
    67: "actual working width, mm", 70: "maximum working width, mm", 84: "actual mass per area yield, mg/m2",
    87: "actual mass per time yield, mg/s", 134: "device element offset x, mm", 135: "device element offset y, mm",
    141: "actual work state", 161: "actual condensed work state 1 to 16", 181: "dry mass per area yield, mg/m2",
    182: "dry mass per time yield, mg/s", 397: "actual speed, mm/s",
}  # fmt: skip


def test_a_written_log_comes_back_to_the_last_figure(tmp_path):
    """A log written to the letter of the layout (engineering facts in the design): round trip of a thousand records."""
    rng = np.random.default_rng(5)
    n = 1000
    lat = np.round(-36.2 + np.cumsum(rng.uniform(0, 2e-5, n)), 7)
    lon = np.round(141.6 + np.cumsum(rng.uniform(-1e-5, 1e-5, n)), 7)
    state, width, mass, flow, speed = (
        rng.integers(low, high, n) for low, high in ((0, 2), (5000, 12_200), (1, 800_000), (0, 30_000_000), (0, 4000))
    )
    names = (141, 67, 84, 87, 397)
    assert set(names) <= set(READ)
    tim = '<TIM A="" D="4"><PTN A="" B="" C="" D="" E="" F="" G="" H="" I=""/>'
    tim += "".join(f'<DLV A="{d:04X}" B="" C="DET-1"/>' for d in names) + "</TIM>"
    log = b"".join(
        # Time of day and day; north, east; up, kind of fix, PDOP, HDOP, satellites, receiver's time of day and day.
        struct.pack("<IHiiiBHHBIHB", 7_200_000 + 200 * i, DAY, round(lat[i] * 1e7), round(lon[i] * 1e7), 131_000, 4,
                    11, 7, 17, 3_600_000 + 200 * i, DAY, 5)
        + b"".join(struct.pack("<Bi", k, int(v[i])) for k, v in enumerate((state, width, mass, flow, speed)))
        for i in range(n)
    )  # fmt: skip
    track, report = read_taskdata(write(tmp_path / "t", log, tim=tim), GRID)
    assert len(track) == n and not report.refused
    e, north = GRID.from_lonlat(lon, lat)
    assert np.abs(track["x"] - e).max() < 1e-6 and np.abs(track["y"] - north).max() < 1e-6
    zero = np.datetime64("1980-01-01").astype("M8[s]").astype(int) + DAY * 86_400 + 3600
    np.testing.assert_allclose(track["t_s"], zero + 0.2 * np.arange(n), atol=1e-6)
    assert track["header_down"].tolist() == state.tolist()
    np.testing.assert_allclose(track["width_m"], width / 1000)
    np.testing.assert_allclose(track["yield_t_ha"], mass * 1e-5)
    np.testing.assert_allclose(track["flow_kg_s"], flow * 1e-6)
    np.testing.assert_allclose(track["speed_m_s"], speed * 1e-3)


@pytest.mark.parametrize("version", ["3", "4"])
def test_both_versions_and_the_machines_settings(tmp_path, version):
    folder = write(tmp_path / "t", b"".join(RECORDS))
    main = folder / "TASKDATA.XML"
    main.write_text(main.read_text().replace('VersionMajor="4"', f'VersionMajor="{version}"'))
    track, report = read_taskdata(folder, GRID)
    assert len(track) == 4 and f"task data version {version}.2." in report.notes
    (machine,) = report.machines
    assert (machine.header_width_m, machine.header_ahead_m, machine.antenna_right_m) == (12.2, 3.6, 0.25)
    assert machine.machine == track["machine"].iloc[0]


def test_the_width_is_that_of_the_sections_that_work(tmp_path):
    """Two sections of 6 and 4 m by the device description; condensed work states say which of them cut."""
    body = (
        DEVICE.replace(
            '<DET A="DET-3"',
            '<DET A="S1" B="4" C="4"><DOR A="41"/></DET><DET A="S2" B="5" C="4"><DOR A="42"/></DET><DET A="DET-3"',
        ).replace("</DVC>", '<DPT A="41" B="0043" C="6000"/><DPT A="42" B="0043" C="4000"/></DVC>')
        + TASK
    )
    tim = '<TIM A="" D="4"><PTN A="" B="" D=""/><DLV A="00A1" B="" C="DET-2"/></TIM>'
    both, left, none = -16 + 0b0101, -16 + 0b0001, -16
    log = b"".join(record(1000 * i, -36.2, 141.6 + i * 1e-5, {0: v}) for i, v in enumerate((both, left, none)))
    track, _ = read_taskdata(write(tmp_path / "t", log, tim=tim, body=body), GRID)
    assert track["width_m"].tolist()[:2] == [10.0, 6.0]
    assert track["header_down"].tolist() == [1, 1, 0]
    # The same by a work state of each section's own.
    tim = tim.replace('<DLV A="00A1" B="" C="DET-2"/>', '<DLV A="008D" B="" C="S1"/><DLV A="008D" B="" C="S2"/>')
    log = record(0, -36.2, 141.6, {0: 1, 1: 1}) + record(1000, -36.2, 141.60001, {0: 0, 1: 1})
    track, _ = read_taskdata(write(tmp_path / "u", log, tim=tim, body=body), GRID)
    assert track["width_m"].tolist() == [10.0, 4.0]
    assert track["header_down"].tolist() == [1, 1]


def test_a_makers_own_speed_is_read_by_its_description(tmp_path):
    """DDI 57344 to 65534 are the maker's own (ISO 11783-11): name, unit and scale stand in the device description."""
    body = (
        DEVICE.replace(
            "</DVC>",
            '<DPD A="50" B="EA7E" C="1" D="1" E="Fahrgeschwindigkeit" F="60"/>'
            '<DVP A="60" B="0" C="0.1" D="1" E="km/h"/></DVC>',
        )
        + TASK
    )
    tim = '<TIM A="" D="4"><PTN A="" B="" D=""/><DLV A="EA7E" B="" C="DET-1"/></TIM>'
    track, _ = read_taskdata(write(tmp_path / "t", record(0, -36.2, 141.6, {0: 72}), tim=tim, body=body), GRID)
    assert track["speed_m_s"].tolist() == pytest.approx([2.0])


def test_progress_counts_bytes_of_all_logs(tmp_path):
    folder = write(tmp_path / "t", b"".join(RECORDS))
    seen = []
    read_taskdata(folder, GRID, progress=lambda done, total: seen.append((done, total)))
    assert seen[-1][1] == sum(f.stat().st_size for f in folder.iterdir())
