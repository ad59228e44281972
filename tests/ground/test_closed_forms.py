"""Closed forms of edges (shared design, section A): they follow from the stated geometry and equations, so they check
the code, not the science."""

import numpy as np
import pytest
import shapely
from scipy.special import ndtr

from mapper.fire.shape import back_share
from mapper.ground.beyond import soonest_min, travel_s
from mapper.ground.boundary import cut_boundary
from mapper.ground.exposure import HEADINGS_DEG, Hour, exposure_by_hour, labels, worst
from mapper.ground.fetch import fetch
from mapper.weather.wind import DirectionSpread

# U 10 km/h, moisture 10.59 %: head 0.3435 m/s, length to breadth 3.202; response 1800 s.
HEAD, LB, TAU_S = 0.3435, 1.1 * 10**0.464, 1800.0


def wind(from_deg, sigma=0.01):
    return DirectionSpread(np.ones(1), np.array([from_deg]), np.array([sigma]))


def reach(area, hours):
    pieces = cut_boundary(area)
    table = fetch(pieces.mids, area, HEADINGS_DEG)
    return pieces, exposure_by_hour(pieces.facing_deg, table, hours, 3.0, TAU_S / 60)


def escapes(east_m, north_m, count, seed):
    """Shares of fires lit anywhere in a box, west wind, that get to its east, north and west edge within TAU_S."""
    chance = np.random.default_rng(seed)
    x, y = chance.uniform(0, east_m, count), chance.uniform(0, north_m, count)
    back = HEAD * float(back_share(LB))
    a, c = (HEAD + back) / 2 * TAU_S, (HEAD - back) / 2 * TAU_S
    b, middle = np.sqrt(a**2 - c**2), x + c
    east, west = middle + a >= east_m, middle - a <= 0
    high = (north_m - y) / b
    half = a * np.sqrt(np.clip(1 - high**2, 0, None))
    north = (high <= 1) & (middle - half <= east_m) & (middle + half >= 0)
    return east.mean(), north.mean(), west.mean()


def test_depth_over_the_edge_against_fires_lit_at_random():
    # Design: 1200 x 600 m, U 10: east .515 v .519, north .144 v .154, west .013 v .013 of fires lit anywhere.
    pieces, hourly = reach(shapely.box(0, 0, 1200, 600), [Hour(wind(270.0), 10.0, HEAD, LB)])
    ground = hourly.reach_m[0] * pieces.lengths_m / (1200 * 600)
    shares = [ground[np.abs(pieces.facing_deg - facing) < 1].sum() for facing in (90.0, 0.0, 270.0)]
    assert shares == pytest.approx([0.515, 0.144, 0.013], abs=0.002)
    random = escapes(1200, 600, 200_000, seed=1)
    assert random == pytest.approx([0.515, 0.154, 0.013], abs=0.005)
    # The north edge differs by the fires that touch it with their flank beyond its end: .010 in the design too.
    assert shares == pytest.approx(random, abs=0.015)


def test_reach_of_a_circle_is_its_chord_or_its_rate():
    # Wind to the east, fetch 2 r cos(b): a small circle is limited by its ground, a large one by the fire's rate.
    for radius, limited in ((100.0, True), (3000.0, False)):
        pieces, hourly = reach(shapely.Point(0, 0).buffer(radius, quad_segs=200), [Hour(wind(270.0), 10.0, HEAD, LB)])
        east = int(np.argmax(pieces.mids[:, 0]))
        wanted = 2 * radius if limited else HEAD * TAU_S
        assert hourly.reach_m[0, east] == pytest.approx(wanted, rel=0.02)


