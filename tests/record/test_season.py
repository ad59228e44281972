from datetime import date

import numpy as np
import pytest

from mapper.record.entry import Entry
from mapper.record.season import burnt_parts, night_line, season_name, season_of
from tests.record.nights import at, night, rows

NUMBERS = list(night().numbers)


def worked_night():
    return night(
        rows("a", NUMBERS, "burnt", 0),
        rows("b", NUMBERS[:2], "missed", 150),
        Entry("r", "reading", "Crew 1", at(60), at(60), {"temp_c": 18.0, "rh_pct": 50.0, "wind_km_h": 40.0}),
        Entry("e", "escape", "Crew 1", at(70), at(70), {"name": "E1", "area_ha": 0.3}),
        Entry("c", "close", "Crew 1", at(200)),
    )


def test_a_night_as_one_line():
    record = worked_night()
    line = night_line(record, cost_h=50.0, cost_km=10.0)
    assert line["rows_burnt"] == len(NUMBERS) - 2
    assert line["hours"] == pytest.approx(2.5)
    assert line["outside_limits"] == 1
    assert (line["escapes"], line["escaped_ha"]) == (1, 0.3)
    assert line["burnt_ha"] == pytest.approx(line["km_burnt"] * 1000 * record.row_width_m / 10_000 + 0.3)
    assert line["cost"] == pytest.approx(2.5 * record.people * 50 + line["km_burnt"] * 10)
    assert line["closed"]


def test_hours_that_nobody_wrote_are_not_made_up():
    line = night_line(night(rows("a", [1], "burnt", when=None)))
    assert np.isnan(line["hours"])
    assert np.isnan(line["cost"])


def test_a_season_and_the_strips_burnt_twice():
    record = worked_night()
    last = burnt_parts([record])
    season = season_of("2025/26", [record], farm_ha=100.0, last_season=last)
    assert len(season.nights) == 1
    assert season.twice_share == pytest.approx(1.0, abs=0.01)
    assert season.burnt_share == pytest.approx(season.nights["burnt_ha"].sum() / 100)
    assert season.cover_left == pytest.approx(1 - season.burnt_share)
    # Rows moved by two metres lie beside the old strips, not on them.
    moved = last.set_geometry(last.translate(2.0, 0.0))
    assert season_of("2025/26", [record], 100.0, moved).twice_share < 0.02


def test_a_season_without_nights():
    season = season_of("2025/26", [], farm_ha=100.0)
    assert season.nights.empty
    assert season.burnt_share == 0


def test_a_season_is_named_by_its_harvest():
    assert season_name(date(2026, 4, 18)) == "2025/26"
    assert season_name(date(2025, 12, 1)) == "2025/26"
