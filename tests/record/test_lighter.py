"""Phone tracks of the lighter against the rows: simulated, with the truth known."""

import numpy as np
import pandas as pd
import pytest

from mapper.farm.errors import SettingError
from mapper.record.lighter import match_track
from tests.record.drives import drive
from tests.record.nights import night

PIECES = night().pieces


def test_98_percent_of_pieces_are_right_with_5_m_phone_error():
    right = told = 0
    for seed in range(4):
        rng = np.random.default_rng(seed)
        lit = [n for n in night().numbers if rng.random() > 0.1]
        track, begun = drive(PIECES, lit, rng)
        matches = {m.order_no: m for m in match_track(track, PIECES)}
        right += sum((n in matches) == (n in lit) for n in night().numbers)
        told += len(night().numbers)
        times = [
            abs((m.starts_at - track["time_utc"][0]).total_seconds() - begun[n])
            for n, m in matches.items()
            if n in begun
        ]
        assert np.percentile(times, 90) < 30
    assert right / told >= 0.98


def test_a_row_left_half_way_is_matched_half_way():
    half = PIECES[PIECES["order_no"] == 7].geometry.iloc[0]
    track, _ = drive(PIECES, [7], np.random.default_rng(3), error_m=1.0)
    part = track.iloc[: int(0.6 * len(track))]
    (match,) = match_track(part, PIECES)
    assert match.from_m == 0
    assert match.to_m == pytest.approx(0.6 * half.length, abs=15)


def test_driving_across_rows_lights_none():
    west, south, east, _ = PIECES.total_bounds
    x = np.arange(west, east, 5.0)
    times = pd.date_range("2026-04-18 09:00", periods=len(x), freq="s", tz="UTC").astype("datetime64[ns, UTC]")
    across = pd.DataFrame({"x": x, "y": np.full(len(x), south + 300), "time_utc": times})
    assert match_track(across, PIECES) == ()


def test_a_track_that_is_no_use_is_refused():
    track, _ = drive(PIECES, [7], np.random.default_rng(3))
    with pytest.raises(SettingError, match="no times"):
        match_track(track.assign(time_utc=pd.NaT), PIECES)
    with pytest.raises(SettingError, match="nowhere near"):
        match_track(track.assign(x=track["x"] + 50_000), PIECES)
