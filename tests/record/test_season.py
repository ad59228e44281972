from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from mapper.farm.errors import SettingError
from mapper.record.entry import Entry
from mapper.record.season import burnt_parts, night_line, season_name, season_of
from tests.demo import demo_plan
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


def year_before(record, east_m=0.0):
    """The same night a year ago, its rows moved east."""
    pieces = record.pieces.set_geometry(record.pieces.translate(east_m, 0.0))
    return replace(record, night=date(record.night.year - 1, 4, 18), pieces=pieces)


def test_a_season_and_the_strips_burnt_twice():
    record, farm = worked_night(), demo_plan().farm
    season = season_of(farm, [record], [year_before(record)])
    assert (season.season, len(season.nights)) == ("2025/26", 1)
    assert season.twice_share == pytest.approx(1.0, abs=0.01)
    assert season.burnt_share == pytest.approx(season.nights["burnt_ha"].sum() / (farm.paddocks.area.sum() / 1e4))
    # Rows moved by two metres lie beside the old strips, not on them.
    assert season_of(farm, [record], [year_before(record, 2.0)]).twice_share < 0.02
    assert np.isnan(season_of(farm, [record]).twice_share)


def test_last_season_in_another_grid_lies_where_it_lay():
    record, farm = worked_night(), demo_plan().farm
    before = year_before(record)
    other = replace(before, pieces=before.pieces.to_crs("EPSG:7855"))
    assert season_of(farm, [record], [other]).twice_share == pytest.approx(1.0, abs=0.02)


def test_the_cover_left_comes_from_the_farms_own_stubble_figure():
    record, farm = worked_night(), demo_plan().farm
    typed = farm.with_(paddocks=farm.paddocks.assign(stubble_t_ha=2.0))
    line = season_of(typed, [record]).cover.iloc[0]
    parts = burnt_parts([record])
    bared = parts["length_m"].sum() * 1.0 / farm.paddock(line["paddock"]).geometry.area
    assert line["left"] == pytest.approx((1 - np.exp(-0.54 * 2.0)) * (1 - bared))
    assert (line["source"], line["bared"]) == ("typed in", pytest.approx(bared))
    bare = farm.with_(paddocks=farm.paddocks.assign(stubble_t_ha=np.nan, yield_t_ha=np.nan))
    unknown = season_of(bare, [record]).cover.iloc[0]
    assert np.isnan(unknown["left"]) and unknown["source"] == "not known"


def test_nights_of_two_seasons_are_no_season():
    record = worked_night()
    with pytest.raises(SettingError, match="several seasons"):
        season_of(demo_plan().farm, [record, year_before(record)])


def test_a_season_without_nights():
    season = season_of(demo_plan().farm, [])
    assert season.nights.empty and season.cover.empty
    assert season.burnt_share == 0


def test_a_season_is_named_by_its_harvest():
    assert season_name(date(2026, 4, 18)) == "2025/26"
    assert season_name(date(2025, 12, 1)) == "2025/26"
