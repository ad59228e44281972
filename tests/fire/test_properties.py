"""Properties of the fire equations on their whole valid box: finite, monotone, continuous but for published jumps.

Published jumps (equations held to the safe side of each): grass moisture branch at 10 km/h wind (the larger branch
within 2 km/h of it, so the step lies at 8 and 12 km/h); joins of under 0.2 % at 5 km/h wind and 12 % moisture; stubble
and grass states, which are classes; length to breadth at 1 km/h (1 to 1.1).
"""

import numpy as np
import pytest

from mapper.farm.errors import MapperError
from mapper.fire.breach import breach_chance, width_for
from mapper.fire.cost import bared_share, nutrient_loss
from mapper.fire.flame import flame_height, flame_length, intensity
from mapper.fire.growth import front_share
from mapper.fire.kill import WEEDS, heat_band, seed_killed
from mapper.fire.seed import fewer_seedlings, through_header
from mapper.fire.shape import length_to_breadth
from mapper.fire.slope import slope_factor
from mapper.fire.spread import grass_spread
from mapper.fire.stubble import standing_stubble_t_ha

UP, DOWN = 1, -1
LOW, HIGH = "low", "high"


def _killed(part, weed="annual ryegrass"):
    return lambda load, damp, wind: getattr(seed_killed(heat_band(load, damp, wind), weed), part)


# name: function, then for each argument its range and which way the value goes with it (0: no claim).
BOX = {
    "intensity": (intensity, (0, 20, UP), (0, 15, UP)),
    "flame length": (flame_length, (0, 100_000, UP)),
    "flame height": (flame_height, (0, 20, UP)),
    "slope": (lambda s: slope_factor(s).value, (-20, 20, UP)),
    "breach": (lambda i, w: breach_chance(i, w).value, (0, 17_000, UP), (1.5, 15, DOWN)),
    "breach, trees": (lambda i, w: breach_chance(i, w, True).value, (0, 17_000, UP), (1.5, 15, DOWN)),
    "width": (lambda p, i: width_for(p, i).value, (0.001, 0.5, DOWN), (0, 17_000, UP)),
    "front": (front_share, (1, 500, UP), (0, 15, DOWN)),
    "stubble": (standing_stubble_t_ha, (0, 8, UP), (0, 0.6, UP)),
    "heat, careful": (lambda *a: heat_band(*a).low, (8, 45, UP), (0, 25, DOWN), (0, 25, DOWN)),
    "heat, hopeful": (lambda *a: heat_band(*a).high, (8, 45, UP), (0, 25, DOWN), (0, 25, DOWN)),
    "kill, careful": (_killed(LOW), (8, 45, UP), (0, 25, DOWN), (0, 25, DOWN)),
    "kill, hopeful": (_killed(HIGH), (8, 45, UP), (0, 25, DOWN), (0, 25, DOWN)),
    "seed, careful": (lambda h, d: through_header(h, d).low, (0.1, 0.4, DOWN), (0, 28, DOWN)),
    "seed, hopeful": (lambda h, d: through_header(h, d).high, (0.1, 0.4, DOWN), (0, 28, DOWN)),
    "nutrients": (lambda t: nutrient_loss(t).cost_same_place, (0, 10, UP)),
    "bare": (bared_share, (6, 40, DOWN), (0.3, 2, UP)),
}


@pytest.mark.parametrize("name", BOX)
def test_finite_monotone_and_continuous(name):
    function, *box = BOX[name]
    coarse = [np.linspace(low, high, 7) for low, high, _ in box]
    for axis, (low, high, way) in enumerate(box):
        fine = np.linspace(low, high, 1501)
        grids = np.meshgrid(*[fine if k == axis else c for k, c in enumerate(coarse)], indexing="ij")
        value = np.asarray(function(*grids))
        assert np.isfinite(value).all()
        step = np.diff(value, axis=axis)
        if way:
            assert (way * step >= -1e-9 * np.abs(value).max()).all()
        # No jump: the steepest step of the fine grid shrinks with the grid.
        rough = np.abs(np.diff(np.take(value, range(0, 1501, 15), axis=axis), axis=axis)).max()
        assert np.abs(step).max() <= 0.6 * rough + 1e-12


@pytest.mark.parametrize("state", ["natural", "grazed", "eaten_out"])
def test_spread_jumps_only_where_published(state):
    wind = np.linspace(0, 60, 6001)
    for moisture in (4.0, 11.0, 14.0, 18.0):
        rate = grass_spread(wind, moisture, 100, state).value
        assert np.isfinite(rate).all()
        jumps = wind[1:][np.abs(np.diff(rate)) > 0.02 * rate.max()]
        assert all(min(abs(w - 8), abs(w - 12)) < 0.02 for w in jumps)
        assert moisture > 12 or len(jumps) == 0
    curing = np.linspace(20, 100, 801)
    assert (np.diff(grass_spread(20, 8, curing, state).value) > 0).all()


def test_shape_is_a_circle_below_one_km_h():
    wind = np.linspace(0, 60, 6001)
    jumps = wind[1:][np.abs(np.diff(length_to_breadth(wind))) > 0.05]
    assert np.allclose(jumps, [1.0], atol=0.011)


def test_outside_is_clamped_to_the_safe_side_and_flagged():
    assert heat_band(80.0, 9, 8).low == heat_band(45.0, 9, 8).low
    assert heat_band([80.0, 5.0, 20, 20], [9, 9, 30, 9], [8, 8, 8, 40]).outside.all()
    assert not heat_band(20.0, 9, 8).outside
    # Lower than measured collects no more than the lowest cut measured; long after maturity, nothing is promised.
    assert through_header(0.02, 0).low == through_header(0.10, 0).low
    assert through_header([0.02, 0.6, 0.15], [0, 0, 90]).outside.all()
    assert through_header(0.15, 200.0).low == 0


@pytest.mark.parametrize("weed", WEEDS)
def test_bands_are_bands(weed):
    load, damp, wind = np.meshgrid(np.linspace(0, 60, 13), np.linspace(0, 60, 13), np.linspace(0, 60, 7))
    killed = seed_killed(heat_band(load, damp, wind), weed)
    entered = through_header(0.15, 10.0, weed)
    fewer = fewer_seedlings(entered, killed)
    for band in (killed, entered, fewer):
        assert ((band.low >= 0) & (band.low <= band.high) & (band.high <= 1)).all()


def test_not_known_stays_not_known_and_impossible_is_refused():
    for band in (
        heat_band(np.nan, 9, 8),
        heat_band(20, np.nan, 8),
        heat_band(20, 9, np.nan),
        through_header(np.nan, 0),
    ):
        assert np.isnan(band.low)
        assert np.isnan(band.high)
        assert band.outside
    for wrong in (
        lambda: heat_band(-1, 9, 8), lambda: through_header(-0.1, 0), lambda: nutrient_loss(-1),
        lambda: bared_share(0.1), lambda: front_share(10, -1), lambda: standing_stubble_t_ha(-1, 0.1),
        lambda: flame_height(-1), lambda: slope_factor(-91),
    ):  # fmt: skip
        with pytest.raises(MapperError):
            wrong()
