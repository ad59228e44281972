"""Arrival times: breaks, gaps, the horizon, what is refused. Closed forms stand in tests/published."""

import numpy as np
import pytest

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


def test_impossible_input_is_refused():
    with pytest.raises(MapperError, match="off the grid"):
        run(plain(11), [[0.4]], [[2.0]], [90.0], start=(20, 3))
    with pytest.raises(MapperError, match="not known"):
        run(plain(11), [[np.nan]], [[2.0]], [90.0])
    with pytest.raises(MapperError, match="hours"):
        run(plain(11), [[0.4], [0.5]], [[2.0], [2.0]], [90.0, 90.0], hours=(0.0, 0.0))
    with pytest.raises(MapperError, match="column"):
        run(plain(11) * 3, [[0.4]], [[2.0]], [90.0])
