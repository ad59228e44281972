"""Phone tracks of the lighter against the rows: simulated, with the truth known."""

import numpy as np
import pandas as pd
import pytest

from mapper.farm.errors import SettingError
from mapper.record.lighter import match_track
from tests.demo import FIRST, _paddock_layers
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


def passes_across(speed_m_s: float, gap_m: float = 100.0) -> pd.DataFrame:
    """A drive to and fro across all rows, as where the wind blows along them."""
    west, south, east, north = PIECES.total_bounds
    spots: list[tuple[float, float]] = []
    for k, y in enumerate(np.arange(south + 50, north - 100, gap_m)):
        x = np.arange(west, east, speed_m_s)[:: 1 if k % 2 == 0 else -1]
        spots += [*((e, y) for e in x), *((x[-1], n) for n in np.arange(y, y + gap_m, speed_m_s))]
    rng = np.random.default_rng(1)
    xy = np.array(spots) + rng.normal(0, 3, (len(spots), 2))
    times = pd.date_range("2026-04-18 09:00", periods=len(xy), freq="s", tz="UTC").astype("datetime64[ns, UTC]")
    return pd.DataFrame({"x": xy[:, 0], "y": xy[:, 1], "time_utc": times})


@pytest.mark.parametrize("speed_m_s", [1.5, 3.3])
def test_passes_across_the_rows_are_refused_in_a_sentence(speed_m_s):
    with pytest.raises(SettingError, match="cannot tell a row lit from a row driven over"):
        match_track(passes_across(speed_m_s), PIECES)


def test_rows_crossed_on_the_way_home_are_not_lit():
    """Three rows are lit, then the lighter drives back over all of them, at a walk."""
    track, _ = drive(PIECES, [40, 41, 42], np.random.default_rng(5))
    west, south, east, _ = PIECES.total_bounds
    x = np.arange(west, east, 1.5)
    home = pd.DataFrame({"x": x, "y": np.full(len(x), south + 300.0)})
    home["time_utc"] = track["time_utc"].iloc[-1] + pd.to_timedelta(np.arange(1, len(x) + 1), unit="s")
    both = pd.concat([track, home], ignore_index=True)
    assert [m.order_no for m in match_track(both, PIECES)] == [40, 41, 42]


@pytest.mark.parametrize(("every_s", "pitch_m"), [(5, 12.0), (1, 9.0), (5, 9.0)])
def test_fixes_of_five_seconds_and_rows_nine_metres_apart(every_s, pitch_m):
    pieces = _paddock_layers("Bottom Dam", FIRST, False, pitch_m, 4)["pieces"]
    numbers = [int(n) for n in pieces["order_no"] if n > 0]
    rng = np.random.default_rng(1)
    lit = [n for n in numbers if rng.random() > 0.1]
    track, _ = drive(pieces, lit, rng)
    found = {m.order_no for m in match_track(track.iloc[::every_s], pieces)}
    assert sum((n in found) == (n in lit) for n in numbers) / len(numbers) >= 0.98


def test_a_track_that_is_no_use_is_refused():
    track, _ = drive(PIECES, [7], np.random.default_rng(3))
    with pytest.raises(SettingError, match="no times"):
        match_track(track.assign(time_utc=pd.NaT), PIECES)
    with pytest.raises(SettingError, match="nowhere near"):
        match_track(track.assign(x=track["x"] + 50_000), PIECES)
