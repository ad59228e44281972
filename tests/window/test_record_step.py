"""The night's record in the window, as a person keeps it: by keys and clicks, each entry on the disk at once."""

import math
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from mapper.files.record import read_record, start_record
from mapper.record.night import open_record
from mapper.window.remarks import Card
from tests.demo import demo_farm, demo_plan
from tests.record.nights import at

LEFT = Qt.MouseButton.LeftButton
ENTER = Qt.Key.Key_Return


@pytest.fixture
def step(window, idle, tmp_path):
    """The Record step with the record of the demo's plan open, written by Ada; returns window and panel."""
    plan, s = demo_plan(), window.session
    s.take_farm(plan.farm, str(tmp_path / "Gümüş farm.gpkg"))
    s.night, s.plan = plan.night, plan
    s.now = lambda: at(95)
    s.go_to("record")
    idle()
    panel = window.panels["record"]
    QTest.mouseClick(panel.begin, LEFT)
    idle()
    panel.by.selectAll()
    QTest.keyClicks(panel.by, "Ada")
    panel.tally.grid.setFocus()
    idle()
    return window, panel


def on_disk(window):
    """The entries that a reader finds in the file now."""
    record, notes = read_record(window.session.book.path)
    assert notes == ()
    return record.entries


def show(panel, part: str) -> None:
    QTest.mouseClick(panel.switch.buttons[part], LEFT)


def type_in(box, text: str) -> None:
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, text)
    QTest.keyClick(box, ENTER)


def click_row(table, row: int) -> None:
    QTest.mouseClick(table.viewport(), LEFT, pos=table.visualRect(table.rows_model.index(row, 0)).center())


def test_each_key_marks_a_row_and_stands_on_the_disk(step, idle):
    window, panel = step
    grid, s = panel.tally.grid, window.session
    for key in "BBOMBL":
        QTest.keyClicks(grid, key)
    assert [(e.body["numbers"], e.body["state"]) for e in on_disk(window)] == [
        ([1], "burnt"), ([2], "burnt"), ([3], "went out"), ([4], "missed"), ([5], "burnt"), ([6], "lit"),
    ]  # fmt: skip
    # The map's own keys (M measures, L opens its list) do not take the letters away.
    assert window.canvas.tool.name == "Pick" and not window.map.menu.isVisible()
    QTest.keyClicks(grid, "31")
    QTest.keyClick(grid, ENTER)
    QTest.keyClicks(grid, "G")
    idle()
    assert on_disk(window)[-1].body == {"numbers": [31], "state": "got away"}
    assert window.top.steps["record"].words == f"7 of {len(s.book.record.numbers)}"
    assert panel.tally.copied.text().startswith("7 of")


