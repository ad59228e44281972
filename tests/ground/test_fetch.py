"""Closed forms follow from the stated geometry: they check the code, not the science."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.ground.boundary import cut_boundary, unit
from mapper.ground.fetch import fetch, fetch_at

HEADINGS = np.arange(0.0, 360.0, 5.0)


def conservation(area, to_deg, longest_m=25.0):
    """Sum over the boundary of length x cos+ x fetch, over the area, two Gauss points a piece: 1 for any wind."""
    pieces, total = cut_boundary(area, longest_m), 0.0
    head_on = np.clip(np.cos(np.radians(pieces.facing_deg - to_deg)), 0, None)
    for share in (0.5 - 0.5 / np.sqrt(3), 0.5 + 0.5 / np.sqrt(3)):
        at = pieces.starts + share * (pieces.ends - pieces.starts)
        total += (pieces.lengths_m / 2 * head_on * fetch(at, area, [to_deg])[:, 0]).sum()
    return total / area.area


SHAPES = {
    "rectangle": shapely.box(0, 0, 1200, 600),
    "with a dam": shapely.box(0, 0, 1200, 600).difference(shapely.Point(500, 300).buffer(80)),
    "hooked": shapely.box(0, 0, 900, 900).difference(shapely.box(300, 300, 900, 700)),
    "two parts": shapely.union_all([shapely.box(0, 0, 400, 300), shapely.box(500, 50, 800, 700)]),
}


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("to_deg", [0.0, 33.0, 90.0, 147.0, 251.0])
def test_fetch_over_the_boundary_adds_up_to_the_area(shape, to_deg):
    assert conservation(SHAPES[shape], to_deg) == pytest.approx(1.0, abs=0.01)


@settings(max_examples=25, deadline=None)
@given(st.floats(0, 359), st.floats(0.15, 0.9), st.integers(5, 9))
def test_it_adds_up_for_odd_shapes_too(to_deg, waist, corners):
    turn = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    radius = np.where(np.arange(corners) % 2, 600.0, 600.0 * waist)
    star = shapely.Polygon(np.stack([radius * np.sin(turn), radius * np.cos(turn)], axis=1))
    # Points shelter edges behind them, where two Gauss points in 25 m are coarse: cut finer.
    assert conservation(star, to_deg, 4.0) == pytest.approx(1.0, abs=0.01)


def test_fetch_in_a_circle_is_its_chord():
    # Circle of radius r: 2 r cos(b), b between the outward normal and the heading.
    r = 400.0
    circle = shapely.Point(0, 0).buffer(r, quad_segs=400)
    at = r * unit(70.0)[None, :]
    b = np.array([0.0, 20.0, 40.0, 60.0, 80.0])
    assert fetch(at, circle, 70.0 + b)[0] == pytest.approx(2 * r * np.cos(np.radians(b)), abs=2.0)
    assert fetch(at, circle, [70.0 + 100.0, 70.0 + 180.0])[0] == pytest.approx([0.0, 0.0])


def test_fetch_along_the_east_edge_of_a_rectangle():
    # 1200 x 600 m, wind to 45 degrees: sqrt(2) min(y, 1200).
    y = np.array([10.0, 150.0, 300.0, 590.0])
    at = np.stack([np.full(4, 1200.0), y], axis=1)
    assert fetch(at, SHAPES["rectangle"], [45.0])[:, 0] == pytest.approx(np.sqrt(2) * np.minimum(y, 1200), abs=1e-6)


def test_bare_ground_stops_the_run():
    area = shapely.box(0, 0, 1000, 100).difference(shapely.box(400, -10, 500, 110))
    assert fetch(np.array([[1000.0, 50.0]]), area, [90.0])[0, 0] == pytest.approx(500.0)


def test_a_point_a_little_off_the_edge_reads_as_on_it():
    area = shapely.box(0, 0, 1000, 100)
    assert fetch(np.array([[1000.3, 50.0]]), area, [90.0])[0, 0] == pytest.approx(1000.0, abs=0.5)


def test_reading_between_headings():
    table = np.array([[0.0, 90.0, 180.0, 270.0]])
    assert fetch_at(table, np.array([[45.0, 315.0, -90.0, 360.0]]))[0] == pytest.approx([45.0, 135.0, 270.0, 0.0])
