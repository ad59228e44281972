"""The pages of a night's record and of a season, painted and read back."""

from dataclasses import replace
from datetime import date

import pytest

from mapper.record.entry import Entry
from mapper.record.season import burnt_parts, season_of
from mapper.sheets.pdf import Sheet, picture_of, start_qt
from mapper.sheets.recordbook import record_sheets
from mapper.sheets.seasonpage import season_sides
from tests.demo import demo_farm
from tests.record.nights import at, night, rows


def _entry(name_: str, kind: str, minutes: float, **body) -> Entry:
    return Entry(name_, kind, "Crew 1", at(minutes), at(minutes), body)


def a_night():
    numbers = list(night().numbers)
    return night(
        rows("a", numbers[:60], "lit", 4),
        rows("b", numbers[:60], "burnt", 40),
        rows("c", [23, 24], "went out", 50, from_m=200),
        rows("d", [44, 57], "missed", 60),
        _entry("r", "reading", 60, temp_c=20.0, rh_pct=43.0, wind_km_h=16.0, gust_km_h=31.0, wind_from_deg=330.0),
        _entry("h", "hold", 61, why="gust 31"),
        _entry("e", "escape", 71, name="E1", cause="ember", shape="POINT (612905 5993020)"),
        _entry("p", "patrol", 180, seen="3 heaps"),
    )


@pytest.fixture(scope="module")
def words():
    start_qt()
    record = a_night()
    found: dict[str, str] = {}
    for sheet in record_sheets(record, at(700)):
        for side in range(len(sheet.sides)):
            page = picture_of(sheet, side, 60)[1]
            assert all(w.box.x >= 0 and w.box.right <= page.width + 0.1 for w in page.written)
            assert page.unplaced == []
            text = " ".join([w.words for w in page.written] + [w.words for w in page.labels])
            found[sheet.name] = found.get(sheet.name, "") + " " + text
    return found


def test_the_record_says_what_became_of_the_rows(words):
    said = words["after-burn record"]
    for wanted in ("Went out 2 23-24", "Missed 2 44, 57", "61-73", "Lighting held: gust 31", "3 heaps", "km burnt"):
        assert wanted in said
    assert "Stop and hold" in said.replace("… ", "")
    assert "does not replace any report" in said
    assert "23" in said
    assert "E1: write down" in said


def test_an_escape_is_a_page_to_send_in(words):
    said = words["escape E1"]
    assert "Estimated loss WA Bush Fires Regulations 1954 r.43 (read)" in said
    assert "ember" in said
    assert "Nearest reading, 19:30" in said


def test_the_next_crops_page_names_rows_and_metres(words):
    said = words["look here"]
    assert "L1 44 C 0 to" in said
    assert "200 to 808 m" in said
    assert "-36." in said


def test_rows_left_by_the_plan_are_summed_up_by_reason():
    """A night that lights a corner of a large paddock leaves hundreds: they are an area on the map, not a list."""
    start_qt()
    made = night()
    pieces = made.pieces.copy()
    gone = pieces["order_no"] > 10
    pieces.loc[gone, ["order_no", "left_reason"]] = [0, "left for another night"]
    sheets = record_sheets(replace(made, pieces=pieces).with_entries([rows("a", [1, 2], "missed")]), at(900))
    look = next(s for s in sheets if s.name == "look here")
    assert len(look.sides) == 1
    said = " ".join(w.words for w in picture_of(look, 0, 60)[1].written)
    km = pieces.loc[gone].geometry.length.sum() / 1000
    assert f"Left on purpose: left for another night: {int(gone.sum())} stretches, {km:.1f} km" in said
    assert "L1 1 A" in said


def test_a_season_on_one_sheet():
    start_qt()
    farm, record = demo_farm(), a_night()
    burnt = burnt_parts([record])
    season = season_of(farm, [record], [replace(record, night=date(2025, 4, 18))])
    sheet = Sheet("season", "Season", "A4 landscape", tuple(season_sides(season, farm, burnt, at(900))))
    page = picture_of(sheet, 0, 60)[1]
    said = " ".join(w.words for w in page.written)
    assert "Season 2025/26" in said
    assert "Nights: 1. Rows burnt: 58" in said
    assert "100 % of what burnt lies on strips burnt last season too" in said
    assert "whether it worked is not known" in said
