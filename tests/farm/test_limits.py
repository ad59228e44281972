import pytest

from mapper.farm.errors import SettingError
from mapper.farm.limits import LIMIT_KINDS, Limit, LocalLimits


def test_a_limit_names_its_index():
    with pytest.raises(SettingError, match="which index"):
        Limit("index_max", 10, "permit", "2026-03-01")
    assert Limit("index_max", 10, "permit", "2026-03-01", index="gfdi_mk4").unit == ""


@pytest.mark.parametrize("key", LIMIT_KINDS)
def test_values_that_make_no_sense_are_refused(key):
    kind = LIMIT_KINDS[key]
    with pytest.raises(SettingError, match=key):
        Limit(key, kind.high * 2 + 1, "permit", "2026-03-01", index="gfdi_mk4")
    with pytest.raises(SettingError, match="no source"):
        Limit(key, kind.low, "", "2026-03-01", index="gfdi_mk4")


def test_an_unknown_limit_is_not_a_number():
    limits = LocalLimits()
    assert limits.value("wind_max") != limits.value("wind_max")
    assert limits.get("wind_max") is None
    with pytest.raises(KeyError):
        limits.get("wind")
