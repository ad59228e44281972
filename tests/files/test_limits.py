"""Limits in TOML: read, converted, refused with a sentence, written and read back."""

import pytest

from mapper.farm.errors import FileError, SettingError
from mapper.farm.limits import LIMIT_KINDS
from mapper.files.limits import read_limits, starting_limits, write_limits


def _file(tmp_path, text):
    path = tmp_path / "Gümüş limits.toml"
    path.write_text(text, encoding="utf-8")
    return path


def _one(key, lines):
    return f'[{key}]\n{lines}\nsource = "typed in a test"\ndate = 2026-03-01\n'


def test_starting_limits_are_all_marked_and_sourced():
    limits = starting_limits()
    assert all(limit.starting and limit.source and limit.date for limit in limits.limits.values())
    assert set(limits.limits) == set(LIMIT_KINDS)
    assert limits.days_off == (6,)


def test_starting_figures_of_published_sources():
    # South Australian Country Fire Service, 22 Feb 2016: 4 m clear; 19 km/h at most. Horizon Power: 1.5 m round poles.
    limits = starting_limits()
    assert limits.value("break_edge") == 4
    assert limits.value("wind_max") <= 19
    assert limits.value("break_pole") == 1.5


@pytest.mark.parametrize(
    ("key", "lines", "value"),
    [
        ("wind_max", 'value = 10\nunit = "kn"', 18.52),  # the knot is 1,852 m an hour by definition
        ("wind_max", 'value = 5\nunit = "m/s"', 18.0),
        ("break_edge", 'value = 10\nunit = "ft"', 3.048),
        ("temperature_max", 'value = 86\nunit = "degF"', 30.0),
        ("change_margin", 'value = 1.5\nunit = "h"', 90.0),
        ("light_from", 'value = "18:30"', 18.5),
        ("breach_chance", 'value = 1\nunit = "%"', 0.01),
    ],
)
def test_other_units_are_turned(tmp_path, key, lines, value):
    assert read_limits(_file(tmp_path, _one(key, lines))).value(key) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        (_one("wind_maxx", "value = 10"), "wind_maxx"),
        (_one("wind_max", "value = 900"), "wind_max"),
        (_one("wind_max", 'value = "ten"'), "not a number"),
        (_one("wind_max", 'value = 10\nunit = "furlong"'), "furlong"),
        (_one("index_max", "value = 10"), "which index"),
        ("[wind_max]\nvalue = 10\ndate = 2026-01-01\n", "no source"),
        ('[wind_max]\nvalue = 10\nsource = "x"\n', "no date"),
        ("wind_max = 10\n", "not a table"),
        (_one("wind_max", "value = 10\nheight = 2"), "height"),
        (_one("wind_max", "value = 10") + _one("wind_min", "value = 12"), "above"),
        ('days_off = ["Someday"]\n', "Someday"),
    ],
)
def test_what_makes_no_sense_is_said_with_the_file(tmp_path, text, word):
    with pytest.raises(SettingError) as caught:
        read_limits(_file(tmp_path, text))
    assert word in str(caught.value)
    assert "Gümüş limits.toml" in str(caught.value)


def test_broken_toml_names_the_line(tmp_path):
    with pytest.raises(FileError, match="line 2"):
        read_limits(_file(tmp_path, "[wind_max]\nvalue = = 3\n"))


def test_round_trip(tmp_path):
    limits = starting_limits()
    path = tmp_path / "again.toml"
    write_limits(limits, path)
    assert read_limits(path) == limits
    assert [p.name for p in tmp_path.iterdir()] == ["again.toml"]
