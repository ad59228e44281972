import numpy as np
import pytest

from mapper.farm.errors import MapperError
from mapper.weather.stability import CLASSES, inversion_likely, stability_class


def rank(classes):
    return np.array([CLASSES.index(c) for c in np.atleast_1d(classes)])


def test_more_sun_mixes_more_and_overcast_is_neutral():
    assert np.all(np.diff(rank(stability_class(2.5, 0, [10, 20, 40, 70], False))) <= 0)
    assert stability_class(6, 100, 70, False) == stability_class(6, 100, -20, True) == "D"


def test_the_not_known_is_the_stiller_air():
    assert rank(stability_class(2, np.nan, -20, True)) == rank(stability_class(2, 0, -20, True))
    assert rank(stability_class(2, np.nan, 40, False)) >= rank(stability_class(2, 0, 40, False))
    assert stability_class(np.nan, 0, -20, True) == "F"


def test_inversion():
    wind, cloud, night = (
        np.array([1, 1, 1, 4, np.nan]),
        np.array([0, 80, 0, 0, np.nan]),
        [True, True, False, True, True],
    )
    assert inversion_likely(wind, cloud, night).tolist() == [True, False, False, False, True]


def test_cloud_that_cannot_be():
    with pytest.raises(MapperError):
        stability_class(2, 130, 20, False)
