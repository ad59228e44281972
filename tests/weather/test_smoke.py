import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.weather.smoke import LEVELS_UG_M3, smoke_footprint
from mapper.weather.smokeat import fan_deg, smoke_between
from mapper.weather.wind import DirectionSpread

WEST = DirectionSpread(np.ones(1), np.full(1, 270.0), np.full(1, 5.0))
SOURCES = np.array([[0.0, 0.0], [150.0, 80.0], [300.0, -60.0]])
RATE = np.array([3.0, 2.0, 4.0])


def turned(spread, by):
    return DirectionSpread(spread.weights, spread.means_deg + by, spread.sigmas_deg)


def concentration_at(points, sources, rate, wind, spread, stability):
    """Smoke kept at the ground, made by damp straw."""
    return smoke_between(points, sources, rate, wind, spread, stability, 100.0, 100.0, 16.9).high


def test_smoke_goes_where_the_wind_blows_to():
    here = concentration_at([[1500, 0], [-1500, 0], [0, 1500]], SOURCES, RATE, 12, WEST, "D")
    assert here[0] > 100
    assert here[1] == 0
    assert here[2] < 0.01 * here[0]


def test_footprints_are_nested_and_hold_their_sources():
    areas = smoke_footprint(SOURCES, RATE, 12, WEST, "E")
    assert list(areas) == list(LEVELS_UG_M3)
    haze, smoke, thick = areas.values()
    assert haze.area > smoke.area > thick.area > 0
    assert smoke.difference(haze).area < 1e-3
    assert thick.difference(smoke).area < 1e-3
    # Within 100 m of a source the plume says nothing: counted in.
    assert thick.buffer(1).contains(shapely.MultiPoint(SOURCES).buffer(99))


def test_the_footprint_is_where_the_concentration_says():
    points = np.random.default_rng(7).uniform([-500, -2500], [8000, 2500], (3000, 2))
    level = concentration_at(points, SOURCES, RATE, 12, WEST, "D")
    inside = shapely.contains_xy(smoke_footprint(SOURCES, RATE, 12, WEST, "D")["haze"], points)
    assert not np.any((level > 32) & ~inside)
    assert np.mean((level < 18) & inside) < 0.01


def test_a_change_gives_a_fan_on_each_side():
    both = DirectionSpread(np.array([0.6, 0.4]), np.array([270.0, 180.0]), np.array([5.0, 5.0]))
    got = concentration_at([[2000, 0], [100, 2000], [-2000, 0]], SOURCES, RATE, 12, both, "D")
    assert got[0] > 25
    assert got[1] > 25
    assert got[2] == 0
    # A side that is hardly likely is left off.
    rare = DirectionSpread(np.array([0.95, 0.05]), both.means_deg, both.sigmas_deg)
    assert len(fan_deg(rare)) < len(fan_deg(both))


def test_nothing_alight_gives_nothing():
    assert all(a.is_empty for a in smoke_footprint(np.empty((0, 2)), [], 12, WEST, "D").values())
    assert all(a.is_empty for a in smoke_footprint(SOURCES, np.zeros(3), 12, WEST, "D").values())
    assert concentration_at([[10, 10]], np.empty((0, 2)), [], 12, WEST, "D").tolist() == [0]


def test_a_calm_counts_as_one_metre_a_second():
    calm, light = (concentration_at([[1000, 0]], SOURCES, RATE, w, WEST, "F")[0] for w in (0.0, 3.6))
    assert calm == light > 0


def test_reach_cuts():
    area = smoke_footprint(SOURCES, 100 * RATE, 12, WEST, "F", reach_m=2000)["haze"]
    assert area.bounds[2] <= 2000 + 300 + 100


@settings(max_examples=15, deadline=None)
@given(st.floats(0, 360), st.floats(-5e3, 5e3))
def test_turning_and_shifting_the_farm_turns_and_shifts_the_smoke(by, shift):
    t = -np.radians(by)
    turn = np.array([[np.cos(t), -np.sin(t)], [np.sin(t), np.cos(t)]])
    target = np.array([[900.0, 40.0], [2500.0, -200.0]])
    here = concentration_at(target, SOURCES, RATE, 14, WEST, "D")
    there = concentration_at(target @ turn.T + shift, SOURCES @ turn.T + shift, RATE, 14, turned(WEST, by), "D")
    np.testing.assert_allclose(there, here, rtol=1e-6, atol=1e-9)


def test_twice_the_fire_is_twice_the_smoke():
    one = concentration_at([[2000, 0]], SOURCES, RATE, 14, WEST, "D")
    assert concentration_at([[2000, 0]], SOURCES, 2 * RATE, 14, WEST, "D") == pytest.approx(2 * one)


def test_smoke_lies_between_two_ends_and_the_chance_falls_off_the_axis():
    points = [[1500, 0], [1500, 250], [1500, 1200]]
    found = smoke_between(points, SOURCES, RATE, 12, WEST, "E", 100.0, 10.0, 16.9)
    assert (found.low <= found.high).all()
    assert found.low[0] > 0
    assert (found.sure <= found.chance).all()
    assert found.sure[0] > 0
    assert 1 >= found.chance[0] > found.chance[1] > found.chance[2] == 0
    # Clean burning of dry straw cannot give less than itself: then only the rise is left.
    clean = smoke_between(points, SOURCES, RATE, 12, WEST, "E", 100.0, 10.0, 8.8)
    assert (clean.low <= clean.high).all()


@settings(max_examples=20, deadline=None)
@given(st.floats(0, 40), st.sampled_from("ABCDEF"), st.floats(150, 9000), st.floats(2, 40))
def test_smoke_is_finite_ordered_and_grows_with_the_fire(wind, stability, away, sigma):
    spread = DirectionSpread(np.ones(1), np.full(1, 270.0), np.full(1, sigma))
    points = [[away, 0.0], [away, 0.3 * away], [-away, 0.0]]
    one, two = (smoke_between(points, SOURCES, k * RATE, wind, spread, stability, 25.0, 100.0, 16.9) for k in (1, 2))
    for found in (one, two):
        assert all(np.isfinite(part).all() for part in found)
        assert (found.low <= found.high + 1e-9).all()
        assert ((found.chance >= 0) & (found.chance <= 1)).all()
    assert (two.high >= one.high).all()
    assert (two.chance >= one.chance - 1e-9).all()
