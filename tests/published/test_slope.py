"""Slope. Up: McArthur, exp(0.069 s) (form from memory; doubling in 10 degrees read). Down: Sullivan et al. (2014) Env.
Modelling & Software 62:153-163, read. Values: calc."""

import numpy as np

from mapper.fire.slope import slope_factor


def test_up_and_down():
    np.testing.assert_allclose(slope_factor([5, 10, 15, 20]).value, [1.412, 1.994, 2.815, 3.975], atol=6e-4)
    np.testing.assert_allclose(slope_factor([-5, -10, -15, -20]).value, [0.7735, 0.6667, 0.6074, 0.5714], atol=6e-5)
    assert slope_factor(0).value == 1


def test_steeper_counts_as_twenty_degrees_and_is_flagged():
    got = slope_factor([-40, -20, 20, 40])
    assert got.outside.tolist() == [True, False, False, True]
    assert got.value[0] == got.value[1]
    assert got.value[3] == got.value[2]
