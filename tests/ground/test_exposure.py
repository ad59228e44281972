"""Closed forms follow from the stated geometry and equations: they check the code, not the science."""

import numpy as np
import pytest
import shapely
from scipy.special import ndtr

from mapper.ground.boundary import cut_boundary
from mapper.ground.exposure import HEADINGS_DEG, Hour, exposure_by_hour, labels, worst
from mapper.ground.fetch import fetch
from mapper.weather.wind import DirectionSpread

FUEL = 3.0


def exposure(*inputs):
    return worst(exposure_by_hour(*inputs))


def spread(from_deg, sigma=0.01):
    return DirectionSpread(np.ones(1), np.array([from_deg]), np.array([sigma]))


@pytest.fixture(scope="module")
def rectangle():
    area = shapely.box(0, 0, 1200, 600)
    pieces = cut_boundary(area)
    return pieces, fetch(pieces.mids, area, HEADINGS_DEG)


def test_depth_at_head_flank_and_back(rectangle):
    # U 10 km/h, moisture 10.59 %: R 0.3435 m/s, LB 3.202; 1800 s: east 618, north 99.1, west 15.9 m.
    pieces, table = rectangle
    found = exposure(pieces.facing_deg, table, [Hour(spread(270.0), 10.0, 0.3435, 1.1 * 10**0.464)], FUEL, 30.0)
    middle = {
        "east": np.argmin(np.hypot(*(pieces.mids - [1200, 300]).T)),
        "north": np.argmin(np.hypot(*(pieces.mids - [600, 600]).T)),
        "west": np.argmin(np.hypot(*(pieces.mids - [0, 300]).T)),
    }
    assert found.reach_m[middle["east"]] == pytest.approx(618, rel=0.01)
    assert found.reach_m[middle["north"]] == pytest.approx(99.1, rel=0.01)
    assert found.reach_m[middle["west"]] == pytest.approx(15.9, rel=0.01)
    assert found.intensity_kw_m[middle["east"]] > 5 * found.intensity_kw_m[middle["west"]]
    hourly = exposure_by_hour(pieces.facing_deg, table, [Hour(spread(270.0), 10.0, 0.3435, 3.2)], FUEL, 30.0)
    assert (hourly.intensity_kw_m <= hourly.head_kw_m[:, None] + 1e-9).all()


def test_reach_is_never_deeper_than_the_ground_behind(rectangle):
    pieces, table = rectangle
    found = exposure(pieces.facing_deg, table, [Hour(spread(270.0, 20.0), 30.0, 3.0, 5.0)], FUEL, 60.0)
    assert found.reach_m.max() <= np.hypot(1200, 600)
    assert found.reach_m.min() >= 0


@pytest.mark.parametrize(("offset", "chance"), [(40.0, 0.9088), (75.0, 0.1587), (90.0, 0.0228)])
def test_chance_of_lying_downwind(offset, chance):
    # One wrapped normal, sigma 15 degrees: P(|a| <= 60).
    table = np.full((1, 72), 100.0)
    found = exposure(np.array([90.0 + offset]), table, [Hour(spread(270.0, 15.0), 10.0, 0.3, 3.0)], FUEL, 30.0)
    assert found.chance_downwind[0] == pytest.approx(chance, abs=5e-4)
    assert ndtr((60 - offset) / 15) - ndtr((-60 - offset) / 15) == pytest.approx(chance, abs=5e-4)


def test_labels_go_round_the_compass():
    facing = np.array([90.0, 180.0, 270.0, 0.0])
    found = exposure(facing, np.full((4, 72), 500.0), [Hour(spread(270.0, 15.0), 10.0, 0.3, 3.0)], FUEL, 30.0)
    assert list(labels(found.chance_downwind, found.chance_flank)) == ["downwind", "flank", "upwind", "flank"]


def test_the_worst_hour_counts_and_directions_are_not_averaged():
    facing, table = np.array([90.0, 270.0, 0.0]), np.full((3, 72), 500.0)
    west, east = Hour(spread(270.0, 10.0), 10.0, 0.3, 3.0), Hour(spread(90.0, 10.0), 20.0, 0.6, 4.0)
    both = exposure(facing, table, [west, east], FUEL, 30.0)
    assert both.chance_downwind[0] > 0.99 and both.chance_downwind[1] > 0.99 and both.chance_downwind[2] < 0.01
    assert both.reach_m[0] == exposure(facing, table, [west], FUEL, 30.0).reach_m[0]
