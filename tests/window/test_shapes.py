"""Geometry of drawing, without Qt: each rule held against shapely or against plain trigonometry, on many shapes."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from mapper.window.shapes import ahead, crossings, follow_corner, right_angle, side_of, strips_inside
from mapper.window.snap import bearing_deg

COORD = st.floats(-2000, 2000).map(lambda v: round(v, 1))
CORNERS = st.lists(st.tuples(COORD, COORD), min_size=4, max_size=9, unique=True)


@settings(max_examples=150, deadline=None)
@given(CORNERS)
def test_a_ring_has_a_crossing_where_it_is_no_valid_area_and_only_there(corners):
    """Held against shapely's validity (JTS, IsValidOp)."""
    area = shapely.Polygon(corners)
    # Sides that run back on one line overlap without crossing at one place; the closing test refuses them too.
    assume(area.area > 1 and not _runs_on(corners))
    found = crossings(corners, closed=True)
    assert bool(found) == (not area.is_valid)
    for place in found:
        assert area.boundary.distance(shapely.Point(place)) < 1e-3


def _runs_on(corners):
    xy = np.array(corners)
    i, j, k = np.array(np.meshgrid(*[range(len(xy))] * 3)).reshape(3, -1)
    u, v = xy[j] - xy[i], xy[k] - xy[i]
    flat = abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) < 1e-6
    return bool((flat & (i < j) & (j < k)).any())


@settings(max_examples=100, deadline=None)
@given(st.tuples(COORD, COORD), st.floats(1, 5000), st.floats(0, 359.9))
def test_length_and_bearing_lead_there_and_back(start, length, bearing):
    there = ahead(start, length, bearing)
    assert math.dist(start, there) == pytest.approx(length, rel=1e-9, abs=1e-6)
    off = (bearing_deg(start, there) - bearing + 180) % 360 - 180
    assert abs(off) < 1e-3


@settings(max_examples=100, deadline=None)
@given(st.floats(0, 359), st.floats(50, 900), st.floats(20, 900), st.floats(-9, 9))
def test_a_right_angle_is_one_and_lies_within_reach(bearing, first, second, off):
    a = (0.0, 0.0)
    b = ahead(a, first, bearing)
    meant = ahead(b, second, (bearing + 90) % 360)
    near = ahead(meant, off, bearing) if off >= 0 else ahead(meant, -off, (bearing + 180) % 360)
    found = right_angle([a, b], near, 10.0)
    assert found is not None and found.words == "right angle to the side before"
    u, v = np.subtract(b, a), np.subtract(found[:2], b)
    assert abs(u @ v) / (np.hypot(*u) * np.hypot(*v)) < 1e-6
    assert math.dist(near, found[:2]) <= 10.0


@settings(max_examples=100, deadline=None)
@given(st.floats(-150, 150), st.floats(-90, 300), st.floats(60, 500))
def test_neighbours_still_share_their_fence_after_a_corner_has_moved(dx, dy, width):
    """Two paddocks side by side: whatever corner of the shared fence moves, no gap and no overlap opens."""
    left = [(0.0, 0.0), (0.0, 400.0), (300.0, 400.0), (300.0, 0.0)]
    right = [(300.0, 0.0), (300.0, 400.0), (300.0 + width, 400.0), (300.0 + width, 0.0)]
    at, to = (300.0, 400.0), (300.0 + dx, 400.0 + dy)
    assume(to[0] < 300 + width - 5)
    moved = [to if c == at else c for c in left]
    followed = follow_corner(right, at, to, [left[1], left[3]])
    a, b = shapely.Polygon(moved), shapely.Polygon(followed)
    assume(a.is_valid and b.is_valid)
    whole = a.union(b)
    assert whole.geom_type == "Polygon" and not whole.interiors
    assert a.intersection(b).area == pytest.approx(0, abs=1e-6)


def test_a_fence_that_only_runs_past_gets_a_corner_and_a_slide_along_it_none():
    long = [(300.0, -200.0), (300.0, 900.0), (800.0, 900.0), (800.0, -200.0)]
    sides = [(0.0, 400.0), (300.0, 0.0)]
    assert follow_corner(long, (300.0, 400.0), (260.0, 420.0), sides)[1] == (260.0, 420.0)
    assert follow_corner(long, (300.0, 400.0), (300.0, 450.0), sides) == long
    # A fence that ends on it square, with no side along it, leaves it alone.
    assert follow_corner(long, (300.0, 400.0), (260.0, 420.0), [(0.0, 400.0)]) == long


@settings(max_examples=60, deadline=None)
@given(st.integers(5, 40), st.floats(150, 900), st.floats(1, 12))
def test_a_strip_inside_stays_inside_and_touches_the_fence(n, radius, width):
    shape = shapely.Polygon([ahead((0.0, 0.0), radius, 360.0 * k / n) for k in range(n)])
    (line,) = strips_inside(shape, width)
    strip = line.buffer(width / 2, cap_style="flat", join_style="mitre")
    assert strip.difference(shape.buffer(0.01)).area < 0.01
    assert line.distance(shape.boundary) == pytest.approx(width / 2, abs=0.05)


def test_a_side_ends_where_the_fence_turns_and_its_strip_with_it():
    bowed = [(0.0, 0.0), (0.0, 300.0), (100.0, 320.0), (200.0, 320.0), (300.0, 300.0), (300.0, 0.0)]
    assert side_of(bowed, 2) == bowed[1:5]
    (line,) = strips_inside(shapely.Polygon(bowed), 4.0, side_of(bowed, 0))
    assert line.length == pytest.approx(296, abs=3) and line.bounds[2] < 3
