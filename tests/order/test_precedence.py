import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from mapper.order.pieces import cut_rows
from mapper.order.precedence import first_hits
from tests.order.paddocks import layers_of, straight_rows, turned


def lines_of(paddock, to_deg):
    pieces = cut_rows(layers_of(paddock)[1], (), [to_deg])
    return [shapely.get_coordinates(p.line) for p in pieces]


def closed(pairs, count):
    graph = coo_matrix((np.ones(len(pairs.first)), (pairs.first, pairs.then)), shape=(count, count))
    return connected_components(graph, directed=True, connection="strong")[0] == count


def test_rows_across_the_wind_go_one_after_the_other():
    lines = lines_of(straight_rows(6), 90.0)
    pairs = first_hits(lines, 90.0)
    assert sorted(zip(pairs.first, pairs.then, strict=True)) == [(k + 1, k) for k in range(5)]
    assert pairs.dropped == 0


def test_rows_along_the_wind_are_free():
    assert len(first_hits(lines_of(straight_rows(6), 0.0), 0.0).first) == 0


@pytest.mark.parametrize("to_deg", range(0, 360, 20))
def test_cut_laps_never_make_a_circle(to_deg):
    lines = lines_of(straight_rows(12, laps=3), to_deg)
    pairs = first_hits(lines, to_deg)
    assert pairs.dropped == 0 and closed(pairs, len(lines))


def test_uncut_laps_do_make_circles_and_they_are_taken_out():
    _, rows, _ = straight_rows(12, laps=2)
    lines = [shapely.get_coordinates(r) for r in rows]
    pairs = first_hits(lines, 30.0)
    assert pairs.dropped > 0 and closed(pairs, len(lines))


@settings(max_examples=20, deadline=None)
@given(st.floats(0, 359), st.floats(0, 359), st.floats(-5000, 5000))
def test_turning_or_shifting_everything_changes_no_pair(to_deg, turn, shift):
    paddock = straight_rows(8, laps=1)
    plain = first_hits(lines_of(paddock, to_deg), to_deg)
    moved = first_hits(lines_of(turned(paddock, turn, shift, -shift), to_deg + turn), to_deg + turn)
    strong = {(a, b) for a, b, n in zip(plain.first, plain.then, plain.lines, strict=True) if n > 2}
    # A scan line that grazes a corner may fall to either side; pairs with more lines must be the same.
    assert strong <= set(zip(moved.first, moved.then, strict=True))


def test_shares_say_where_the_scan_lines_meet():
    lines = [np.array([[0.0, 0.0], [0.0, 100.0]]), np.array([[12.0, 50.0], [12.0, 250.0]])]
    pairs = first_hits(lines, 90.0)
    assert (pairs.first[0], pairs.then[0]) == (1, 0)
    assert np.sort(pairs.first_share[0]) == pytest.approx([0.0, 0.25], abs=8 / 200)
    assert np.sort(pairs.then_share[0]) == pytest.approx([0.5, 1.0], abs=8 / 100)
