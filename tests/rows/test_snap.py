"""Passes of a drifting receiver go back on their grid; passes steered by hand stay where they lie."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.rows.antenna import antenna_side
from mapper.rows.clean import clean_fixes
from mapper.rows.path import resample
from mapper.rows.snap import snap_to_grid
from mapper.rows.state import cutting_state, pass_heading_deg
from tests.rows.test_stages import track


def passes(sideways, n=24, pitch=11.7, length=300.0, speed=2.0, turn_s=30):
    """Passes driven north and south by turns; `sideways(t, k, y)` moves the fixes east."""
    x, y, t, down, now = [], [], [], [], 0.0
    for k in range(n):
        s = np.arange(0, length, speed)
        along = s if k % 2 == 0 else length - s
        when = now + s / speed
        x.append(k * pitch + sideways(when, k, along))
        y.append(along)
        t.append(when)
        down.append(np.ones(len(s)))
        now = when[-1] + turn_s
        u = np.arange(1, turn_s) / turn_s
        when = t[-1][-1] + u * turn_s
        edge = length if k % 2 == 0 else 0.0
        bow = (1 if k % 2 == 0 else -1) * 12 * np.sin(np.pi * u)
        x.append(k * pitch + u * pitch + sideways(when, k + 0.5, np.full(len(u), edge)))
        y.append(edge + bow)
        t.append(when)
        down.append(np.zeros(len(u)))
    log = track(np.concatenate(x), np.concatenate(y), np.concatenate(t))
    log["header_down"] = np.concatenate(down).astype("int8")
    return resample(clean_fixes(log), log)


def snapped(path, asked=False, width=12.0):
    state = cutting_state(path, np.zeros(len(path), bool))
    return snap_to_grid(path, state, pass_heading_deg(path, state), width, 0.0, asked=asked)


def drift(seed, size=0.5, lasts=300.0):
    rng = np.random.default_rng(seed)
    every = np.arange(0, 20_000.0)
    walk = np.zeros(len(every))
    keep = np.exp(-1 / lasts)
    for i, shock in enumerate(rng.normal(0, size * np.sqrt(1 - keep**2), len(every) - 1)):
        walk[i + 1] = keep * walk[i] + shock
    return lambda t, k, y: np.interp(t, every, walk)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_drift_is_taken_out_unasked(seed):
    raw = passes(drift(seed))
    found = snapped(raw)
    assert found.spacing_m == pytest.approx(11.7, abs=0.1) and len(found.moved_m), found.reason
    straight = np.abs(found.path.vy) > 1.9
    before, after = (_off_grid(p.x[straight]) for p in (raw, found.path))
    # One offset for all passes, and its slope, cannot be told from the drift's own.
    assert np.std(after) < 0.75 * np.std(before) and abs(after.mean()) < 0.5


def _off_grid(x, pitch=11.7):
    return pitch * (x / pitch - np.round(x / pitch))


@settings(max_examples=12, deadline=None)
@given(seed=st.integers(0, 999), step=st.floats(0.0, 0.3), wave=st.floats(0.0, 0.4))
def test_hand_steered_passes_are_left_alone(seed, step, wave):
    # Each pass follows the last one's edge: an error stays in all that come after, bends are handed on.
    rng = np.random.default_rng(seed)
    start = np.cumsum(rng.normal(0, step, 30))
    phase = np.cumsum(rng.normal(0, 0.3, 30))

    def sideways(t, k, y):
        k = int(k)
        return start[k] + wave * np.sin(y / 40 + phase[k])

    assert not len(snapped(passes(sideways)).moved_m)


@settings(max_examples=6, deadline=None)
@given(seed=st.integers(0, 999), error=st.floats(0.0, 0.25))
def test_good_receiver_is_left_alone(seed, error):
    rng = np.random.default_rng(seed)
    own = rng.normal(0, error, 30)
    assert not len(snapped(passes(lambda t, k, y: np.full(len(t), own[int(k)]))).moved_m)


def test_asked_for_it_snaps_what_lies_on_a_grid_and_nothing_else():
    rng = np.random.default_rng(3)
    own = rng.normal(0, 0.3, 30)
    assert len(snapped(passes(lambda t, k, y: np.full(len(t), own[int(k)])), asked=True).moved_m)
    uneven = np.cumsum(rng.uniform(-6, 6, 30))
    alone = snapped(passes(lambda t, k, y: np.full(len(t), uneven[int(k)])), asked=True)
    assert not len(alone.moved_m) and "no even grid" in alone.reason


@pytest.mark.parametrize("right", [0.3, -0.2, 0.0])
def test_antenna_off_centre_shows_in_the_spacing(right):
    # By hand: 11.7 m steered; driven north the fixes lie `right` to the east, driven south to the west.
    rng = np.random.default_rng(6)
    own = rng.normal(0, 0.05, 30)

    def sideways(t, k, y):
        k = int(k)
        return np.full(len(t), own[k] + right * (1 if k % 2 == 0 else -1))

    path = passes(sideways)
    state = cutting_state(path, np.zeros(len(path), bool))
    found = antenna_side(path, state, 0.0, 12.0, 0.0)
    assert found.right_m == pytest.approx(right, abs=0.04) and found.clear == (right != 0)
    assert abs(antenna_side(path, state, 0.0, 12.0, right).right_m) < 0.04
