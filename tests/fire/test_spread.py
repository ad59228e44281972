"""Properties of the spread model; published values stand in tests/published/test_spread.py."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mapper.farm.errors import MapperError
from mapper.fire.spread import grass_spread

STATES = ("natural", "grazed", "eaten_out")


@given(st.sampled_from(STATES), st.floats(0, 60), st.floats(0, 20), st.floats(0, 24), st.floats(20, 100))
def test_never_slower_in_more_wind(state, wind, more, moisture, curing):
    """But for the model's own fall of the damp branch past 12 km/h (M under 12 has none, M over 12 rises there)."""
    slow, fast = grass_spread([wind, wind + more], moisture, curing, state).value
    assert fast >= slow * (1 - 2e-3)


@given(st.sampled_from(STATES), st.floats(0, 60), st.floats(0, 24), st.floats(0.1, 5), st.floats(20, 100))
def test_never_faster_when_damper_or_greener(state, wind, moisture, more, curing):
    dry, damp = grass_spread(wind, [moisture, moisture + more], curing, state).value
    assert damp <= dry * (1 + 1e-3)
    assert grass_spread(wind, moisture, max(curing - more, 20), state).value <= dry


def test_cut_lower_burns_slower():
    wind, moisture = np.meshgrid(np.linspace(0, 60, 25), np.linspace(0, 24, 13))
    natural, grazed, eaten = (grass_spread(wind, moisture, 100, s).value for s in STATES)
    assert np.all(natural >= grazed)
    assert np.all(grazed >= eaten)


def test_damp_is_never_no_spread_and_is_flagged():
    got = grass_spread(6, [20, 23.9, 60], 100)
    assert np.all(got.value > 0)
    assert got.outside.all()
    assert not grass_spread(6, 15, 100).outside


@pytest.mark.parametrize(("wind", "moisture", "curing"), [(70, 8, 100), (20, 1, 100), (20, 30, 100), (20, 8, 10)])
def test_outside_is_flagged(wind, moisture, curing):
    got = grass_spread(wind, moisture, curing)
    assert got.outside
    assert got.value > 0


def test_green_below_the_model_counts_as_its_edge():
    assert grass_spread(20, 8, 5).value == grass_spread(20, 8, 20).value


def test_not_known_and_impossible():
    got = grass_spread([np.nan, 20], [8, np.nan], 100)
    assert np.isnan(got.value).all()
    assert got.outside.all()
    with pytest.raises(MapperError):
        grass_spread(-1, 8)
    with pytest.raises(MapperError):
        grass_spread(10, 8, 120)
