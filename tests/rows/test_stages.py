"""Each stage by itself, by hand examples."""

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon, box

from mapper.farm.farm import Harvester
from mapper.rows.body import place_body
from mapper.rows.clean import clean_fixes
from mapper.rows.clip import clip_lines, thin_lines
from mapper.rows.cut import DOWN, OPENING, PERHAPS, UP, Swath, fresh_area
from mapper.rows.drop import drop_straw
from mapper.rows.number import across_order
from mapper.rows.order import order_fixes
from mapper.rows.path import resample
from mapper.rows.smooth import position_noise, smooth
from mapper.rows.tracklets import find_tracklets


def track(x, y, t=None, down=1, **more):
    n = len(x)
    nan = np.full(n, np.nan)
    return pd.DataFrame(
        {
            "t_s": np.arange(n, dtype=float) if t is None else np.asarray(t, float),
            "x": np.asarray(x, float),
            "y": np.asarray(y, float),
            "speed_m_s": nan,
            "heading_deg": nan,
            "header_down": np.full(n, down, "int8"),
            "width_m": nan,
            "flow_kg_s": nan,
            "yield_t_ha": nan,
            "machine": np.full(n, "A", object),
            **more,
        }
    )


def north(n=60, speed=2.0):
    return np.zeros(n), np.arange(n) * speed


def test_clock_that_jumps_back_keeps_the_files_order():
    x, y = north()
    t = np.arange(60.0)
    t[30:] -= 40
    order = order_fixes(t, x, y, np.full(60, 2.0))
    assert list(order.fix) == list(range(60)) and np.diff(order.t_s) == pytest.approx(1.0)


def test_clock_that_jumps_ahead_while_driving_on():
    x, y = north()
    t = np.arange(60.0)
    t[30:] += 300
    assert np.diff(order_fixes(t, x, y, np.full(60, 2.0)).t_s) == pytest.approx(1.0)
    # A machine that stood keeps its gap.
    y2 = y.copy()
    y2[30:] -= 1.9
    assert np.diff(order_fixes(t, x, y2, np.full(60, 2.0)).t_s).max() == pytest.approx(301.0)


@given(st.permutations(range(60)))
@settings(max_examples=10, deadline=None)
def test_shuffled_rows_are_sorted_by_the_clock(mixed):
    x, y = north()
    order = order_fixes(np.arange(60.0)[list(mixed)], x, y[list(mixed)], np.full(60, 2.0))
    assert np.all(np.diff(order.t_s) > 0)


def test_without_a_clock_the_interval_is_distance_over_speed():
    x, y = north(speed=6.0)
    order = order_fixes(np.full(60, np.nan), x, y, np.full(60, 2.0))
    assert not order.clocked and order.step_s == pytest.approx(3.0)


def test_interleaved_machines_and_wild_fixes_fall_apart():
    _, y = north(80)
    two_x, two_y = np.repeat(0.0, 160), np.repeat(y, 2)
    two_x[1::2] = 15.0
    two_y[1::2] = 160 - two_y[1::2]
    two_x[40] += 70.0
    t = np.repeat(np.arange(80.0), 2)
    label = find_tracklets(t, two_x, two_y, 1.0, True)
    assert label[40] == -1
    kept = np.delete(np.arange(160), 40)
    assert set(label[kept[kept % 2 == 0]]) == {label[0]} and set(label[1::2]) == {label[1]} and label[0] != label[1]
    # So they do without a clock.
    label = find_tracklets(np.arange(160.0), two_x, two_y, 1.0, False)
    assert len(set(label[label >= 0])) == 2 and label[40] == -1


def test_smoothing_keeps_a_straight_and_finds_the_noise():
    rng = np.random.default_rng(5)
    x, y = north(600)
    noisy = x + rng.normal(0, 0.1, 600), y + rng.normal(0, 0.1, 600)
    one = np.zeros(600, np.int64)
    noise = position_noise(*noisy, one)
    assert noise == pytest.approx(0.1, rel=0.15)
    sx, _ = smooth(np.arange(600.0), *noisy, one, noise)
    assert np.std(sx) < 0.06
    exact = smooth(np.arange(600.0), x, y, one, 0.1)
    assert np.abs(exact[1] - y).max() < 1e-6 and np.abs(exact[0]).max() < 1e-6


