"""Whom smoke may reach, on an invented farm: words, ends, chances, and when it stops a plan."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
import shapely

from mapper.farm.layers import make_layer
from mapper.plan.reach import REACH_COLUMNS, Reach, no_reach, odds
from mapper.weather.wind import DirectionSpread
from tests.farms import EAST, GRID, NORTH, limits, small_farm

NORTH_WIND = DirectionSpread(np.ones(1), np.zeros(1), np.full(1, 8.0))
FIRE = np.array([[EAST + 200.0, NORTH + 100.0]])


def farm(**values):
    assets = make_layer(
        "assets",
        {"asset": ["H", "R", "V"], "kind": ["house", "road", "vineyard"], "name": ["Hut", "Tank Road", "Vines"]},
        [
            shapely.Point(EAST + 200, NORTH - 1400),
            shapely.LineString([(EAST - 3000, NORTH - 600), (EAST + 3000, NORTH - 600)]),
            shapely.box(EAST - 9000, NORTH, EAST - 8000, NORTH + 900),
        ],
        GRID.crs,
    )
    return small_farm(assets=assets, limits=limits(**values))


def hour(at=8, **changes):
    start = pd.Timestamp(datetime(2026, 4, 18, at, tzinfo=UTC))
    return pd.Series({"time_utc": start, "wind_km_h": 12.0, "stability": "D", "rh_pct": 45.0, **changes})


def met(rate, farm_=None, **changes):
    reach = Reach(farm_ or farm())
    said = reach.hour(hour(**changes), FIRE, np.array([rate]), NORTH_WIND)
    return reach, said


def test_who_is_downwind_is_told_and_who_is_not_is_not():
    reach, _ = met(20.0)
    table = reach.table()
    assert table["name"].tolist() == ["Tank Road", "Hut"]
    assert list(table.columns) == list(REACH_COLUMNS)
    assert (table["pm25_low_ug_m3"] <= table["pm25_high_ug_m3"]).all()
    # Somewhere on a long road the smoke comes in nearly every wind; at the hut only in some.
    assert table["chance"].iloc[0] > 0.95 > table["chance"].iloc[1] > 0.2


def test_words_say_when_how_likely_and_between_what():
    reach = Reach(farm())
    for at, rate in ((8, 10.0), (9, 30.0), (10, 5.0)):
        reach.hour(hour(at), FIRE, np.array([rate]), NORTH_WIND)
    road = reach.table().iloc[0]
    assert road["words"].startswith(
        "Tank Road: thick smoke may come 18:00 to 21:00, most about 19:00; almost sure that"
    )
    assert "ug/m3)" in road["words"] and "One may see only" in road["words"]


def test_only_smoke_kept_to_the_ground_is_a_caution_and_a_look():
    """Stable air holds smoke down unless it rises: nobody can say which."""
    reach, said = met(40.0, stability="F")
    levels = dict((text.split(" at ")[-1].split(";")[0], level) for level, text in said)
    assert set(levels.values()) == {"caution"}
    hut = reach.table().set_index("name").loc["Hut"]
    assert hut["over"] == "may"
    assert hut["pm25_low_ug_m3"] < 150 < hut["pm25_high_ug_m3"]
    assert "if it keeps to the ground, thick smoke" in hut["words"]
    assert {r.level for r in reach.remarks()} == {"look"}
    assert any("signs and a lookout" in r.text for r in reach.remarks())


def test_smoke_that_passes_the_limit_even_risen_in_a_likely_wind_stops_the_plan():
    # Many small fires rise less than one large one.
    rows = np.column_stack([EAST + np.linspace(0, 600, 400), np.full(400, NORTH + 100.0)])
    reach = Reach(farm())
    said = reach.hour(hour(), rows, np.full(400, 0.6), NORTH_WIND)
    assert ("no-go", "Smoke will pass your limit of 150 ug/m3 at Tank Road, even if it rises") in said
    stops = [r for r in reach.remarks() if r.level == "stop"]
    assert any("Tank Road" in r.text for r in stops)
    assert all(r.where is not None for r in stops)


def test_the_same_smoke_in_an_unlikely_wind_does_not_stop_it():
    wide = DirectionSpread(np.ones(1), np.array([40.0]), np.full(1, 25.0))
    reach = Reach(farm())
    reach.hour(hour(), FIRE, np.array([200.0]), wide)
    hut = reach.table().set_index("name").loc["Hut"]
    assert hut["over"] == "may"


def test_damp_air_works_out_no_sight_and_says_fog():
    reach, said = met(20.0, rh_pct=80.0)
    road = reach.table().set_index("name").loc["Tank Road"]
    assert road["damp"]
    assert np.isnan(road["sight_m"])
    assert "Damp air: smoke can turn to fog" in road["words"]
    assert any("can turn to fog" in text for _, text in said)
    assert any("fog" in r.text for r in reach.remarks())


def test_sight_under_the_limit_is_said_and_never_finer_than_known():
    _, said = met(20.0, farm(visibility_min=5000))
    assert any("your limit is 5000 m" in text for _, text in said)
    reach, said = met(5000.0)
    assert any("under 100 m" in text for _, text in said)
    assert "over 5000 ug/m3" in reach.table().iloc[0]["words"]


def test_nothing_alight_reaches_nobody():
    reach = Reach(farm())
    assert reach.hour(hour(), np.empty((0, 2)), np.empty(0), NORTH_WIND) == []
    pd.testing.assert_frame_equal(reach.table(), no_reach())
    assert reach.remarks() == ()
    none = Reach(replace(farm(), assets=farm().assets.iloc[:0]))
    assert none.hour(hour(), FIRE, np.ones(1), NORTH_WIND) == []


@pytest.mark.parametrize(("chance", "words"), [(0.01, "under 1 in 20"), (0.08, "about 1 in 10"), (0.5, "about 5 in 10"),
                                               (0.99, "almost sure")])  # fmt: skip
def test_odds(chance, words):
    assert odds(chance) == words
