import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from mapper.draw.levels import Lines
from mapper.draw.view import View, fit_view

views = st.builds(
    View,
    st.tuples(st.floats(2e5, 8e5), st.floats(5e6, 7e6)),
    st.floats(0.001, 50),
    st.tuples(st.floats(50, 3000), st.floats(50, 3000)),
    st.floats(-45, 45),
)


@given(views, st.floats(-2000, 2000), st.floats(-2000, 2000))
def test_there_and_back(view, x, y):
    e, n = view.from_px(np.array([x]), np.array([y]))
    px, py = view.to_px(e, n)
    assert abs(px[0] - x) < 1e-3 * max(1, view.px_per_m) and abs(py[0] - y) < 1e-3 * max(1, view.px_per_m)


@given(views, st.floats(0.2, 5), st.floats(0, 500), st.floats(0, 500))
def test_zoom_keeps_the_place_under_the_pointer(view, factor, x, y):
    before = view.from_px(np.array(x), np.array(y))
    after = view.zoomed(factor, (x, y)).from_px(np.array(x), np.array(y))
    assert np.allclose(before, after, atol=1e-3 + 1e-3 / view.px_per_m)


def test_turn_is_clockwise():
    view = View((0.0, 0.0), 1.0, (100.0, 100.0), turn_deg=30.0)
    x, y = view.to_px(np.array(0.0), np.array(10.0))
    assert x > 50 and y < 50  # north leans right
    assert view.screen_bearing(0.0) == pytest.approx(30.0)


def test_old_frame_lands_where_it_belongs():
    old = View((500.0, 700.0), 0.5, (300.0, 200.0), 10.0)
    new = old.zoomed(2.0, (40.0, 60.0)).moved(13.0, -7.0)
    a, b, c, d, e, f = new.affine_from(old)
    east, north = np.array(520.0), np.array(690.0)
    ox, oy = old.to_px(east, north)
    nx, ny = new.to_px(east, north)
    assert (a * ox + c * oy + e, b * ox + d * oy + f) == (pytest.approx(float(nx)), pytest.approx(float(ny)))


def test_fit_shows_the_whole_box():
    view = fit_view((0, 0, 1000, 400), (640.0, 480.0), 20.0, 25.0)
    x, y = view.to_px(np.array([0, 1000, 1000, 0.0]), np.array([0, 0, 400, 400.0]))
    assert x.min() >= 19.9 and x.max() <= 620.1 and y.min() >= 19.9 and y.max() <= 460.1


def test_corners_on_a_straight_row_cost_no_ink():
    row = shapely.segmentize(shapely.LineString([(0, 0), (30, 900)]), 10.0)
    bent = shapely.LineString([(0, 0), (10, 100), (10.1, 200)])
    view = View((0.0, 400.0), 8.0, (9000.0, 9000.0))
    for shape, count in ((row, 1), (bent, 2)):
        assert len(Lines([shape]).segments(view)[0]) == count
