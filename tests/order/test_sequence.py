"""Closed forms follow from the stated geometry and speeds: they check the solver, not the trade."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.errors import Stopped
from mapper.order.precedence import first_hits
from mapper.order.sequence import LAG_S, Task, solve


def task_of(rows, to_deg=90.0, crews=1, lighting_s=360.0, **changes):
    """Straight rows, every piece the same lighting time, crews at 20 km/h between rows."""
    lines = [shapely.get_coordinates(r) for r in rows]
    n = len(lines)
    fields = {
        "ends": np.stack([[xy[0], xy[-1]] for xy in lines]),
        "allowed": np.ones((n, 2), dtype=bool),
        "lighting_s": np.full((crews, n), lighting_s),
        "out_s": np.zeros(n),
        "travel_m_s": np.full(crews, 20 / 3.6),
        "member": np.full(n, -1),
        "gate": np.full(n, -1),
        "phase": np.zeros(n, dtype=np.int64),
        "release_s": np.full(n, -1e9),
        "done_by_s": np.full(n, 1e9),
        "extra_s": np.zeros(n),
        "crew_until_s": np.full(crews, 1e9),
        "pairs": [first_hits(lines, to_deg)],
        "winds": np.array([[-1e9, 1e9]]),
        "windows": np.array([[0.0, 1e8]]),
        "crew_free_s": np.full(crews, -1e9),
        "crew_xy": np.full((crews, 2), np.nan),
    }
    return Task(**{**fields, **changes})


def rows(count, length=800.0, pitch=12.0, x0=0.0, y0=0.0):
    return [shapely.LineString([(x0 + k * pitch, y0), (x0 + k * pitch, y0 + length)]) for k in range(count)]


def violations(task, found, wind=0):
    begin = np.full(len(task.ends), np.inf)
    begin[found.pieces] = found.begin_s
    pairs = task.pairs[wind]
    lit = np.isfinite(begin[pairs.then])
    return int((begin[pairs.first][lit] >= begin[pairs.then][lit]).sum())


@pytest.mark.parametrize("to_deg", [0.0, 60.0, 90.0])
def test_a_hundred_straight_rows_by_one_crew(to_deg):
    # 100 rows x 800 m, 12 m apart: 240 s of driving and 120 s of points each; 99 x 12 m between them.
    task = task_of(rows(100), to_deg)
    found = solve(task)
    assert found.driven_m == pytest.approx(1188.0)
    assert found.out_s.max() - found.begin_s.min() == pytest.approx(36213.8, abs=0.1)
    assert violations(task, found) == 0 and len(found.pieces) == 100


def test_two_blocks_end_to_end():
    # 50 columns of two rows with 10 m between, wind to 45 degrees: 50 x 10 + 49 x 12 = 1088 m, column by column.
    task = task_of(rows(50) + rows(50, y0=810.0), 45.0)
    found = solve(task)
    assert found.driven_m == pytest.approx(1088.0)
    assert violations(task, found) == 0


def test_more_crews_finish_sooner_and_keep_their_distance():
    one, two, three = (solve(task_of(rows(60), 90.0, crews=c)) for c in (1, 2, 3))
    finish = [s.out_s.max() - s.begin_s.min() for s in (one, two, three)]
    assert finish[0] / finish[1] > 1.8 and finish[0] / finish[2] > 2.4
    task = task_of(rows(60), 90.0, crews=3)
    assert violations(task, three) == 0
    # Side by side the crew upwind is behind at every point: row k + 1 lies downwind of row k.
    order = np.argsort(three.pieces)
    begin, end, way = three.begin_s[order], three.end_s[order], three.way[order]
    for k in range(59):
        for share in (0.0, 1.0):
            at = [begin[j] + (share if way[j] == 0 else 1 - share) * (end[j] - begin[j]) for j in (k, k + 1)]
            assert at[0] >= at[1] + LAG_S * (three.crew[order][k] != three.crew[order][k + 1]) - 1e-6


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 3), st.integers(4, 30), st.floats(0, 359))
def test_no_violation_ever(seed, crews, count, to_deg):
    random = np.random.default_rng(seed)
    a = random.uniform(0, 900, (count, 2))
    lines = [shapely.LineString([p, p + random.normal(0, 150, 2)]) for p in a]
    task = task_of(lines, to_deg, crews, out_s=random.uniform(600, 3000, count),
                   lighting_s=random.uniform(60, 500, (crews, count)), windows=np.array([[0.0, 9000.0]]))  # fmt: skip
    found = solve(task, seed)
    assert violations(task, found) == 0
    assert (found.out_s <= 9000.0).all() and (found.begin_s >= 0).all()
    assert len(set(found.pieces)) == len(found.pieces)
    # No crew is in two places at once.
    for c in range(crews):
        mine = np.flatnonzero(found.crew == c)
        assert (found.begin_s[mine][1:] >= found.end_s[mine][:-1] - 1e-6).all()


def test_same_seed_same_schedule():
    task = task_of(rows(20) + rows(15, x0=400, y0=300), 45.0, 2)
    a, b = solve(task, 5), solve(task, 5)
    assert (a.pieces == b.pieces).all() and (a.begin_s == b.begin_s).all()


def test_edge_rows_are_out_before_the_inside_is_lit():
    edge = np.zeros(12, dtype=bool)
    edge[-2:] = True
    group = {"member": np.where(edge, 0, -1), "gate": np.where(edge, -1, 0), "phase": np.where(edge, 0, 1)}
    found = solve(task_of(rows(12), 90.0, crews=2, out_s=np.full(12, 1500.0), **group))
    first_inside = found.begin_s[~edge[found.pieces]].min()
    assert first_inside >= found.out_s[edge[found.pieces]].max()


def test_a_second_wind_is_respected_while_it_blows():
    # Wind to the east until 3000 s, then to the north: rows end to end northward must then go from the north.
    first, second = rows(4, 200.0), rows(4, 200.0, y0=260.0)
    lines = [shapely.get_coordinates(r) for r in first + second]
    crossing = [np.array([[-20.0, y], [60.0, y]]) for y in (520.0, 560.0)]
    task = task_of([shapely.LineString(xy) for xy in [*lines, *crossing]], 90.0, out_s=np.full(10, 600.0))
    both = task_of([shapely.LineString(xy) for xy in [*lines, *crossing]], 90.0, out_s=np.full(10, 600.0),
                   pairs=[task.pairs[0], first_hits([*lines, *crossing], 0.0)],
                   winds=np.array([[-1e9, 3000.0], [3000.0, 1e9]]))  # fmt: skip
    found = solve(both)
    begin = np.full(10, np.inf)
    begin[found.pieces] = found.begin_s
    for k, (a, b) in enumerate(both.winds):
        pairs = both.pairs[k]
        for first_, then in zip(pairs.first, pairs.then, strict=True):
            t = begin[then]
            if np.isfinite(t) and t < b and t + 360 + 600 > a:
                assert begin[first_] < t


def test_two_windows_are_used_one_after_the_other():
    windows = np.array([[0.0, 2000.0], [5000.0, 20000.0]])
    found = solve(task_of(rows(10), 90.0, windows=windows, out_s=np.full(10, 300.0)))
    assert len(found.pieces) == 10
    for begin, out in zip(found.begin_s, found.out_s, strict=True):
        assert any(a <= begin and out <= b for a, b in windows)


def test_stopping_is_asked_for():
    with pytest.raises(Stopped):
        solve(task_of(rows(20)), cancelled=lambda: True)
