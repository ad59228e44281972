import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.farm import Crew, RowBurn
from mapper.ground.boundary import unit
from mapper.order.pieces import cut_rows
from mapper.order.precedence import first_hits
from mapper.order.strips import cut_strips, lies_along, light_strips
from tests.order.paddocks import layers_of, order_of, straight_rows, turned, window

CREW = Crew("1", light_km_h=12.0, dwell_s=5.0)


def pieces_of(paddock, to_deg):
    return cut_rows(layers_of(paddock)[1], (), [to_deg])


def light(pieces, to_deg, crews=(CREW,), windows=((0.0, 1e9),), **burn):
    return light_strips(pieces, to_deg, 12.0, crews, RowBurn(**burn), np.array(windows), 0.0)


def test_rows_close_to_the_wind_lie_along_it():
    lines = [p.line for p in pieces_of(straight_rows(5), 10.0)]
    assert lies_along(lines, 10.0, 20.0) and lies_along(lines, 190.0, 20.0)
    assert not lies_along(lines, 30.0, 20.0)


def test_time_across_the_rows_is_passes_by_rows_by_pitch_and_dwell():
    # 20 rows of 800 m, 9 points each: 9 passes of 20 dwells and 19 moves of 12 m, 8 moves of one space between passes.
    pieces = pieces_of(straight_rows(20, 800.0), 0.0)
    _, lit = light(pieces, 0.0, block_min=600)
    v, space = 12 / 3.6, 800 / 8.5
    last = max(b.points[:, 1].max() for b in lit) + 5.0
    assert last == pytest.approx(9 * (20 * 5.0 + 19 * 12 / v) + 8 * space / v)
    # Along every row it is 20 x (240 + 45) s: passes take less than half.
    assert last < 0.5 * 20 * (800 / v + 9 * 5.0)


@settings(max_examples=20, deadline=None)
@given(
    st.floats(0, 359), st.floats(-25, 25), st.integers(3, 15), st.integers(0, 2), st.integers(1, 3), st.floats(5, 60)
)
def test_each_piece_and_each_point_comes_after_what_lies_downwind(turn, skew, count, laps, crews, block_min):
    to_deg = (turn + skew) % 360
    pieces = pieces_of(turned(straight_rows(count, 350.0, laps=laps), turn), to_deg)
    cut, lit = light(pieces, to_deg, tuple(CREW for _ in range(crews)), block_min=block_min)
    assert len(lit) == len(cut) and all(np.isfinite(b.points).all() for b in lit)
    assert sum(p.line.length for p in cut) == pytest.approx(sum(p.line.length for p in pieces))
    begin = {b.piece.piece_id: b.begin_s for b in lit}
    pairs = first_hits([shapely.get_coordinates(p.line) for p in cut], to_deg)
    for first, then in zip(pairs.first, pairs.then, strict=True):
        assert begin[cut[first].piece_id] < begin[cut[then].piece_id]
    for b in lit:
        order = np.argsort(b.points[:, 0])
        assert (np.diff(b.points[order, 1]) > 0).all()


def test_strips_are_cut_across_the_wind_and_hold_their_pieces():
    to_deg = 12.0
    cut, strips = cut_strips(pieces_of(straight_rows(10, 500.0, laps=2), to_deg), to_deg, 130.0)
    far = max((shapely.get_coordinates(p.line) @ unit(to_deg)).max() for p in cut)
    for piece, strip in zip(cut, strips, strict=True):
        depth = far - shapely.get_coordinates(piece.line) @ unit(to_deg)
        assert depth.min() >= strip * 130.0 - 1e-3 and depth.max() <= (strip + 1) * 130.0 + 1e-3


def test_a_strip_that_cannot_be_out_in_time_is_not_begun():
    pieces = pieces_of(straight_rows(20, 800.0), 0.0)
    cut, lit = light(pieces, 0.0, windows=((0.0, 3000.0),), block_min=10)
    assert 0 < len(lit) < len(cut)
    assert max(b.out_s for b in lit) <= 3000.0
    done = {b.block for b in lit}
    assert done == set(range(len(done)))


def test_the_order_uses_passes_only_with_the_wind_along_the_rows():
    paddock = straight_rows(12, 500.0, laps=1)
    along = order_of(paddock, from_deg=185.0, windows=(window(6),))
    across = order_of(paddock, from_deg=270.0, windows=(window(6),))
    said = "lit in passes across them"
    assert any(said in r.text for r in along.remarks) and not any(said in r.text for r in across.remarks)
    assert "edge rows" in along.blocks.iloc[0]["note"]
    assert (along.pieces["order_no"] > 0).all()
