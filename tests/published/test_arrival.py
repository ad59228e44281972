"""Arrival times against closed forms. Source: own closed form of the stated geometry (ellipse with its rear focus at
the start, straight rays, Snell's law and its sibling in wind, circular rays in a steady gradient, envelopes over a
change); they check the code, not the science. Errors held: the design's targets."""

import numpy as np
import pytest

from mapper.fire.arrival import arrival_times

AXIS = 5.0


def march(classes, head, lb, to, start, hours=(0.0,), cell=AXIS, horizon=1e9):
    """Arrival (s) from one cell at 0 s; head and lb (hours, classes 1...)."""
    head = np.column_stack([np.zeros(len(hours)), np.asarray(head, dtype=float)])
    lb = np.column_stack([np.ones(len(hours)), np.asarray(lb, dtype=float)])
    starts = [start[0]], [start[1]], [0.0]
    return arrival_times(classes.astype(np.uint16), cell, head, lb, to, hours, starts, horizon)


def at(times, start, x, y, cell=AXIS):
    return float(times[start[0] - round(y / cell), start[1] + round(x / cell)])


def ellipse(x, y, head, lb, to_deg):
    """Time to a point of the free fire."""
    c = np.sqrt(1 - 1 / lb**2)
    back = (1 - c) / (1 + c)
    a, k = head * (1 + back) / 2, head * (1 - back) / 2
    along = x * np.sin(np.radians(to_deg)) + y * np.cos(np.radians(to_deg))
    return (a * np.hypot(x, y) - k * along) / (a * a - k * k)


@pytest.mark.parametrize("to", [90.0, 100.0, 45.0, 17.0])
@pytest.mark.parametrize(("lb", "mean", "most"), [(1.0, 0.1, 0.3), (2.3, 1.0, 2.0), (3.2, 1.5, 3.0), (6.1, 3.1, 8.0)])
def test_the_free_fire(lb, mean, most, to):
    """Head (within 10 degrees of the wind) beyond 20 cells: mean 1.5 %, max 3 % up to LB 3.2; all cells far less."""
    n = 401
    times = march(np.ones((n, n)), [[0.4]], [[lb]], [to], (200, 200), cell=10.0)
    row, col = np.mgrid[:n, :n]
    x, y = 10.0 * (col - 200), -10.0 * (row - 200)
    far = np.hypot(x, y) > 200
    exact = ellipse(x, y, 0.4, lb, to)
    error = 100 * np.abs(times[far] / exact[far] - 1)
    head = np.abs((np.degrees(np.arctan2(x, y)) - to + 180) % 360 - 180)[far] <= 10
    assert error[head].mean() <= mean
    assert error[head].max() <= most
    assert error.mean() <= 0.2


def test_points_of_the_free_fire():
    """R .4 m/s, LB 3.2, wind to +x: 2500.0, 49917.9, 97335.8 and 4697.9 s."""
    start = 210, 210
    times = march(np.ones((421, 421)), [[0.4]], [[3.2]], [90.0], start)
    for x, y, expected in ((1000, 0, 2500.0), (0, 1000, 49917.9), (-1000, 0, 97335.8), (1000, 300, 4697.9)):
        assert at(times, start, x, y) == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("first", [210, 211])
def test_refraction_in_still_air(first):
    """.3 then .9 m/s across x = 1000 m, to (2000, 1000): 4822.04 s. The border lies on a cell's middle: both sides."""
    start, ground = (250, 10), np.ones((300, 430))
    ground[:, first:] = 2
    times = march(ground, [[0.3, 0.9]], [[1.0, 1.0]], [90.0], start)
    assert at(times, start, 2000, 1000) == pytest.approx(4822.04, rel=5e-3)


@pytest.mark.parametrize("first", [210, 211])
def test_refraction_in_wind(first):
    """Wind to 20 degrees left of +x, LB 3.2, .4 then .2 m/s, the same geometry: 9255.48 s."""
    start, ground = (250, 10), np.ones((300, 430))
    ground[:, first:] = 2
    times = march(ground, [[0.4, 0.2]], [[3.2, 3.2]], [70.0], start)
    assert at(times, start, 2000, 1000) == pytest.approx(9255.48, rel=5e-3)


def test_a_steady_gradient():
    """v = .2 + .0004 y m/s: to (1000, 1000) 3727.49 s, to (1000, 0) 4406.87 s."""
    rows, start = 300, (250, 10)
    ground = np.repeat(np.arange(1, rows + 1)[:, None], 300, axis=1)
    speed = np.maximum(0.2 + 0.0004 * AXIS * (start[0] - np.arange(rows)), 0.01)
    times = march(ground, [speed], [np.ones(rows)], [90.0], start)
    assert at(times, start, 1000, 1000) == pytest.approx(3727.49, rel=2e-3)
    assert at(times, start, 1000, 0) == pytest.approx(4406.87, rel=2e-3)


def test_a_wind_change():
    """At 1800 s from (.4, 3.2, +x) to (.6, 3.6, +y): 2609.5, 3389.9 and 5095.4 s."""
    start = 260, 60
    times = march(np.ones((320, 320)), [[0.4], [0.6]], [[3.2], [3.6]], [90.0, 0.0], start, hours=(0.0, 1800.0))
    for x, y, expected in ((300, 600, 2609.5), (0, 1000, 3389.9), (1000, 1000, 5095.4)):
        assert at(times, start, x, y) == pytest.approx(expected, rel=1e-2)


def test_round_a_wall():
    """Still air, .5 m/s, a wall from the start's right upward: two straight lines round its end."""
    start, ground = (150, 50), np.ones((200, 200))
    ground[100:, 90] = 0
    times = march(ground, [[0.5]], [[1.0]], [90.0], start)
    corner = np.hypot(40, 51) * AXIS
    past = np.hypot(60, 51) * AXIS
    assert at(times, start, 100 * AXIS, 0) == pytest.approx((corner + past) / 0.5, rel=1e-2)


@pytest.mark.parametrize(("lb", "to", "sigma"), [(3.2, 100.0, 18.0), (4.4, 45.0, 25.0), (1.0, 0.0, 30.0)])
def test_a_wind_that_turns_within_a_fan(lb, to, sigma):
    """Ahead, the time is that of the best steady wind in the fan; nowhere later, and behind a little sooner, since a
    wind that turns to and fro fills the hollow between two ellipses."""
    n = 301
    tables = (np.array([[[1.0, v]]] * 3) for v in (0.4, lb))
    turned = np.array([[[to + s, to + s]] for s in (-sigma, 0.0, sigma)])
    times = arrival_times(np.ones((n, n), np.uint16), 10.0, *tables, turned, [0.0], ([150], [150], [0.0]), 1e9)
    row, col = np.mgrid[:n, :n]
    x, y = 10.0 * (col - 150), -10.0 * (row - 150)
    far = np.hypot(x, y) > 200
    exact = np.min([ellipse(x, y, 0.4, lb, to + s) for s in np.linspace(-sigma, sigma, 121)], axis=0)
    error = 100 * (times[far] / exact[far] - 1)
    ahead = np.abs((np.degrees(np.arctan2(x, y)) - to + 180) % 360 - 180)[far] <= sigma + 10
    assert np.abs(error[ahead]).mean() <= 0.5
    assert np.abs(error[ahead]).max() <= 3.0
    assert error.max() <= 3.0
    assert error.min() >= -6.0
