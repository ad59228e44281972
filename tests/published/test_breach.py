"""Fire over a break. Source: Wilson (1988) Can. J. For. Res. 18:682-687; abstract read, coefficients second-hand.

The paper's printed table of widths was not seen; the values are calc from the coefficients.
"""

import numpy as np
import pytest

from mapper.fire.breach import breach_chance, width_for

# kW/m -> no trees at 3, 4, 5, 10 m; trees at 3, 5, 10, 15 m; widths for 10 % and 1 %, no trees and trees.
CALC = {
    500: ([0.1931, 0.0817, 0.0320, 0.0002], [0.5987, 0.4110, 0.0945, 0.0154], (3.8, 6.2, 9.8, 16.1)),
    1000: ([0.2227, 0.0962, 0.0381, 0.0003], [0.6411, 0.4551, 0.1111, 0.0183], (4.0, 6.4, 10.3, 16.6)),
    2000: ([0.2911, 0.1324, 0.0537, 0.0004], [0.7191, 0.5449, 0.1519, 0.0261], (4.3, 6.7, 11.3, 17.6)),
    4000: ([0.4576, 0.2387, 0.1043, 0.0008], [0.8402, 0.7109, 0.2689, 0.0522], (5.0, 7.5, 13.2, 19.5)),
    10000: ([0.8797, 0.7311, 0.5025, 0.0071], [0.9785, 0.9552, 0.7613, 0.3230], (7.2, 9.7, 18.8, 25.1)),
    17000: ([0.9891, 0.9713, 0.9262, 0.0817], [0.9982, 0.9962, 0.9754, 0.8557], (9.8, 12.2, 25.5, 31.8)),
}


@pytest.mark.parametrize("intensity", CALC)
def test_chance_and_width(intensity):
    bare, trees, widths = CALC[intensity]
    np.testing.assert_allclose(breach_chance(intensity, [3, 4, 5, 10]).value, bare, atol=6e-5)
    np.testing.assert_allclose(breach_chance(intensity, [3, 5, 10, 15], trees=True).value, trees, atol=6e-5)
    got = [float(width_for(p, intensity, trees=t).value) for t in (False, True) for p in (0.1, 0.01)]
    np.testing.assert_allclose(got, widths, atol=0.051)


def test_the_abstract():
    """Abstract: chance rises with intensity and with trees, falls with width."""
    widths = np.linspace(1.5, 15, 30)
    for trees in (False, True):
        assert np.all(np.diff(breach_chance(3000, widths, trees).value) < 0)
    assert np.all(np.diff(breach_chance(np.linspace(100, 17000, 30), 5).value) > 0)
    assert np.all(breach_chance(3000, widths, True).value > breach_chance(3000, widths, False).value)
