from datetime import UTC, datetime

import pytest

from mapper.farm.limits import LocalLimits
from mapper.farm.notes import Remark
from mapper.hours.verdict import BanCheck, Window
from mapper.plan.verdict import NEEDED, against_lighting
from tests.farms import MADE_AT, limits, small_farm

CHECKED = BanCheck("none", datetime(2026, 4, 18, 4, tzinfo=UTC), "Farm manager")
OPEN = (Window(datetime(2026, 4, 18, 8, tzinfo=UTC), datetime(2026, 4, 18, 12, tzinfo=UTC), "go"),)


def test_nothing_against_is_a_go():
    assert against_lighting(small_farm(), CHECKED, OPEN, 10, (), ()) == ()


@pytest.mark.parametrize(
    ("ban", "word"),
    [
        (BanCheck(), "Nobody has checked"),
        (BanCheck("declared", MADE_AT, "x"), "ban is declared"),
        (BanCheck("none"), "Nobody"),
    ],
)
def test_unknown_or_declared_ban_is_never_a_go(ban, word):
    assert word in against_lighting(small_farm(), ban, OPEN, 10, (), ())[0]


@pytest.mark.parametrize("key", NEEDED)
def test_a_missing_limit_stands_against(key):
    kept = {k: v for k, v in limits().limits.items() if k != key}
    assert against_lighting(small_farm(limits=LocalLimits(kept)), CHECKED, OPEN, 10, (), ())


def test_an_old_look_at_bans_stands_against():
    said = against_lighting(small_farm(), BanCheck("none", MADE_AT, "x"), OPEN, 10, (), ())
    assert len(said) == 1
    assert "look again" in said[0]


def test_untold_neighbours_stops_and_no_window_stand_against():
    stop = Remark("order", "stop", "No way out of block A.", "West")
    said = against_lighting(small_farm(), CHECKED, (), 0, ("Not yet told: Neighbour 1.",), (stop, stop))
    assert len(said) == 3
    assert any("Neighbour 1" in t for t in said)
    assert "West: No way out of block A." in said


def test_a_look_is_not_a_stop():
    look = Remark("breaks", "look", "West break is 6 m.")
    assert against_lighting(small_farm(), CHECKED, OPEN, 10, (), (look,)) == ()


def test_a_zone_guessed_from_the_longitude_stands_against():
    (said,) = against_lighting(small_farm(zone="Etc/GMT+7"), CHECKED, OPEN, 10, (), ())
    assert "name the zone" in said
