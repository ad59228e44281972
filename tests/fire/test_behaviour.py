import numpy as np
import pytest

from mapper.farm.errors import MapperError
from mapper.farm.limits import INDICES
from mapper.fire.behaviour import behaviour
from mapper.fire.flame import flame_length, intensity
from mapper.fire.index import index_stop_wind, index_value
from mapper.fire.shape import length_to_breadth


def test_parts_fit_together():
    wind = np.array([5.0, 15.0, 40.0])
    fire = behaviour(wind, 25, 30, 100, [3.0, 4.5, 4.5])
    np.testing.assert_allclose(fire.intensity_kw_m, intensity(fire.head_m_s, [3.0, 4.5, 4.5]))
    np.testing.assert_allclose(fire.flame_m, flame_length(fire.intensity_kw_m))
    np.testing.assert_allclose(fire.lb, length_to_breadth(wind))
    assert fire.moisture_pct.shape == fire.outside.shape == (3,)


def test_past_any_range_is_flagged():
    assert behaviour([20, 80], [25, 25], [30, 30]).outside.tolist() == [False, True]
    assert behaviour(20, 25, 30, 10).outside


@pytest.mark.parametrize("index", INDICES)
def test_every_index_a_limit_may_mean(index):
    wind = np.linspace(0, 60, 61)
    got = index_value(index, 25, 30, wind).value
    assert np.all(np.diff(got) >= 0)
    limit = float(got[30])
    assert index_stop_wind(index, limit, 25, 30) == pytest.approx(30, abs=0.15)
    assert index_value(index, 25, 30, index_stop_wind(index, limit, 25, 30) - 0.1).value <= limit
    assert np.isnan(index_stop_wind(index, limit, np.nan, 30))


def test_an_unknown_index_is_refused():
    with pytest.raises(MapperError, match="no danger index"):
        index_value("ffdi", 25, 30, 20)


def test_what_never_reaches_the_limit_stops_at_the_end_of_the_range():
    assert index_stop_wind("fbi", 199, 10, 60) == 60
    assert index_stop_wind("fbi", 1e-6, 30, 10) == 0
