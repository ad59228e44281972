"""Rows from a pattern stay in the paddock, cover it, and say that they are estimates."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon, box

from mapper.farm.errors import SettingError
from mapper.farm.limits import Limit, LocalLimits
from mapper.rows.pattern import headland_rings, longest_side_deg, pattern_rows, straight_passes
from tests.rows.scenes import CRS, SMALL, paddock_of
from tests.rows.simulator import dam_and_tree


def rows(shape, heading=30.0, width=12.0, laps=2, load=1.5, **more):
    return pattern_rows(
        paddock_of(shape), CRS, heading_deg=heading, header_width_m=width, headland_laps=laps, load_kg_m=load, **more
    )


def test_rectangle_by_hand():
    # 240 m wide, 24 m of laps each side leave 192 m: 16 passes of 12 m, 500 - 48 m long; driven up and down by turns.
    passes = straight_passes(box(24, 24, 216, 476), 12.0, 0.0)
    assert len(passes) == 16
    assert shapely.length(passes) == pytest.approx(452.0)
    x = shapely.get_coordinates(passes)[::2, 0]
    assert np.diff(x) == pytest.approx(12.0) and x[0] == pytest.approx(30.0)
    north = [line.coords[-1][1] > line.coords[0][1] for line in passes]
    assert north[0] and not north[1] and north[2]
    rings = headland_rings(box(0, 0, 240, 500), 12.0, 2)
    assert sorted(round(r.bounds[0], 6) for r in rings) == [6.0, 18.0]


def test_heading_is_from_grid_north_clockwise():
    (one,) = straight_passes(box(-6, -6, 6, 100), 200.0, 0.0)
    assert one.coords[-1][1] > one.coords[0][1] and one.coords[0][0] == pytest.approx(one.coords[-1][0])
    passes = straight_passes(Polygon([(0, 0), (300, 0), (300, 300), (0, 300)]), 20.0, 90.0)
    assert all(abs(p.coords[0][1] - p.coords[-1][1]) < 1e-6 for p in passes)
    assert passes[0].coords[-1][0] > passes[0].coords[0][0]


@settings(max_examples=15, deadline=None)
@given(heading=st.floats(0, 360), width=st.floats(3, 18), laps=st.integers(0, 4), kind=st.integers(0, 2))
def test_inside_and_covering(heading, width, laps, kind):
    dammed = dam_and_tree(SMALL)
    shape = [
        SMALL,
        dammed,
        MultiPolygon([*dammed.geoms] if hasattr(dammed, "geoms") else [dammed, affinity.translate(SMALL, 600, 30)]),
    ][kind]
    found = rows(shape, heading, width, laps).windrows
    assert shapely.covers(shape.buffer(0.03), found.geometry.to_numpy()).all()
    assert found["row_id"].is_unique and set(found["evidence"]) == {"estimated"}
    # Every square metre goes through the header about once.
    assert found["length_m"].sum() * width == pytest.approx(shape.area, rel=0.12)


@settings(max_examples=8, deadline=None)
@given(angle=st.floats(0, 360), dx=st.floats(-3e5, 3e5), dy=st.floats(-3e6, 3e6))
def test_turned_and_moved_paddock(angle, dx, dy):
    shape = dam_and_tree(SMALL)
    moved = affinity.translate(affinity.rotate(shape, -angle, origin=(0, 0)), dx, dy)
    one, two = rows(shape, 40.0).windrows, rows(moved, 40.0 + angle).windrows
    assert len(one) == len(two)
    assert two["length_m"].sum() == pytest.approx(one["length_m"].sum(), rel=1e-4)


def test_missing_heading_takes_longest_side_and_says_so():
    found = rows(affinity.rotate(box(0, 0, 100, 400), -30, origin=(0, 0)), None)
    assert longest_side_deg(affinity.rotate(box(0, 0, 100, 400), -30, origin=(0, 0))) == pytest.approx(30.0)
    assert any("longest side" in r.text and "30 degrees" in r.text for r in found.remarks)
    assert any("estimated" in r.text for r in found.remarks)


def test_classes_and_load():
    limits = LocalLimits().with_limit(Limit("row_load_min", 20, "test", "2026-01-01"))
    light = rows(SMALL, load=0.9, limits=limits).windrows  # 0.9 kg/m on 0.6 m is 15 t/ha
    assert set(light["load_class"]) == {"light"} and light["load_t_ha"].iloc[0] == pytest.approx(15.0)
    assert set(rows(SMALL, load=2.0, limits=limits).windrows["load_class"]) == {""}


@pytest.mark.parametrize("wrong", [{"width": 0.3}, {"laps": -1}, {"load": -2.0}, {"row_width_m": 0.0}])
def test_impossible_settings_raise(wrong):
    with pytest.raises(SettingError):
        rows(SMALL, **wrong)


def test_too_narrow_paddock_gives_no_row_and_says_so():
    found = rows(box(0, 0, 1.0, 1.2), 0.0)
    assert found.windrows.empty and "too narrow" in found.remarks[-1].text
