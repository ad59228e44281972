import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mapper.farm.farm import Crew, RowBurn
from mapper.order.lighting import lighting_times, may_begin, point_places


@given(st.floats(3, 3000), st.floats(5, 300))
def test_points_are_even_no_further_apart_than_asked_and_reach_both_ends(length, gap):
    at = point_places(length, gap)
    assert at[0] == 0 and at[-1] < length
    spaces = np.diff(at)
    assert (spaces <= gap * (1 + 1e-9)).all()
    half = length / (len(at) - 0.5) / 2
    assert length - at[-1] == pytest.approx(half) and half <= max(gap / 2, length) + 1e-9


def test_time_of_a_piece_is_driving_points_and_burn_out():
    # 800 m at 12 km/h is 240 s; 9 points of 5 s; half a space of 800/8.5/2 m at 4 m/min; 20 min.
    times = lighting_times(np.array([800.0]), (Crew("1"), Crew("2", light_km_h=6)), RowBurn())
    assert times.lighting_s[:, 0] == pytest.approx([285.0, 525.0])
    assert times.out_s[0] == pytest.approx(60 * (800 / 8.5 / 2 / 4 + 20))


def test_work_begins_at_the_downwind_end_unless_the_row_lies_across():
    lines = [np.array([[0.0, 0.0], end]) for end in ([0.0, 100.0], [100.0, 20.0], [0.0, -100.0])]
    assert may_begin(lines, 0.0, 45.0).tolist() == [[False, True], [True, True], [True, False]]


def test_a_row_that_runs_with_the_wind_for_part_of_its_way_is_begun_so_that_it_does_not():
    # First 100 m to the south-east, then 100 m to the north-east; the wind blows to the south-east, give or take 40.
    line = np.array([[0.0, 100.0], [70.0, 30.0], [140.0, 100.0]])
    assert may_begin([line], 135.0, 40.0).tolist() == [[False, True]]
