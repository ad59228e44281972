"""Arrival times: breaks, gaps, the horizon, what is refused. Closed forms stand in tests/published."""

import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.errors import MapperError
from mapper.fire.arrival import arrival_times


def run(classes, head, lb, to, hours=(0.0,), start=None, cell=10.0, horizon=1e9, t0=0.0):
    rows, cols = classes.shape
    r, c = start or (rows // 2, cols // 2)
    head = np.column_stack([np.zeros(len(hours)), np.asarray(head, dtype=float)])
    lb = np.column_stack([np.ones(len(hours)), np.asarray(lb, dtype=float)])
    return arrival_times(classes.astype(np.uint16), cell, head, lb, to, hours, ([r], [c], [t0]), horizon)


def plain(n):
    return np.ones((n, n), np.uint16)


def test_a_break_holds_and_a_gap_lets_through():
    ground = plain(101)
    ground[:, 60] = 0
    got = run(ground, [[0.4]], [[3.2]], [90.0])
    assert np.isinf(got[:, 60:]).all()
    assert np.isfinite(got[:, :60]).all()
    ground[20, 60] = 1
    assert np.isfinite(run(ground, [[0.4]], [[3.2]], [90.0])[:, 61:]).all()


def test_a_slanting_break_of_cells_side_by_side_holds():
    ground = plain(101)
    for k in range(101):
        ground[k, min(k + 5, 100)] = ground[k, min(k + 6, 100)] = 0
    got = run(ground, [[0.4]], [[3.2]], [45.0], start=(60, 40))
    assert np.isinf(got[10, 40])
    assert np.isfinite(got[90, 40])


def test_nothing_past_the_horizon():
    got = run(plain(101), [[0.4]], [[2.0]], [90.0], horizon=600.0)
    assert np.nanmax(np.where(np.isfinite(got), got, np.nan)) <= 600
    assert np.isinf(got).any()


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(1, 6), st.floats(0, 360))
def test_more_fuel_faster_fire_or_more_wander_is_never_later(seed, lb, to):
    """Random patchwork of two fuels and bare cells. 3 % of slack: what the march may err (its target); 2.5 % seen."""
    rng = np.random.default_rng(seed)
    ground = rng.choice([0, 1, 1, 1, 2, 2], size=(41, 41))
    ground[20, 20] = 1
    plain_ = run(ground, [[0.3, 0.5]], [[lb, lb]], [to])
    assert plain_[20, 20] == 0
    assert not np.isnan(plain_).any()
    assert np.isinf(plain_[ground == 0]).all()
    known = np.isfinite(plain_)
    faster = run(ground, [[0.3, 0.6]], [[lb, lb]], [to])
    assert (faster[known] <= 1.03 * plain_[known] + 1).all()
    grown = np.where(ground == 0, 1, ground)
    assert (run(grown, [[0.3, 0.5]], [[lb, lb]], [to])[known] <= 1.03 * plain_[known] + 1).all()
    table = (np.array([[[0, 0.3, 0.5]]] * 3), np.array([[[1, lb, lb]]] * 3))
    fan = np.array([[[to + s] * 3] for s in (-15, 0, 15)])
    wide = arrival_times(ground.astype(np.uint16), 10.0, *table, fan, [0.0], ([20], [20], [0.0]), 1e9)
    assert (wide[known] <= 1.03 * plain_[known] + 1).all()


def test_later_starts_arrive_later_and_several_starts_take_the_first():
    one = run(plain(61), [[0.4]], [[2.0]], [90.0])
    later = run(plain(61), [[0.4]], [[2.0]], [90.0], t0=500.0)
    np.testing.assert_allclose(later, one + 500, rtol=1e-4)
    table = [[0, 0.4]], [[1, 2.0]], [90.0], [0.0]
    both = arrival_times(plain(61), 10.0, *table, ([30, 10], [30, 10], [0.0, 100.0]), 1e9)
    other = run(plain(61), [[0.4]], [[2.0]], [90.0], start=(10, 10), t0=100.0)
    np.testing.assert_allclose(both, np.minimum(one, other), rtol=0.03)


def test_a_still_hour_only_waits():
    """Nothing moves in the first hour; then it burns as ever."""
    got = run(plain(61), [[0.0], [0.4]], [[1.0], [2.0]], [90.0, 90.0], hours=(0.0, 3600.0))
    ref = run(plain(61), [[0.4]], [[2.0]], [90.0])
    away = np.ones_like(got, bool)
    away[30, 30] = False
    np.testing.assert_allclose(got[away], ref[away] + 3600, rtol=1e-3)


def test_impossible_input_is_refused():
    with pytest.raises(MapperError, match="off the grid"):
        run(plain(11), [[0.4]], [[2.0]], [90.0], start=(20, 3))
    with pytest.raises(MapperError, match="not known"):
        run(plain(11), [[np.nan]], [[2.0]], [90.0])
    with pytest.raises(MapperError, match="hours"):
        run(plain(11), [[0.4], [0.5]], [[2.0], [2.0]], [90.0, 90.0], hours=(0.0, 0.0))
    with pytest.raises(MapperError, match="column"):
        run(plain(11) * 3, [[0.4]], [[2.0]], [90.0])
    with pytest.raises(MapperError, match="neither one wind"):
        arrival_times(plain(11), 10.0, np.ones((2, 1, 2)), np.ones((2, 1, 2)), [0.0], [0.0], ([5], [5], [0.0]), 10.0)


@pytest.mark.slow
def test_a_thousand_by_a_thousand_to_four_hours_in_half_a_second():
    """The design's target; tests/bench/bench_arrival.py prints the figures."""
    took = []
    for _ in range(4):
        start = time.perf_counter()
        run(plain(1000), [[0.4]], [[3.2]], [100.0], horizon=4 * 3600.0)
        took.append(time.perf_counter() - start)
    assert min(took) < 0.5
