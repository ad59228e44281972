"""Properties of the danger indices; published cells stand in tests/published/test_danger.py."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mapper.farm.errors import MapperError
from mapper.weather.danger import METERS, stop_wind, table_stop_wind

TEMP, RH, WIND = st.floats(10, 45), st.floats(5, 70), st.floats(0, 60)


@pytest.mark.parametrize("meter", METERS)
@given(temp=TEMP, rh=RH, wind=WIND, more=st.floats(0.1, 15))
def test_more_wind_heat_or_dryness_is_never_less(meter, temp, rh, wind, more):
    index = METERS[meter]
    base = index(temp, rh, wind).value * (1 - 1e-12)  # the last bit of a float is no weather
    assert index(temp, rh, wind + more).value >= base
    assert index(temp + more, rh, wind).value >= base
    assert index(temp, max(rh - more, 0), wind).value >= base


@pytest.mark.parametrize("meter", METERS)
@given(temp=TEMP, rh=RH, wind=st.floats(1, 59), curing=st.floats(70, 100), fuel=st.floats(1, 10))
def test_stop_wind_undoes_the_index(meter, temp, rh, wind, curing, fuel):
    value = float(METERS[meter](temp, rh, wind, curing, fuel).value)
    if value > 1e-6:
        assert stop_wind(meter, value, temp, rh, curing, fuel) == pytest.approx(wind, abs=1e-6)


@pytest.mark.parametrize("meter", METERS)
def test_beyond_the_range_leans_high_and_is_flagged(meter):
    index = METERS[meter]
    for outside, edge in (
        ((5, 50, 20), (10, 50, 20)),
        ((20, 95, 20), (20, 70, 20)),
        ((20, 50, 20, 30), (20, 50, 20, 50)),
    ):
        got = index(*outside)
        assert got.outside
        assert got.value == index(*edge).value
    assert index(48, 3, 70).outside
    assert index(48, 3, 70).value >= index(45, 5, 60).value
    assert not index(20, 50, 20).outside


@pytest.mark.parametrize("meter", METERS)
def test_not_known_stays_not_known(meter):
    got = METERS[meter]([20, np.nan], [50, 50], [np.nan, 10])
    assert np.isnan(got.value).all()
    assert got.outside.all()
    assert np.isnan(stop_wind(meter, 10, np.nan, 30))


def test_impossible_air_is_refused():
    for air in ((20, 130, 10), (20, -1, 10), (90, 20, 10), (20, 20, -5)):
        with pytest.raises(MapperError):
            METERS["gfdi_mk4"](*air)
    with pytest.raises(MapperError, match="no meter"):
        stop_wind("gfdi_mk9", 10, 20, 20)


def test_stop_wind_at_its_ends():
    # Reached without wind; and more wind needed than the meter knows.
    assert stop_wind("gfdi_mk4", 0.5, 40, 5) == 0
    assert stop_wind("gfdi_mk4", 500, 15, 60) == 60
    assert stop_wind("gfdi_mk5", 10, 10, 70, 60) == 60


@given(temp=TEMP, rh=RH)
def test_the_table_never_allows_more_than_the_equation(temp, rh):
    assert table_stop_wind("gfdi_mk4", 25, temp, rh) <= stop_wind("gfdi_mk4", 25, temp, rh)
