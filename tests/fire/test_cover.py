"""Ground covered by stubble, Gregory (1982): the equation is from memory, and so is what it is held against."""

import numpy as np
import pytest

from mapper.farm.errors import SettingError
from mapper.fire.cost import stubble_cover


def test_a_tonne_of_wheat_straw_covers_about_two_fifths_of_the_ground():
    assert float(stubble_cover(1.0)) == pytest.approx(0.42, abs=0.01)
    # Extension tables of crop residue, from memory: half the ground at 1.0 to 1.5 t/ha, four fifths at about 3 t/ha.
    assert 0.4 < float(stubble_cover(1.25)) < 0.6
    assert 0.7 < float(stubble_cover(3.0)) < 0.9


def test_more_straw_covers_more_and_never_more_than_all():
    cover = stubble_cover(np.linspace(0, 50, 101))
    assert cover[0] == 0 and (np.diff(cover) >= 0).all() and cover.max() <= 1
    with pytest.raises(SettingError):
        stubble_cover(-1.0)