def test_gap_is_bridged_only_where_the_way_goes_on():
    x, y = north(120)
    t = np.arange(120.0)
    keep = (t < 40) | (t >= 70)
    path = resample(clean_fixes(log := track(x[keep], y[keep], t[keep])), log)
    assert path.piece.max() == 0 and path.guessed.sum() == 31
    assert path.y == pytest.approx(2 * path.t_s, abs=0.01)
    # The same gap, but the machine comes back the other way beside it.
    y2 = np.where(t >= 70, 80 - 2 * (t - 70), y)
    x2 = np.where(t >= 70, 12.0, 0.0)
    path = resample(clean_fixes(log := track(x2[keep], y2[keep], t[keep])), log)
    assert path.piece.max() == 1 and not path.guessed.any()


def test_header_chute_and_side_offset_by_hand():
    x, y = north(40)
    log = track(x, y)
    machine = Harvester("A", 12.0, chute_behind_m=4.0, header_ahead_m=3.5, antenna_right_m=0.5)
    path = resample(clean_fixes(log), log)
    body = place_body(path, machine)
    # Driving north with the antenna half a metre right: the centre line lies half a metre to the west.
    assert body.chute_x == pytest.approx(-0.5, abs=1e-6) and body.chute_y == pytest.approx(path.y - 4.0, abs=1e-6)
    assert body.left_x == pytest.approx(-6.5, abs=1e-6) and body.right_x == pytest.approx(5.5, abs=1e-6)
    assert body.left_y == pytest.approx(path.y + 3.5, abs=1e-6)


def test_reversing_turns_nothing_round_unless_it_goes_on():
    step = np.r_[np.full(30, 2.0), np.full(8, -1.5), np.full(40, 2.0)]
    log = track(np.zeros(78), np.cumsum(step), down=0)
    body = place_body(resample(clean_fixes(log), log), Harvester("A", 12.0))
    assert (body.hy > 0.99).all() and 5 <= body.reversing.sum() <= 11
    # 80 m backwards is driving: the turn was not seen.
    step = np.r_[np.full(30, 2.0), np.full(40, -2.0)]
    log = track(np.zeros(70), np.cumsum(step), down=0)
    assert not place_body(resample(clean_fixes(log), log), Harvester("A", 12.0)).reversing.any()


def swath_north(x0, n=50, width=12.0, step=2.0):
    y = np.arange(n) * step
    full = np.full(n, float(x0))
    before = np.r_[-1, np.arange(n - 1)]
    return Swath(full - width / 2, y, full + width / 2, y, before, np.arange(n), np.r_[0.0, np.full(n - 1, step)])


def test_fresh_area_is_exact_over_a_pass_and_counts_ground_once():
    one, two = swath_north(0.0), swath_north(7.0)
    both = Swath(
        *(np.r_[getattr(one, k), getattr(two, k)] for k in ("left_x", "left_y", "right_x", "right_y")),
        before=np.r_[one.before, np.where(two.before >= 0, two.before + 50, -1)],
        order=np.arange(100),
        step_m=np.r_[one.step_m, two.step_m],
    )
    area = fresh_area(both, np.full(100, DOWN, np.int8), None, 0.0)
    assert area[:50].sum() == pytest.approx(12 * 98, rel=0.005)
    assert area[50:].sum() == pytest.approx(7 * 98, rel=0.01)
    assert np.all(area >= 0) and area[0] == 0


def test_mask_with_a_hole():
    field = Polygon(box(-20, 10, 20, 80).exterior, [box(-3, 30, 3, 50).exterior.coords])
    area = fresh_area(swath_north(0.0), np.full(50, DOWN, np.int8), field, 0.0)
    assert area.sum() == pytest.approx(12 * 70 - 6 * 20, rel=0.01)


def test_states_of_the_header():
    swath = swath_north(0.0)
    assert fresh_area(swath, np.full(50, UP, np.int8), None, 0.0).sum() == 0
    assert fresh_area(swath, np.full(50, PERHAPS, np.int8), None, 0.0).sum() == pytest.approx(12 * 98, rel=0.005)
    opening = np.r_[np.zeros(20), np.full(3, OPENING), np.full(27, DOWN)].astype(np.int8)
    # All three opening seconds on standing crop: the flag is believed.
    assert fresh_area(swath, opening, None, 0.0)[:23].sum() == 0
    # The crop's edge among them: the flag came late.
    edge = fresh_area(swath, opening, box(-20, 41.0, 20, 200), 0.0)
    assert edge[20] < 1 and edge[21:23].sum() == pytest.approx(12 * 3, rel=0.15)


