import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.errors import LayerError
from mapper.ground.boundary import cut_boundary, smooth, unit


@settings(max_examples=40, deadline=None)
@given(st.floats(30, 900), st.floats(30, 900), st.floats(0, 359), st.floats(3, 60))
def test_pieces_are_short_conserve_length_and_face_outward(width, height, turn, longest):
    area = shapely.affinity.rotate(shapely.box(0, 0, width, height), turn).difference(
        shapely.Point(width / 2, height / 2).buffer(min(width, height) / 5)
    )
    pieces = cut_boundary(area, longest)
    assert pieces.lengths_m.max() <= longest + 1e-9
    assert pieces.lengths_m.sum() == pytest.approx(area.length, rel=1e-9)
    out = pieces.mids + 0.01 * unit(pieces.facing_deg)
    assert not shapely.contains_xy(area, out).any()
    assert shapely.contains_xy(area, pieces.mids - 0.01 * unit(pieces.facing_deg)).all()
    assert pieces.inside.sum() > 0 and not pieces.inside.all()


def test_a_boundary_logged_every_metre_becomes_few_pieces():
    line = shapely.segmentize(shapely.box(0, 0, 500, 200), 1.0)
    assert len(cut_boundary(smooth(line)).mids) == len(cut_boundary(shapely.box(0, 0, 500, 200)).mids) == 56


def test_faces_of_a_square():
    pieces = cut_boundary(shapely.box(0, 0, 20, 20))
    assert sorted(np.round(pieces.facing_deg)) == [0, 90, 180, 270]


def test_an_area_without_size_is_refused():
    with pytest.raises(LayerError, match="no area"):
        cut_boundary(shapely.Polygon())
