from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.layers import make_layer
from mapper.ground.boundary import unit
from mapper.ground.buffers import care_buffers
from mapper.order.pieces import TURN_M, cut_rows, turns, unlit_ground
from tests.farms import EAST, GRID, NORTH, limits
from tests.order.paddocks import layers_of, straight_rows


def power_line(y):
    line = shapely.LineString([(EAST - 50, NORTH + y), (EAST + 900, NORTH + y + 40)])
    return make_layer("assets", {"asset": ["L"], "kind": ["power_line"], "name": ["Line 1"]}, [line], GRID.crs)


def test_a_row_under_a_power_line_is_left_there():
    _, rows = layers_of(straight_rows(10))
    unlit = unlit_ground(care_buffers(power_line(150), limits(), GRID.crs))
    pieces = cut_rows(rows, unlit, [90.0])
    left = [p for p in pieces if p.left_reason]
    assert len(pieces) == 30 and len(left) == 10
    assert {p.left_reason for p in left} == {"strip under Line 1 (20 m)"}
    assert all(38 < p.line.length < 42 for p in left)


def test_a_row_that_lies_in_a_break_is_left():
    _, rows = layers_of(straight_rows(3))
    breaks = make_layer("breaks_there", {"width_m": [8.0]},
                        [shapely.LineString([(EAST + 4, NORTH), (EAST + 4, NORTH + 400)])], GRID.crs)  # fmt: skip
    pieces = cut_rows(rows, unlit_ground(care_buffers(power_line(900), limits(), GRID.crs), breaks), [90.0])
    assert [p.left_reason for p in pieces] == ["lies in the 8 m break", "", ""]


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.floats(0, 359), st.floats(0, 359))
def test_lengths_are_conserved_and_pieces_do_not_turn(seed, to_deg, other_deg):
    random = np.random.default_rng(seed)
    walk = np.cumsum(random.normal([2, 1], 12, (40, 2)), axis=0) + np.array([EAST, NORTH])
    row = shapely.LineString(walk)
    ring = shapely.Point(EAST + 60, NORTH + 30).buffer(90).exterior
    layer = make_layer("windrows", {"row_id": ["a", "b"], "paddock": ["P", "P"]},
                       [row, shapely.LineString(ring.coords)], GRID.crs)  # fmt: skip
    pieces = cut_rows(layer, unlit_ground(care_buffers(power_line(30), limits(), GRID.crs)), [to_deg, other_deg])
    for name, line in zip(layer["row_id"], layer.geometry, strict=True):
        parts = [p.line for p in pieces if p.row_id == name]
        assert sum(p.length for p in parts) == pytest.approx(line.length, abs=1e-6)
        for a, b in pairwise(parts):
            assert np.allclose(a.coords[-1], b.coords[0], atol=1e-5)
    for p in pieces:
        if not p.left_reason:
            for to in (to_deg, other_deg):
                assert largest_return(shapely.get_coordinates(p.line) @ unit(to + 90)) <= TURN_M + 1e-6
    assert len({p.piece_id for p in pieces}) == len(pieces)


def largest_return(across):
    """How far a coordinate comes back from its extreme, in the direction that it comes back least."""
    up = np.max(np.maximum.accumulate(across) - across)
    down = np.max(across - np.minimum.accumulate(across))
    return min(up, down)


def test_a_lap_is_cut_where_it_turns_across_the_wind():
    # Begun half-way along a side: both corners that are furthest out across the wind.
    lap = np.array([[50.0, 0], [100, 0], [100, 200], [0, 200], [0, 0], [50, 0]])
    assert turns(lap, 135.0) == [2, 4]
    assert turns(np.array([[0.0, 0.0], [1.0, 50.0], [0.0, 100.0]]), 0.0) == []
