"""Intensity and flame length. Sources: Byram (1959), intensity read, flame length second-hand; values calc."""

import numpy as np
import pytest

from mapper.fire.flame import flame_height, flame_length, intensity


def test_flame_length():
    np.testing.assert_allclose(
        flame_length([100, 346, 500, 1000, 2000, 3000, 4000, 10000, 20000]),
        [0.64, 1.14, 1.35, 1.86, 2.56, 3.08, 3.52, 5.36, 7.38],
        atol=0.006,
    )
    # The inverse as Byram's followers print it (from memory): I = 259.833 L^2.174.
    assert 259.833 * flame_length(2000.0) ** 2.174 == pytest.approx(2000, rel=2e-3)


def test_intensity():
    assert intensity(2.0 / 3.6, 3.0, 18600) == pytest.approx(3100)


def test_flame_height():
    """2022 national system (second-hand; R in km/h or m/s not settled): R 7.2 km/h, in km/h 4.76 / 2.01 m (calc).

    In km/h it tracks the meter's table for average pasture (second-hand): R 1.3, 2.6, 5.2 km/h: 3.0, 3.5, 5.0 m.
    """
    assert flame_height(7.2 / 3.6, "natural") == pytest.approx(4.76, abs=0.006)
    assert flame_height(7.2 / 3.6, "grazed") == flame_height(7.2 / 3.6, "eaten_out") == pytest.approx(2.01, abs=0.01)
    table = flame_height(np.array([1.3, 2.6, 5.2]) / 3.6, "natural")
    np.testing.assert_allclose(table, [2.87, 3.53, 4.33], atol=0.006)
    np.testing.assert_allclose(table, [3.0, 3.5, 5.0], rtol=0.15)
