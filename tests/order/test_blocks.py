import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from mapper.order.blocks import block_area, block_numbers, letter


def test_letters_go_on_after_z():
    assert [letter(k) for k in (0, 1, 25, 26, 27, 701, 702)] == ["A", "B", "Z", "AA", "AB", "ZZ", "AAA"]


@given(st.lists(st.floats(1, 900), min_size=1, max_size=60), st.integers(0, 10), st.floats(300, 3000))
def test_blocks_are_runs_in_order_of_equal_time_and_span_no_two_phases(gaps, edges, block_s):
    begin = np.cumsum(gaps)
    phase = np.where(np.arange(len(gaps)) < edges, 0, 1)
    numbers = block_numbers(begin, phase, block_s)
    assert numbers[0] == 0 and set(np.diff(numbers)) <= {0, 1}
    if edges and edges < len(gaps):
        assert numbers[edges - 1] < numbers[edges]
    for n in set(numbers):
        mine = begin[numbers == n]
        assert mine[-1] - mine[0] <= block_s + 1e-6


def test_a_short_inside_is_not_joined_to_the_edge_rows():
    numbers = block_numbers(np.array([0.0, 300.0, 2300.0, 2600.0]), np.array([0, 0, 0, 1]), 2400.0)
    assert list(numbers) == [0, 0, 0, 1]


def test_time_is_shared_out_evenly():
    # 41 pieces 300 s apart are 12,000 s: five blocks of 2400 s.
    numbers = block_numbers(np.arange(41) * 300.0, np.zeros(41, dtype=np.int64), 2400.0)
    assert sorted(np.bincount(numbers)) == [8, 8, 8, 8, 9]


def test_the_ground_of_a_block_is_its_rows_and_stays_in_the_paddock():
    lines = [shapely.LineString([(6 + 12 * k, 0), (6 + 12 * k, 200)]) for k in range(5)]
    paddock = shapely.box(0, 0, 60, 200)
    area = block_area(lines, 12.0, paddock)
    assert area.area == pytest.approx(60 * 200, rel=0.01) and paddock.buffer(1e-6).covers(area)
