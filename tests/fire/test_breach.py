import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mapper.farm.errors import MapperError
from mapper.fire.breach import breach_chance, width_for


@given(st.floats(0, 17000), st.floats(0.001, 0.5), st.booleans())
def test_width_undoes_chance(intensity, chance, trees):
    width = width_for(chance, intensity, trees)
    if 1.5 < width.value <= 15:
        assert not width.outside
        assert breach_chance(intensity, width.value, trees).value == pytest.approx(chance, rel=1e-6)


def test_no_break_is_certain_and_wide_ones_count_as_the_widest_tried():
    got = breach_chance(3000, [0, 0.5, 15, 40])
    assert got.value[0] == 1
    assert got.value[3] == got.value[2]
    assert got.outside.tolist() == [True, True, False, True]


def test_fiercer_than_tried_is_flagged_and_never_safer():
    got = breach_chance([17000, 30000], 8)
    assert got.outside.tolist() == [False, True]
    assert got.value[1] > got.value[0]
    wide = width_for(0.01, [4000, 4000, 30000], [False, True, False])
    assert wide.outside.tolist() == [False, True, True]


def test_not_known_and_impossible():
    assert np.isnan(breach_chance(np.nan, 4).value)
    assert np.isnan(breach_chance(3000, np.nan).value)
    with pytest.raises(MapperError):
        breach_chance(3000, -4)
    with pytest.raises(MapperError):
        width_for(0, 3000)
