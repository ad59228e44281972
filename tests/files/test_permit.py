"""Permits and single days off: in a limits file and in a project."""

from datetime import date

import pytest

from mapper.farm.errors import SettingError
from mapper.farm.limits import Permit
from mapper.files.limits import limits_from, read_limits, write_limits
from mapper.files.project import open_project, save_project
from tests.farms import limits, small_farm

HELD = {
    "state": "held",
    "source": "council, 3 Mar 2026",
    "number": "A7",
    "first": "2026-03-15",
    "last": date(2026, 5, 15),
}


def test_a_limits_file_holds_them_and_gives_them_back(tmp_path):
    found = limits_from({"permit": HELD, "dates_off": ["2026-04-25", date(2026, 4, 3)]})
    assert found.permit == Permit("held", "council, 3 Mar 2026", "A7", date(2026, 3, 15), date(2026, 5, 15))
    assert found.dates_off == (date(2026, 4, 3), date(2026, 4, 25))
    write_limits(found, tmp_path / "limits.toml")
    assert read_limits(tmp_path / "limits.toml") == found


def test_a_project_keeps_them(tmp_path):
    from dataclasses import replace

    rules = replace(limits(), dates_off=(date(2026, 4, 25),), permit=Permit("held", "council", "A7", date(2026, 3, 1)))
    save_project(small_farm(limits=rules), tmp_path / "farm.gpkg")
    back, _ = open_project(tmp_path / "farm.gpkg")
    assert back.limits.permit == rules.permit
    assert back.limits.dates_off == rules.dates_off


@pytest.mark.parametrize(
    ("tables", "says"),
    [
        ({"permit": {"state": "maybe", "source": "x"}}, "held or not needed"),
        ({"permit": {"state": "held"}}, "no source"),
        ({"permit": {**HELD, "last": "2026-01-01"}}, "ends before it begins"),
        ({"permit": {**HELD, "colour": "red"}}, "'colour' says nothing"),
        ({"dates_off": ["Easter"]}, "'Easter' is no day"),
    ],
)
def test_what_makes_no_sense_is_refused(tables, says):
    with pytest.raises(SettingError, match=says):
        limits_from(tables)
