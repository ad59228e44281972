import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mapper.farm.errors import MapperError
from mapper.fire.shape import back_share, length_to_breadth, normal_speed, support_direction


def ellipse(lb, n=20001):
    """The fire after one unit of time: points from its start, head along +x, left +y."""
    c = np.sqrt(1 - 1 / lb**2)
    back = (1 - c) / (1 + c)
    a, shift = (1 + back) / 2, (1 - back) / 2
    t = np.linspace(-np.pi, np.pi, n)
    return np.column_stack([shift + a * np.cos(t), a / lb * np.sin(t)])


@given(st.floats(1.001, 8), st.floats(-180, 180))
def test_normal_speed_is_the_support_of_the_ellipse(lb, angle):
    """The edge's advance along a direction is the farthest point's reach in it (geometry, no source)."""
    direction = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    points = ellipse(lb)
    reach = points @ direction
    assert normal_speed(1.0, lb, angle) == pytest.approx(reach.max(), abs=1e-6)


@given(st.floats(1.05, 8), st.floats(-170, 170))
def test_support_direction_points_at_that_point(lb, angle):
    direction = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    points = ellipse(lb, 200_001)
    x, y = points[np.argmax(points @ direction)]
    bearing = np.radians(support_direction(lb, angle))
    # The bearing of a point near the start is coarse on a grid: compare where it lies, not its angle.
    r = np.hypot(x, y)
    assert np.hypot(r * np.cos(bearing) - x, r * np.sin(bearing) - y) < 2e-3


def test_a_circle_in_a_calm():
    assert length_to_breadth([0, 0.9]).tolist() == [1, 1]
    np.testing.assert_allclose(normal_speed(2.0, 1.0, [0, 77, 180]), 2.0)
    assert back_share(1.0) == 1


def test_longer_in_more_wind():
    lb = length_to_breadth(np.linspace(0, 80, 161))
    assert np.all(np.diff(lb) >= 0)
    assert np.isnan(length_to_breadth(np.nan))
    with pytest.raises(MapperError):
        back_share(0.5)
