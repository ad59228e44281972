"""The plume. Sources: Briggs' open-country widths and the Gaussian form, read; values calc unless said otherwise."""

import numpy as np
import pytest

from mapper.weather.plume import briggs_sigmas, line_plume, plume
from mapper.weather.smoke import row_rate_g_s, visibility_m
from mapper.weather.stability import stability_class

# Class -> widths across / up at 100 m, 1 km, 5 km.
WIDTHS = {
    "A": [(21.89, 20.00), (209.8, 200), (898, 1000)],
    "B": [(15.92, 12.00), (152.6, 120), (653, 600)],
    "C": [(10.95, 7.92), (104.9, 73.03), (449, 282.8)],
    "D": [(7.96, 5.60), (76.28, 37.95), (326.6, 102.9)],
    "E": [(5.97, 2.91), (57.21, 23.08), (245, 60)],
    "F": [(3.98, 1.55), (38.14, 12.31), (163.3, 32)],
}


@pytest.mark.parametrize("stability", WIDTHS)
def test_widths(stability):
    got = briggs_sigmas([100, 1000, 5000], stability)
    np.testing.assert_allclose(got.across, [w[0] for w in WIDTHS[stability]], rtol=1.5e-3)
    np.testing.assert_allclose(got.up, [w[1] for w in WIDTHS[stability]], rtol=4e-3)


def test_order_of_magnitude_by_a_second_source():
    """Martin (1976) JAPCA 26:145 at 1 km: D 68/31.5, F 34/14.0 (read)."""
    for stability, across, up in (("D", 68, 31.5), ("F", 34, 14.0)):
        got = briggs_sigmas(1000, stability)
        assert got.across == pytest.approx(across, rel=0.25)
        assert got.up == pytest.approx(up, rel=0.25)


def test_concentrations():
    assert plume(1, 5, 1000, 0, "D") == pytest.approx(2.1994e-5, rel=1e-4)
    assert plume(1, 5, 1000, 0, "D", height_m=50) == pytest.approx(9.232e-6, rel=1e-3)
    assert plume(1, 5, 500, 50, "D", height_m=20) == pytest.approx(2.146e-5, rel=1e-3)
    assert plume(1, 2, 1000, 0, "F") == pytest.approx(3.391e-4, rel=1e-3)
    assert plume(1, 2, 5000, 0, "F") == pytest.approx(3.046e-5, rel=1e-3)
    assert line_plume(1, 4, 1000, "D") == pytest.approx(5.257e-3, rel=1e-3)


def test_a_line_is_many_points():
    """A long line across the wind is the sum of its points: ties the two equations together."""
    y = np.arange(-3000, 3000.5, 5.0)
    points = plume(5.0, 4, np.full(y.shape, 1000.0), y, "D").sum()
    assert points == pytest.approx(float(line_plume(1, 4, 1000, "D")), rel=1e-3)


def test_visibility():
    """V = 3.912 / b (read); MEE 5 m2/g, clean air 1.2e-5 (calc)."""
    np.testing.assert_allclose(
        visibility_m([25, 50, 100, 150, 300, 500, 1000, 5000], 40) / 1000,
        [28.6, 14.9, 7.64, 5.13, 2.59, 1.56, 0.78, 0.16],
        atol=0.06,
    )
    # Only in dry air, under 65 % (read; Achtemeier 2009 on superfog).
    assert np.isnan(visibility_m(100, [65, 90, np.nan])).all()


def test_smoke_of_a_metre_of_row():
    """2 kg/m2 x 0.6 m x 0.89 x 8.8 g/kg = 9.4 g of PM2.5 a metre (calc)."""
    assert row_rate_g_s(2 * 0.6, 1.0, 8.8) == pytest.approx(9.4, abs=0.01)


# Turner, EPA-454/R-99-005 section 6.4.1 (read): wind in knots, sun, cloud in tenths, night -> class.
TURNER = [
    (1, 70, 0, False, "A"), (5, 70, 0, False, "A"), (8, 70, 0, False, "B"), (12, 70, 0, False, "C"),
    (3, 40, 0, False, "B"), (6, 40, 0, False, "B"), (10, 40, 0, False, "C"), (12, 20, 0, False, "D"),
    (4, 10, 0, False, "D"), (7, 10, 0, False, "D"),
    (3, -10, 2, True, "F"), (6, -10, 2, True, "F"), (8, -10, 2, True, "E"), (10, -10, 2, True, "E"),
    (11, -10, 2, True, "D"), (5, -10, 7, True, "E"), (7, -10, 7, True, "D"), (3, -10, 10, True, "D"),
]  # fmt: skip


@pytest.mark.parametrize(("knots", "sun", "tenths", "night", "expected"), TURNER)
def test_stability(knots, sun, tenths, night, expected):
    assert stability_class(knots * 0.514444, tenths * 10, sun, night) == expected