def dropped(speed=2.0, delay=10.0, first=20, last=60, n=100):
    log = track(*north(n, speed))
    path = resample(clean_fixes(log), log)
    body = place_body(path, Harvester("A", 12.0))
    cutting = np.zeros(n, bool)
    cutting[first:last] = True
    kg = np.where(cutting, 5.0, 0.0)
    return drop_straw(path, (body.chute_x, body.chute_y), kg, cutting, delay, 2.5)


@settings(max_examples=10, deadline=None)
@given(speed=st.floats(0.8, 3.0), delay=st.floats(0.0, 20.0))
def test_row_is_displaced_by_delay_times_speed_less_chute(speed, delay):
    found = dropped(speed, delay)
    (line,) = found.line
    # Cutting from second 19 to 59; the chute is 4 m behind the antenna.
    assert line.coords[0][1] == pytest.approx((19 + delay) * speed - 4.0, abs=0.02)
    assert line.coords[-1][1] == pytest.approx((59 + delay) * speed - 4.0, abs=0.02)
    assert found.kg.sum() + found.heap_kg.sum() + found.thin_kg == pytest.approx(200.0)


def test_straw_past_the_logs_end_is_drawn_on_and_marked():
    found = dropped(last=100)
    (line,) = found.line
    assert line.coords[-1][1] == pytest.approx((99 + 10) * 2.0 - 4.0, abs=0.1)
    assert found.tail.all() and found.guessed[0] == pytest.approx(10 / 80, abs=0.01)
    assert not dropped().tail.any()


def test_stop_makes_a_heap_and_keeps_the_mass():
    y = np.cumsum(np.r_[np.full(40, 2.0), np.linspace(2, 0, 4), np.zeros(30), np.linspace(0, 2, 4), np.full(40, 2.0)])
    log = track(np.zeros(len(y)), y)
    path = resample(clean_fixes(log), log)
    body = place_body(path, Harvester("A", 12.0))
    cutting = path.step_m > 0.3
    kg = np.where(cutting, 2.5 * path.step_m, 0.0)
    found = drop_straw(path, (body.chute_x, body.chute_y), kg, cutting, 10.0, 2.5)
    # Ten seconds of straw come out while it stands, from where it braked.
    assert len(found.heap) == 1 and 30 < found.heap_kg[0] < 60
    assert shapely.get_y(found.heap[0]) == pytest.approx(y[50] - 4.0, abs=0.5)
    # The machine has emptied itself: the next row begins a delay after it moved on, not at the heap.
    assert len(found.line) == 2 and found.line[1].coords[0][1] - found.line[0].coords[-1][1] > 10
    assert found.kg.sum() + found.heap_kg.sum() + found.thin_kg == pytest.approx(kg.sum())


def test_clipping_keeps_direction_and_pieces():
    line = np.array([LineString([(0, 0), (100, 0), (100, 20), (0, 20)])], object)
    pieces, of, begin = clip_lines(line, box(20, -5, 60, 30))
    assert [p.coords[0] for p in pieces] == [(20, 0), (60, 20)] and list(of) == [0, 0]
    assert list(begin) == pytest.approx([20.0, 160.0])
    assert [p.coords[-1] for p in pieces] == [(60, 0), (20, 20)]
    assert len(clip_lines(line, box(200, 200, 300, 300))[0]) == 0


def test_thinned_lines_keep_a_point_every_ten_metres():
    x = np.linspace(0, 300, 301)
    (line,) = thin_lines(np.array([LineString(np.column_stack((x, 0.005 * np.sin(x))))], object))
    steps = np.hypot(*np.diff(shapely.get_coordinates(line), axis=0).T)
    assert steps.max() <= 10 and len(steps) < 40


@given(st.permutations(range(12)))
@settings(max_examples=10, deadline=None)
def test_numbers_do_not_depend_on_the_order_found(mixed):
    lines = np.array([LineString([(12 * k, 0), (12 * k + 30, 400)][:: 1 if k % 2 else -1]) for k in range(12)], object)
    shuffled = lines[list(mixed)]
    assert [g.wkt for g in shuffled[across_order(shuffled)]] == [g.wkt for g in lines]
