"""Growth from a point. Cheney & Gould (1995) IJWF 5:237-247: abstract read, coefficients from memory."""

import numpy as np
import pytest

from mapper.fire.growth import front_share, lighting_words, minutes_from_point


def test_front_of_a_hundred_metres_is_near_full_rate():
    """Full rate needs a head of about 100 m or more (from memory): 85-95 % there in a light to moderate wind (calc)."""
    share = front_share(100.0, np.array([2.0, 4.0, 6.0]))
    np.testing.assert_allclose(share, [0.952, 0.914, 0.877], atol=1e-3)


def test_a_point_fire_is_never_faster_than_a_front_and_catches_up():
    run = np.array([50.0, 200.0, 1000.0, 3000.0])
    point = minutes_from_point(run, 0.4, 3.2, 2.0)
    front = run / 0.4 / 60
    assert np.all(np.diff(point) > 0)
    assert np.all(point[1:] >= front[1:])
    # Minutes, not hours: point fires in grass are near full rate within about a quarter of an hour (common practice, no
    # source); 200 m in this wind take under 20 min.
    assert point[1] < 20
    # Later by a delay that hardly grows once it is wide.
    assert point[3] - front[3] < 1.5 * (point[2] - front[2])


def test_words_carry_both_figures():
    front, single = lighting_words(300.0, 0.5, 3.2, 2.0)
    assert "30 m a minute" in front
    assert "10 min" in front
    assert "do not count on" in single
    with pytest.raises(Exception, match="cannot be"):
        front_share(-1.0, 2.0)