def test_a_range_is_marked_with_shift_and_a_button(step, idle):
    window, panel = step
    grid = panel.tally.grid
    grid.go_to(10)
    for _ in range(4):
        QTest.keyClick(grid, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    QTest.mouseClick(panel.tally.marks["burnt"], LEFT)
    idle()
    assert on_disk(window)[-1].body["numbers"] == [10, 11, 12, 13, 14]


def test_a_part_of_a_row_is_typed_in_metres(step, idle):
    window, panel = step
    grid = panel.tally.grid
    grid.go_to(22)
    QTest.keyClicks(grid, "P")
    QTest.keyClicks(QApplication.focusWidget(), "150")
    QTest.keyClick(QApplication.focusWidget(), ENTER)
    QTest.keyClick(QApplication.focusWidget(), ENTER)
    QTest.keyClicks(grid, "O")
    idle()
    assert on_disk(window)[-1].body == {"numbers": [22], "state": "went out", "from_m": 150.0, "to_m": None}
    parts = window.session.book.parts
    mine = parts[parts["order_no"] == 22]
    # A row that went out at 150 m burnt up to there.
    assert list(mine["state"]) == ["burnt", "went out"] and mine["to_m"].iloc[0] == 150
    assert math.isnan(panel.tally.from_m.number())


def test_words_are_taken_and_what_is_not_understood_stays_in_the_line(step, idle):
    window, panel = step
    QTest.keyClicks(panel.tally.typed, "1-40 done, 17 missed, 22 went out, 31 left the row at 20:41")
    QTest.keyClick(panel.tally.typed, ENTER)
    idle()
    said = {tuple(e.body["numbers"]): e for e in on_disk(window)}
    assert said[(17,)].body["state"] == "missed" and said[(31,)].body["state"] == "got away"
    assert said[(31,)].at == window.session.book.record.moment(20, 41)
    QTest.keyClicks(panel.tally.typed, "50 vanished")
    QTest.keyClick(panel.tally.typed, ENTER)
    idle()
    assert panel.tally.typed.text() == "50 vanished" and len(on_disk(window)) == 4
    assert "50 vanished" in str(window.session.errors["record"])


def test_cell_and_row_on_the_map_follow_each_other(step, idle):
    window, panel = step
    canvas, parts = window.canvas, window.session.book.parts
    row = parts[parts["order_no"] == 12].iloc[0]
    spot = canvas.to_px(row.geometry.interpolate(0.5, normalized=True).coords[0]).toPoint()
    QTest.mouseClick(canvas, LEFT, pos=spot)
    idle()
    assert panel.tally.grid.number() == 12
    panel.tally.grid.go_to(20)
    idle()
    mine = parts[parts["order_no"] == 20].iloc[0]
    assert (window.session.row_id, window.session.block) == (mine["row_id"], mine["block"])
    assert "row_parts" in window.map.layers()
    assert "Rows as they burnt" in {a.text() for a in window.map.menu.actions()}


def test_the_clock_runs_on_the_night(step, idle):
    window, panel = step
    QTest.mouseClick(panel.live, LEFT, pos=QPoint(10, panel.live.height() // 2))
    for key in "LLL":
        QTest.keyClicks(panel.tally.grid, key)
    idle()
    assert {e.at for e in on_disk(window)} == {at(95)}
    assert "3 alight, 1-3: out by" in panel.night.text() and "behind the plan" in panel.night.text()
    assert panel._clock.isActive()
    QTest.mouseClick(panel.act_button, LEFT)
    idle()
    assert "rows 1-3 are still written as alight" in str(window.session.errors["record"])
    assert not window.session.book.record.closed
    # An hour on nobody has said that they are out.
    window.session.now = lambda: at(95 + 300)
    panel._clock.timeout.emit()
    assert "Look at 1-3" in panel.night.text()


def test_a_reading_outside_a_limit_says_stop_and_is_on_the_record(step, idle):
    window, panel = step
    show(panel, "reading")
    for key, text in (("temp_c", "18"), ("rh_pct", "45"), ("wind_km_h", "31,5")):
        type_in(panel.reading.boxes[key], text)
    QTest.mouseClick(panel.reading.keep, LEFT)
    idle()
    assert on_disk(window)[-1].body["wind_km_h"] == 31.5
    assert "Stop and hold" in str(window.session.errors["record"])
    assert panel.reading.table.rows_model.rows[0][-1] == "stop|stop and hold"
    assert "forecast" in panel.reading.last.text() and "index" in panel.reading.last.text()
    QTest.mouseClick(panel.reading.keep, LEFT)
    assert len(on_disk(window)) == 1, "a reading without its figures is not kept"


def test_an_escape_is_written_drawn_and_walked_round(step, idle, monkeypatch, tmp_path):
    from mapper.window import escapedialog

    window, panel = step
    show(panel, "escape")

    def fill(dialog):
        QTest.keyClicks(dialog.fields["noticed_at"], "20:41")
        QTest.keyClicks(dialog.fields["cause"], "ember")
        QTest.mouseClick(dialog.take_button, LEFT)
        return 1

    monkeypatch.setattr(escapedialog.EscapeDialog, "exec", fill)
    QTest.mouseClick(panel.escaped.fresh, LEFT)
    idle()
    assert on_disk(window)[-1].body == {"name": "E1", "cause": "ember"}
    assert "out at" in panel.escaped.missing.text()
    QTest.mouseClick(panel.escaped.draw, LEFT)
    canvas = window.canvas
    assert canvas.tool.name == "Draw what burnt"
    middle, side = canvas.rect().center(), 80 * canvas.metres_per_px()
    for dx, dy in ((-40, -40), (40, -40), (40, 40), (-40, 40)):
        QTest.mouseClick(canvas, LEFT, Qt.KeyboardModifier.AltModifier, middle + QPoint(dx, dy))
    QTest.keyClick(canvas, ENTER)
    idle()
    area = window.session.book.layers()["escapes"]
    assert area["area_ha"].iloc[0] == pytest.approx(side * side / 1e4, rel=0.02)
    assert on_disk(window)[-1].replaces == on_disk(window)[0].entry_id and canvas.tool.name == "Pick"
    # The outline from a track walked round it takes the place of what was drawn.
    x0, y0 = window.session.farm.paddocks.total_bounds[:2]
    corners = [(x0 + dx, y0 + dy) for dx, dy in ((0, 0), (100, 0), (100, 50), (0, 50), (0, 0))]
    lonlat = [window.session.farm.grid.to_lonlat(*c) for c in corners]
    points = "".join(f'<trkpt lat="{lat:.8f}" lon="{lon:.8f}"/>' for lon, lat in lonlat)
    track = tmp_path / "round.gpx"
    track.write_text(f'<gpx version="1.1"><trk><trkseg>{points}</trkseg></trk></gpx>', encoding="utf-8")
    panel.escaped.bring_track(track)
    idle()
    assert window.session.book.layers()["escapes"]["area_ha"].iloc[0] == pytest.approx(0.5, rel=0.01)
    assert len(window.session.book.layers()["escapes"]) == 1


def test_traces_set_the_burn_out_time_and_it_can_be_taken_back(step, idle, tmp_path):
    window, panel = step
    show(panel, "heat")
    s = window.session
    before = s.farm.row_burn.burnout_min
    for k, minutes in enumerate((6, 9, 12), start=1):
        trace = [25.0] * 5 + [450.0] * (minutes * 6) + [30.0] * 5
        path = tmp_path / f"probe {k}.csv"
        path.write_text("s;degC\n" + "\n".join(f"{10 * n};{v:.1f}" for n, v in enumerate(trace)), encoding="utf-8")
        type_in(panel.heat.row, str(k))
        panel.heat.bring_trace(path)
        idle()
    assert s.errors == {} and len(on_disk(window)) == 3
    assert [r[0] for r in panel.heat.table.rows_model.rows] == ["1", "2", "3"]
    assert f"{before:.0f} min becomes 12 min: longest of 3 probe traces on this farm (6 to 12 min)" in (
        panel.heat.adjusted.text()
    )
    QTest.mouseClick(panel.heat.adjust, LEFT)
    idle()
    assert s.farm.row_burn.burnout_min == pytest.approx(12.0, abs=0.2) and "probe traces" in s.farm.row_burn.source
    s.undo.undo()
    assert s.farm.row_burn.burnout_min == before
    # What is taken back on the farm is not taken out of the record.
    assert len(on_disk(window)) == 3


def test_weeds_counted_in_the_next_crop_say_whether_it_worked(step, idle, tmp_path):
    window, panel = step
    QTest.keyClicks(panel.tally.typed, "1-40 done, 17 missed")
    QTest.keyClick(panel.tally.typed, ENTER)
    show(panel, "crop")
    idle()
    assert panel.crop.places.rows_model.rows[0][:2] == ("L1", "17")
    click_row(panel.crop.places, 0)
    # The row missed is taken over, and that it did not burn.
    assert panel.crop.row.number() == 17 and not panel.crop.burnt.isChecked()
    for row, plants in (("17", "30"), ("3", "2")):
        type_in(panel.crop.row, row)
        type_in(panel.crop.plants, plants)
        type_in(panel.crop.length, "20")
        QTest.mouseClick(panel.crop.keep, LEFT)
        idle()
    counts = [e.body for e in on_disk(window) if e.kind == "count"]
    assert [(c["burnt"], c["plants"], c["area_m2"]) for c in counts] == [(False, 30, 10.0), (True, 2, 10.0)]
    assert panel.crop.worked.text().startswith("Burning left 93 % fewer plants, between")
    table = tmp_path / "counts.csv"
    table.write_text("burnt,plants,area_m2\nyes,1,5\nno,20,5\n", encoding="utf-8")
    panel.crop.bring_counts(table)
    idle()
    assert len(panel.crop.counts.rows_model.rows) == 4


def test_a_correction_keeps_what_stood_who_changed_it_and_when(step, idle):
    window, panel = step
    QTest.keyClicks(panel.tally.grid, "M")
    show(panel, "entries")
    idle()
    panel.by.selectAll()
    QTest.keyClicks(panel.by, "Ben")
    click_row(panel.entries.table, 0)
    QTest.keyClicks(panel.entries.again, "1 burnt")
    QTest.keyClick(panel.entries.again, ENTER)
    idle()
    first, second = on_disk(window)
    assert (second.replaces, second.by, first.by) == (first.entry_id, "Ben", "Ada")
    assert window.session.book.states[1] == "burnt"
    story = panel.entries.history.text().splitlines()
    assert story[0].endswith("Ben: 1: burnt") and story[1].endswith("Ada: 1: missed")
    QTest.mouseClick(panel.entries.withdraw, LEFT)
    idle()
    assert window.session.book.states[1] == "" and len(on_disk(window)) == 3
    assert panel.entries.table.rows_model.rows[-1][-1] == "stale|1: missed"


def test_two_peoples_records_are_joined_and_where_they_disagree_is_shown(step, idle, tmp_path):
    window, panel = step
    other = start_record(open_record(demo_plan()), tmp_path / "other")
    QTest.keyClicks(panel.tally.grid, "BB")
    mine = window.session.book.path
    window.session.book.open(other)
    panel.by.setText("Ben")
    QTest.keyClicks(panel.tally.typed, "2 missed, 3 burnt")
    QTest.keyClick(panel.tally.typed, ENTER)
    window.session.book.open(mine)
    panel.by.setText("Ada")
    show(panel, "happened")
    panel.happened.add_other(other)
    idle()
    assert len(on_disk(window)) == 4 and "2 entries" in panel.happened.added.text()
    (conflict,) = window.session.book.conflicts
    assert conflict.numbers == (2,) and {"Ada", "Ben", "burnt,", "missed."} & set(conflict.text.split())
    assert conflict.text in [text for _, text, _ in panel.disagree._items]
    assert window.top.steps["record"].words == "1 to settle"
    # Its card leads to the entry; taking that back settles it, and both stay in the file.
    (card,) = panel.disagree.findChildren(Card)
    QTest.mouseClick(card.button, LEFT)
    idle()
    assert panel.switch.shown == "entries" and "2: " in panel.entries.history.text()
    QTest.mouseClick(panel.entries.withdraw, LEFT)
    idle()
    assert window.session.book.conflicts == () and len(on_disk(window)) == 5


def test_the_lighters_track_and_what_else_happened(step, idle, tmp_path):
    from tests.record.drives import drive

    window, panel = step
    record = window.session.book.record
    track, _ = drive(record.pieces, [3, 4, 5], np.random.default_rng(2))
    lon, lat = window.session.farm.grid.to_lonlat(track["x"].to_numpy(), track["y"].to_numpy())
    points = "".join(
        f'<trkpt lat="{a:.8f}" lon="{o:.8f}"><time>{t:%Y-%m-%dT%H:%M:%SZ}</time></trkpt>'
        for a, o, t in zip(lat, lon, track["time_utc"], strict=True)
    )
    path = tmp_path / "lighter.gpx"
    path.write_text(f'<gpx version="1.1"><trk><trkseg>{points}</trkseg></trk></gpx>', encoding="utf-8")
    show(panel, "happened")
    panel.happened.bring_track(path)
    idle()
    assert [e.body["numbers"] for e in on_disk(window)] == [[3], [4], [5]]
    assert all(e.at is not None for e in on_disk(window)) and "3 rows lit" in panel.happened.added.text()
    assert panel.happened.blocks.rows_model.rows[0][0] == "A" and " to " in panel.happened.blocks.rows_model.rows[0][2]
    QTest.keyClicks(panel.happened.what, "no smoke at the south edge")
    QTest.keyClicks(panel.happened.more["done"], "raked")
    QTest.keyClicks(panel.happened.at, "01:10")
    QTest.mouseClick(panel.happened.kinds["patrol"], LEFT)
    idle()
    patrol = on_disk(window)[-1]
    assert patrol.kind == "patrol" and patrol.at == record.moment(1, 10)
    assert patrol.body == {"seen": "no smoke at the south edge", "done": "raked"}


def test_a_new_plan_and_another_farm_leave_the_record_alone(step, idle):
    window, panel = step
    s = window.session
    QTest.keyClicks(panel.tally.grid, "BBB")
    path, before = s.book.path, s.book.path.read_bytes()
    s.plan = replace(s.plan, number=8)
    s.plan_changed.emit()
    idle()
    assert s.book.record.plan_number == 7 and path.read_bytes() == before
    s.take_farm(demo_farm(("Hut",)), s.path)
    idle()
    assert s.book.record is None and path.read_bytes() == before
    s.go_to("record")
    idle()
    assert panel.kept.rows_model.rows == [("2026-04-18 plan 7",)]
    click_row(panel.kept, 0)
    idle()
    assert len(s.book.record.entries) == 3
    QTest.mouseClick(panel.act_button, LEFT)
    idle()
    assert on_disk(window)[-1].kind == "close" and window.top.steps["record"].words == "closed"


def test_another_plan_of_the_same_number_gets_a_record_of_its_own(step, idle):
    window, _ = step
    s, first = window.session, window.session.book.path
    pieces = s.plan.pieces.assign(order_no=s.plan.pieces["order_no"].to_numpy()[::-1])
    s.book.begin(replace(s.plan, pieces=pieces), s.path)
    assert s.book.path != first and s.book.path.name == "2026-04-18 plan 7 (2).record.jsonl"
    s.book.begin(s.plan, s.path)
    assert s.book.path == first


def test_nothing_is_written_without_a_name(step, idle):
    window, panel = step
    panel.by.clear()
    QTest.keyClicks(panel.tally.grid, "B")
    assert on_disk(window) == () and "Type your name first" in str(window.session.errors["record"])


def test_the_record_is_printed_into_a_folder(step, idle, tmp_path):
    window, panel = step
    QTest.keyClicks(panel.tally.typed, "all done, 9 missed")
    QTest.keyClick(panel.tally.typed, ENTER)
    window.paper.write_record(str(tmp_path / "out"))
    idle()
    assert window.session.errors == {}
    names = sorted(p.name for p in (tmp_path / "out").iterdir())
    assert "2026-04-18_look_here.pdf" in names
    (gpx,) = (tmp_path / "out").glob("*.gpx")
    places = [w.find("{*}desc").text for w in ET.parse(gpx).getroot().findall("{*}wpt")]
    assert len(places) == 1 and places[0].startswith("row 9, 0 to") and places[0].endswith("Missed")


def test_the_season_in_the_window_and_the_next_one_begun(step, idle, tmp_path):
    from mapper.window.rollover import roll_over
    from mapper.window.seasondialog import SeasonDialog

    window, panel = step
    s = window.session
    QTest.keyClicks(panel.tally.typed, "all done at 20:00, 1 done at 22:00")
    QTest.keyClick(panel.tally.typed, ENTER)
    start_record(
        replace(s.book.record, night=s.book.record.night - timedelta(days=365)), s.book.path.parent
    )  # fmt: skip
    dialog = SeasonDialog(window)
    assert [r[0] for r in dialog.table.rows_model.rows] == ["18 Apr 2026"]
    assert "100 % of what burnt lies on strips burnt last season too" in dialog.said.text()
    type_in(dialog.costs["cost_hour"], "50")
    assert dialog.table.rows_model.rows[0][-1] == f"{2 * 50 * s.book.record.people:,.0f}"
    dialog.save_report(tmp_path / "season.pdf")
    dialog.save_sheet(tmp_path / "season.xlsx")
    idle()
    assert (tmp_path / "season.pdf").stat().st_size > 5000 and (tmp_path / "season.xlsx").exists()
    dialog.deleteLater()
    old = s.farm
    roll_over(window, str(tmp_path / "next.gpkg"))
    idle()
    assert s.errors == {} and s.path.endswith("next.gpkg")
    assert s.farm.rows_before is not None and set(s.farm.rows_before["season"]) == {"2025/26"}
    assert s.farm.forecast is None and list(s.farm.paddocks["paddock"]) == list(old.paddocks["paddock"])
    # The record of the season that is over still stands beside it.
    assert len(s.book.beside(s.path)) == 2
    roll_over(window, str(tmp_path / "next.gpkg"))
    idle()
    assert "never written over" in str(s.errors[s.step])
