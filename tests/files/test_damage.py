"""Logs damaged in every way a stick, a supply and a spreadsheet can: no traceback, and nothing silently wrong.

Each case is drawn by hypothesis from a seed. What must hold of every fix that is kept: it lies where the machine was
(within a metre of some true fix of about its time, or of the straight way between two), or the report says what was
left out, doubtful or turned round.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from mapper.farm.errors import MapperError
from mapper.files.tracks import read_tracks
from tests.files.drives import STYLES, Style, drive, write
from tests.files.test_taskdata import DEVICE, FIELDS, TASK, record
from tests.files.test_taskdata import write as write_taskdata

TEXT = [n for n in STYLES if n not in ("GPX", "NMEA", "GeoJSON", "Portuguese, UTF-16")]


def cut(rng, data):
    return data[: rng.integers(1, len(data))]


def lose(rng, data):
    at, n = rng.integers(0, len(data)), rng.integers(1, 400)
    return data[:at] + data[at + n :]


def noughts(rng, data):
    at, n = rng.integers(0, len(data)), rng.integers(1, 5000)
    return data[:at] + bytes(int(n)) + data[at:]


def rubbish(rng, data):
    at, n = rng.integers(0, len(data)), rng.integers(1, 300)
    return data[:at] + rng.bytes(n) + data[at + n :]


def mixed_line_ends(rng, data):
    lines = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    ends = [b"\n", b"\r\n", b"\n\n", b"\r"]
    return b"".join(line + ends[rng.integers(0, 4)] for line in lines)


def header_again(rng, data):
    lines = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    at = int(rng.integers(len(lines) // 3, len(lines)))
    return b"\n".join([*lines[:at], *lines[:6], *lines[at:]])


def lines_swapped(rng, data):
    lines = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    body = lines[8:-1]
    at = rng.permutation(len(body))
    return b"\n".join([*lines[:8], *(body[i] for i in at), lines[-1]])


def quotes(rng, data):
    for at in sorted(rng.integers(0, len(data), 3), reverse=True):
        data = data[:at] + b'"' + data[at:]
    return data


def figures_changed(rng, data):
    """Six figures, far apart: two wrong rows side by side may bear each other out."""
    data, part = bytearray(data), len(data) // 14
    for k in range(7, 13):
        digits = [i for i in range(k * part, k * part + part // 2) if 48 <= data[i] <= 57]
        if digits:
            data[digits[rng.integers(0, len(digits))]] = 48 + int(rng.integers(0, 10))
    return bytes(data)


DAMAGES = [cut, lose, noughts, rubbish, mixed_line_ends, header_again, lines_swapped, quotes, figures_changed]
DRIVES = {place: drive(place, passes=4, length=160.0) for place in {p for p, _ in STYLES.values()}}


def check(path, d, crs, tail_said=True):
    """Read; return where it is refused in a sentence. tail_said: what is lost is not just the end of the file."""
    try:
        track, report = read_tracks(path, d.grid, crs=crs, zone=d.zone)
    except MapperError as exc:
        said = str(exc)
        assert said.count("\n") == 0 and path.name.split(".")[0] in said
        return
    tree = cKDTree(d.table[["x", "y"]].to_numpy())
    apart, _ = tree.query(track[["x", "y"]].to_numpy())
    # Fixes are up to 2.6 m apart, so the way between two is at most 1.3 m from one.
    off = apart > 1.3 + 1.0
    lost = len(d.table) - len(track)
    said = " ".join([*report.repaired, *report.refused, *report.notes])
    # A figure of a coordinate that changed by a few metres looks like a receiver's own error: the row stage's cleaning
    # is for that. Farther off must not be there.
    assert apart[off].max(initial=0.0) < 12.0, (apart.max(), said)
    assert off.sum() <= 6, (int(off.sum()), said)
    # A file cut between two lines looks whole: only its end is missing.
    if lost > 12 and tail_said:
        assert report.repaired or report.refused or len(track) < 12, (lost, said)


@settings(max_examples=50)
@given(st.sampled_from(TEXT), st.sampled_from(DAMAGES), st.integers(0, 2**32 - 1))
def test_damaged_text(tmp_path_factory, name, damage, seed):
    place, make = STYLES[name]
    d = DRIVES[place]
    style = make(d)
    data = damage(np.random.default_rng(seed), style.content)
    check(write(Style(style.name, data, frozenset()), tmp_path_factory.mktemp("d")), d, style.crs, damage is not cut)


@settings(max_examples=20)
@given(st.sampled_from(["GPX", "NMEA"]), st.sampled_from([cut, lose, noughts, rubbish, figures_changed]),
       st.integers(0, 2**32 - 1))  # fmt: skip
def test_damaged_receivers(tmp_path_factory, name, damage, seed):
    place, make = STYLES[name]
    d = DRIVES[place]
    style = make(d)
    data = damage(np.random.default_rng(seed), style.content)
    check(write(Style(style.name, data, frozenset()), tmp_path_factory.mktemp("d")), d, style.crs, damage is not cut)


TIM_OF_TWO = '<TIM A="" D="4"><PTN A="" B="" D=""/><DLV A="008D" B="" C="DET-2"/><DLV A="0054" B="" C="DET-1"/></TIM>'


@settings(max_examples=40)
@given(st.sampled_from([cut, lose, noughts, rubbish]), st.integers(0, 2**32 - 1))
def test_damaged_time_logs(tmp_path_factory, damage, seed):
    """ISO 11783-10: bytes lost, mixed in or overwritten in a TLG file."""
    d = DRIVES["au"]
    rows = zip(d.table["lat"], d.table["lon"], d.table["down"], strict=True)
    log = b"".join(record(3_600_000 + 1000 * i, a, b, {0: k, 1: 300_000}) for i, (a, b, k) in enumerate(rows))
    data = damage(np.random.default_rng(seed), log)
    folder = write_taskdata(tmp_path_factory.mktemp("d") / "t", data, tim=TIM_OF_TWO, body=DEVICE + FIELDS + TASK)
    check(folder, d, None, damage is not cut)


@pytest.mark.parametrize("seed", range(5))
def test_bytes_lost_in_a_time_log_cost_a_few_records_only(tmp_path, seed):
    d = DRIVES["au"]
    rows = zip(d.table["lat"], d.table["lon"], d.table["down"], strict=True)
    log = b"".join(record(3_600_000 + 1000 * i, a, b, {0: k, 1: 300_000}) for i, (a, b, k) in enumerate(rows))
    rng = np.random.default_rng(seed)
    at = int(rng.integers(1000, len(log) - 1000))
    data = log[:at] + log[at + int(rng.integers(1, 26)) :]
    folder = write_taskdata(tmp_path / "t", data, tim=TIM_OF_TWO, body=DEVICE + FIELDS + TASK)
    track, report = read_tracks(folder, d.grid)
    assert len(track) >= len(d.table) - 4
    assert any("the file is damaged" in r for r in report.refused)


@pytest.mark.parametrize("style", ["plain metric", "no header", "cut names, no units"])
def test_a_shuffled_log_without_a_clock_is_refused(tmp_path, style):
    """Rows in no order, and neither time nor number to tell one: rows made of it would be rubbish."""
    d = drive(passes=8, length=300)
    table = d.table[["lat", "lon", "yield"]].round(8).sample(frac=1, random_state=1)
    path = tmp_path / f"{style}.csv"
    path.write_text(table.to_csv(index=False, header=style != "no header"))
    with pytest.raises(MapperError, match="in no order that could have been driven"):
        read_tracks(path, d.grid)


def test_a_header_that_turns_the_columns_round_half_way_is_followed(tmp_path):
    d = drive()
    first = d.table[["lat", "lon", "speed", "down"]].round(8)
    text = first.iloc[:300].to_csv(index=False) + first.iloc[300:][["lon", "down", "lat", "speed"]].to_csv(index=False)
    path = tmp_path / "two halves.csv"
    path.write_text(text)
    track, report = read_tracks(path, d.grid)
    assert np.hypot(track["x"] - d.table["x"], track["y"] - d.table["y"]).max() < 0.1
    assert any("read by its own header" in r for r in report.repaired)


@pytest.mark.parametrize(
    ("name", "factor", "said"),
    [("speed (km/h)", 1.0, "though its name says km/h"), ("yield (t/ha)", 1000.0, "is unusual"),
     ("width (m)", 3.28084 * 12, "is unusual")],
)  # fmt: skip
def test_a_lying_unit_is_said(tmp_path, name, factor, said):
    d = drive()
    t = d.table
    table = t.assign(**{name: t[name.split()[0]] * factor})[["t_s", "lat", "lon", name]].rename(
        columns={"t_s": "epoch"}
    )
    path = tmp_path / "lies.csv"
    path.write_text(table.to_csv(index=False))
    track, report = read_tracks(path, d.grid)
    assert any(said in n for n in report.notes)
    if name.startswith("speed"):
        assert np.median(track["speed_m_s"] / t["speed"]) == pytest.approx(1.0, abs=0.01)
