import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mapper.farm.errors import MapperError
from mapper.fire.shape import back_share
from mapper.fire.slope import on_slope, slope_factor

SLOPES, TURNS = st.floats(0, 20), st.floats(0, 360)


@given(st.floats(0.01, 5), st.floats(1.0, 8), TURNS)
def test_flat_ground_changes_nothing(head, lb, to):
    got = on_slope(head, lb, to, 0.0, 123.0)
    np.testing.assert_allclose(got[:2], [head, lb], rtol=1e-6)
    if lb > 1.001:
        assert (got[2] - to + 180) % 360 - 180 == pytest.approx(0, abs=1e-3)


@given(st.floats(1.5, 8), SLOPES)
def test_along_the_wind_head_and_back_take_their_factors(lb, slope):
    for up, sign in ((90.0, 1), (270.0, -1)):
        head, ratio, to = on_slope(1.0, lb, 90.0, slope, up)
        up_wind = back_share(lb) * slope_factor(-sign * slope).value
        wanted = slope_factor(sign * slope).value
        ahead = head if abs(to - 90) < 1 else head * back_share(ratio)
        behind = head * back_share(ratio) if abs(to - 90) < 1 else head
        assert ahead == pytest.approx(wanted, rel=1e-6)
        assert behind == pytest.approx(up_wind, rel=1e-6)


@given(st.floats(1.0, 8), SLOPES, TURNS)
def test_a_steeper_hill_never_slows_the_head_it_faces_and_the_ellipse_stays_one(lb, slope, up):
    head, ratio, to = on_slope(1.0, lb, 0.0, slope, up)
    assert head > 0
    assert ratio >= 1
    assert 0 <= to < 360
    assert slope_factor(slope).value >= 1


def test_fire_is_pushed_uphill_across_the_wind():
    head, _, to = on_slope(1.0, 3.0, 0.0, 15.0, 90.0)
    assert 0 < to < 30
    assert head > 1
    assert on_slope(1.0, 3.0, 0.0, 15.0, 270.0)[2] == pytest.approx(360 - to)


def test_still_air_on_a_hill_runs_up():
    head, _, to = on_slope(0.1, 1.0, 0.0, 10.0, 200.0)
    assert to == pytest.approx(200.0, abs=1.0)
    assert head > 0.1


def test_impossible():
    with pytest.raises(MapperError):
        slope_factor(95)
    assert np.isnan(slope_factor(np.nan).value)
