import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from mapper.order.blocks import block_area, block_numbers, letter


def test_letters_go_on_after_z():
    assert [letter(k) for k in (0, 1, 25, 26, 27, 701, 702)] == ["A", "B", "Z", "AA", "AB", "ZZ", "AAA"]


@given(st.lists(st.floats(1, 900), min_size=1, max_size=60), st.integers(0, 10))
def test_blocks_are_runs_in_order_and_edge_rows_stand_alone(gaps, edges):
    begin = np.cumsum(gaps)
    edge = np.arange(len(gaps)) < edges
    numbers = block_numbers(begin, edge, 2400.0)
    assert numbers[0] == 0 and set(np.diff(numbers)) <= {0, 1}
    if edge.any() and not edge.all():
        assert numbers[edge].max() < numbers[~edge].min()


def test_a_block_is_no_longer_than_its_time():
    numbers = block_numbers(np.arange(40) * 300.0, np.zeros(40, dtype=bool), 2400.0)
    for n in set(numbers):
        mine = np.arange(40)[numbers == n] * 300.0
        assert mine[-1] - mine[0] <= 1.25 * 2400.0


def test_edge_rows_are_parted_by_time_like_the_others():
    begin = np.arange(60) * 300.0
    edge = np.arange(60) < 45
    numbers = block_numbers(begin, edge, 2400.0)
    assert numbers[edge].max() >= 4 and numbers[edge].max() < numbers[~edge].min()


def test_a_short_inside_is_not_joined_to_the_edge_rows():
    numbers = block_numbers(np.array([0.0, 300.0, 2500.0, 2600.0]), np.array([True, True, True, False]), 2400.0)
    assert list(numbers) == [0, 0, 1, 2]


def test_the_ground_of_a_block_is_its_rows_and_stays_in_the_paddock():
    lines = [shapely.LineString([(6 + 12 * k, 0), (6 + 12 * k, 200)]) for k in range(5)]
    paddock = shapely.box(0, 0, 60, 200)
    area = block_area(lines, 12.0, paddock)
    assert area.area == pytest.approx(60 * 200, rel=0.01) and paddock.buffer(1e-6).covers(area)
