"""Rows of two seasons."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString

from mapper.farm.layers import make_layer
from mapper.rows.season import compare_seasons

CRS = "EPSG:7854"


def lines(shift=0.0, pitch=12.0, turn=0.0):
    return [
        affinity.rotate(
            LineString([(pitch * k + shift, 0), (pitch * k + shift, 400)][:: 1 if k % 2 else -1]), -turn, origin=(0, 0)
        )
        for k in range(8)
    ]


def both(shift, turn=0.0):
    now = make_layer("windrows", {"row_id": list("abcdefgh"), "paddock": ["P"] * 8}, lines(shift, turn=turn), CRS)
    return compare_seasons(now, make_layer("rows_before", {"paddock": ["P"] * 8}, lines(turn=turn), CRS), paddock="P")


@settings(max_examples=20, deadline=None)
@given(shift=st.floats(-2, 2), turn=st.floats(-80, 80))
def test_offset_and_share_by_hand(shift, turn):
    found = both(shift, turn)
    assert found.offset_m == pytest.approx(shift, abs=0.02)
    if abs(abs(shift) - 0.6) > 0.01:
        assert found.share_same == pytest.approx(float(abs(shift) < 0.6), abs=0.02)
    if found.share_same > 0.5:
        assert abs(found.shift_m) >= 1.0 and found.share_after < 0.05
        assert abs(found.offset_m + found.shift_m) >= 0.6 and "Potassium" in found.text


def test_nothing_to_compare():
    now = make_layer("windrows", {"row_id": list("abcdefgh"), "paddock": ["P"] * 8}, lines(), CRS)
    far = make_layer("rows_before", {"paddock": ["P"] * 8}, [affinity.translate(g, 900, 0) for g in lines()], CRS)
    assert np.isnan(compare_seasons(now, far, paddock="P").share_same)
    crossing = make_layer("rows_before", {}, [affinity.rotate(g, 90) for g in lines()], CRS)
    assert not compare_seasons(now, crossing, paddock="P").share_same > 0.05