@pytest.mark.parametrize(("offset", "chance"), [(40.0, 0.9088), (75.0, 0.1587), (90.0, 0.0228)])
def test_a_label_carries_its_chance(offset, chance):
    # Sigma 15 degrees, P(|a| <= 60): 0.9088 downwind, 0.1587 and 0.0228 flank, since 0.2 is asked for.
    assert ndtr((60 - offset) / 15) - ndtr((-60 - offset) / 15) == pytest.approx(chance, abs=5e-4)
    hour = Hour(wind(270.0, 15.0), 10.0, 0.3, 3.0)
    found = worst(exposure_by_hour(np.array([90.0 + offset]), np.full((1, 72), 100.0), [hour], 3.0, 30.0))
    assert found.chance_downwind[0] == pytest.approx(chance, abs=5e-4)
    name = labels(found.chance_downwind, found.chance_flank)[0]
    assert name == ("downwind" if chance >= 0.2 else "flank")


def test_two_winds_are_never_averaged():
    # A change from west to south half sure to have come: east and north edges, and not the north-east one alone.
    mixed = DirectionSpread(np.array([0.5, 0.5]), np.array([270.0, 180.0]), np.array([5.0, 5.0]))
    facing = np.array([90.0, 0.0, 45.0, 270.0])
    found = worst(exposure_by_hour(facing, np.full((4, 72), 500.0), [Hour(mixed, 10.0, 0.3, 3.0)], 3.0, 30.0))
    assert found.chance_downwind == pytest.approx([0.5, 0.5, 1.0, 0.0], abs=0.01)


def test_how_long_a_fire_takes_from_a_point():
    # Design, C: R .4 m/s, LB 3.2: T(1000, 0) 2500.0; (0, 1000) 49917.9; (-1000, 0) 97335.8; (1000, 300) 4697.9 s.
    for east, north, seconds in ((1000, 0, 2500.0), (0, 1000, 49917.9), (-1000, 0, 97335.8), (1000, 300, 4697.9)):
        off = np.degrees(np.arctan2(north, east))
        assert travel_s(np.hypot(east, north), abs(off), 0.4, 3.2) == pytest.approx(seconds, rel=1e-5)


def test_the_soonest_of_the_hours_counts_and_a_sigma_is_taken_off():
    across = np.array([[1000.0, 0.0], [0.0, 1000.0], [np.nan, np.nan]])
    west, south = Hour(wind(270.0, 1e-6), 10.0, 0.4, 3.2), Hour(wind(180.0, 20.0), 10.0, 0.2, 3.2)
    both = soonest_min(across, [west, south])
    assert both[:2] * 60 == pytest.approx([2500.0, 5000.0], rel=1e-6)
    assert np.isnan(both[2])
    # 15 degrees off a wind of sigma 20 is straight downwind.
    aside = soonest_min(np.array([[1000 * np.sin(np.radians(15)), 1000 * np.cos(np.radians(15))]]), [south])
    assert aside[0] * 60 == pytest.approx(5000.0, rel=1e-6)


def test_the_fiercer_of_two_hours_of_one_depth_counts():
    # Both hours reach through the whole of a small paddock; the stronger wind's fire is the one to hold.
    area = shapely.box(0, 0, 100, 100)
    slow, fast = Hour(wind(270.0), 5.0, 0.2, 2.3), Hour(wind(270.0), 25.0, 1.5, 4.9)
    pieces, hourly = reach(area, [slow, fast])
    east = int(np.argmax(pieces.mids[:, 0]))
    assert worst(hourly).intensity_kw_m[east] == hourly.intensity_kw_m[1, east] > 3 * hourly.intensity_kw_m[0, east]


def test_a_day_of_hours_costs_no_more_than_it_may():
    # 289 pieces took 21 ms in the prototype; 24 hours of 240 pieces within half a second on any machine.
    import time

    pieces = cut_boundary(shapely.box(0, 0, 2000, 1000), 25.0)
    table = fetch(pieces.mids, shapely.box(0, 0, 2000, 1000), HEADINGS_DEG)
    hours = [Hour(wind(10.0 * k, 18.0), 10.0, HEAD, LB) for k in range(24)]
    start = time.process_time()
    exposure_by_hour(pieces.facing_deg, table, hours, 3.0, 30.0)
    assert time.process_time() - start < 0.5
