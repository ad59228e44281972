import numpy as np
import pytest

from mapper.farm.heights import Heights


@pytest.mark.parametrize(
    ("rise_east", "rise_north", "up"), [(0.1, 0, 90), (-0.1, 0, 270), (0, 0.1, 0), (0, -0.1, 180), (0.1, 0.1, 45)]
)
def test_slope_of_a_plane(rise_east, rise_north, up):
    """A plane's steepness is the arc tangent of its rise (geometry)."""
    x, y = np.meshgrid(np.arange(20) * 10.0, -np.arange(20) * 10.0)
    ground = Heights(rise_east * x + rise_north * y, 1000.0, 2000.0, 10.0)
    steep, way = ground.slope_at([1100.0], [1900.0])
    assert steep[0] == pytest.approx(np.degrees(np.arctan(np.hypot(rise_east, rise_north))))
    assert (way[0] - up + 180) % 360 - 180 == pytest.approx(0, abs=1e-6)


def test_off_the_model_or_where_it_says_nothing_counts_as_flat():
    values = np.arange(25.0).reshape(5, 5).copy()
    values[2, 2] = np.nan
    ground = Heights(values, 0.0, 50.0, 10.0)
    steep, up = ground.slope_at([25.0, 35.0, 500.0, -5.0], [25.0, 25.0, 25.0, 25.0])
    assert np.isfinite(steep).all()
    assert steep[1:].tolist() == [0, 0, 0]
    assert up[1:].tolist() == [0, 0, 0]
    assert Heights(np.ones((1, 1)), 0, 0, 10.0).slope_at([5.0], [-5.0])[0].tolist() == [0]
