"""The plume. Sources: Briggs' open-country widths and the Gaussian form, read; values calc unless said otherwise."""

import numpy as np
import pytest

from mapper.weather.direction import direction_spread
from mapper.weather.plume import briggs_sigmas, gaussian, line_plume, plume, plume_rise
from mapper.weather.smoke import row_rate_g_s, visibility_m
from mapper.weather.stability import inversion_likely, stability_class
from mapper.weather.wind import gust_estimate, height_factor
from tests.weather.hourly import forecast

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


def test_worked_example_of_a_textbook():
    """Fundamentals of Air Pollution, 3rd ed., p 305 (read): class B at 0.26, 0.28, 0.30 km.

    The book gives its own widths and 1.53, 1.56, 1.55e-5 g/m3; source height 40 m and Q/u 0.185 g/m inferred.
    """
    across, up = np.array([45.9, 49.0, 52.2]), np.array([26.2, 28.2, 30.1])
    got = gaussian(0.185, 1.0, across, up, height_m=40.0)
    np.testing.assert_allclose(got, [1.53e-5, 1.56e-5, 1.55e-5], rtol=0.02)
    assert got.argmax() == 1


def test_the_books_widths_are_near_ours():
    """The same page's Pasquill-Gifford widths of class B against Briggs' (two sources, same order)."""
    got = briggs_sigmas([260, 280, 300], "B")
    np.testing.assert_allclose(got.across, [45.9, 49.0, 52.2], rtol=0.15)
    np.testing.assert_allclose(got.up, [26.2, 28.2, 30.1], rtol=0.25)


@pytest.mark.parametrize(
    ("mw", "wind", "stability", "end", "reached"),
    [(1, 5, "D", 21.9, 191), (5, 5, "D", 73.2, 522), (10, 4, "C", 142.1, 713), (1, 2, "F", 40.4, 121),
     (5, 3, "E", 72.7, 240)],
)  # fmt: skip
def test_plume_rise(mw, wind, stability, end, reached):
    """Briggs as in EPA-454/B-95-003b (part read, part from memory; calc at 293 K): end height, and where reached."""
    assert plume_rise(mw * 1e6, wind, 20_000, stability) == pytest.approx(end, rel=0.01)
    rising = plume_rise(mw * 1e6, wind, [0.3 * reached, 0.9 * reached], stability)
    # 1.6 F^(1/3) x^(2/3) / u while it rises.
    assert rising[1] / rising[0] == pytest.approx(3 ** (2 / 3), rel=0.01) or stability in "EF"
    assert (rising <= end * 1.001).all()


# Pasquill's table, Fundamentals of Air Pollution 3rd ed. table 19-3 (read): wind m/s -> strong, moderate, slight sun;
# night with much cloud, with little. A pair where it gives two.
PASQUILL = {
    2.5: ("AB", "B", "C", "E", "F"),
    4.0: ("B", "BC", "C", "D", "E"),
    5.5: ("C", "CD", "D", "D", "D"),
    7.0: ("C", "D", "D", "D", "D"),
}


def test_turners_classes_lie_within_one_of_pasquills():
    for wind, row in PASQUILL.items():
        asked = [(wind, 0, 65, False), (wind, 0, 45, False), (wind, 0, 20, False), (wind, 60, -10, True),
                 (wind, 0, -10, True)]  # fmt: skip
        for (w, cloud, sun, night), wanted in zip(asked, row, strict=True):
            got = "ABCDEF".index(str(stability_class(w, cloud, sun, night)))
            assert min(abs(got - "ABCDEF".index(c)) for c in wanted) <= 1


def test_inversions():
    """GRDC 2022 with Pasquill (read): night or within an hour of it, cloud up to 4/10, wind under 3 m/s."""
    assert inversion_likely([2.9, 3.1, 2.9, 2.9], [30, 30, 50, 30], [True, True, True, False]).tolist() == [
        True, False, False, False,
    ]  # fmt: skip


def test_wind_at_other_heights():
    """FAO-56 eq 47: 0.748 for 2 m over 10 m (second-hand; 5 m/s read as 3.74); neutral log profiles (calc)."""
    for roughness, factor in ((0.01, 0.767), (0.03, 0.723), (0.1, 0.651)):
        assert np.log(2 / roughness) / np.log(10 / roughness) == pytest.approx(factor, abs=6e-4)
    assert height_factor(10, 2) == pytest.approx(0.723, abs=6e-4)
    assert height_factor(10, 2) == pytest.approx(0.748, rel=0.04)
    assert height_factor(10, 2, "trade") == pytest.approx(0.80, abs=1e-9)


def test_gusts():
    """Bureau of Meteorology (read), knots: 10 -> 14, 15 -> 21, 20 -> 28, 25 -> 35, 34 -> 48, 48 -> 67."""
    knots = np.array([10, 15, 20, 25, 34, 48])
    np.testing.assert_allclose(gust_estimate(knots * 1.852) / 1.852, [14, 21, 28, 35, 48, 67], atol=0.5)


def test_direction_wanders_by_class():
    """EPA-454/R-99-005 table 6-8a (read): lower limits 22.5, 17.5, 12.5, 7.5, 3.8 for A to E, F under 3.8."""
    table = forecast()
    at = table["time_utc"].iloc[0]
    found = [np.sqrt(direction_spread(table, at, (), at, s).sigmas_deg[0] ** 2 - 15.0**2) for s in "ABCDEF"]
    low, high = np.array([22.5, 17.5, 12.5, 7.5, 3.8, 0.0]), np.array([99, 22.5, 17.5, 12.5, 7.5, 3.8])
    assert ((found >= low) & (found <= high)).all()
