"""Changes of plan at the Order step, and an escape tried on the map, done as a person would."""

from datetime import UTC, datetime, timedelta

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from mapper.weather.windchange import WindChange

LEFT, PLAIN = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier


@pytest.fixture
def ordered(planned, idle):
    planned.session.go_to("order")
    idle()
    return planned


def test_a_block_is_dragged_earlier_and_taken_out_again(ordered, idle):
    s, panel = ordered.session, ordered.panels["order"]
    table = panel.table
    names = [r[0] for r in table.rows_model.rows]
    assert len(names) >= 2
    view = table.viewport()
    start = table.visualRect(table.rows_model.index(1, 0)).center()
    end = table.visualRect(table.rows_model.index(0, 0)).center()
    QTest.mousePress(view, LEFT, PLAIN, start)
    event = QMouseEvent(QMouseEvent.Type.MouseMove, QPointF(end), view.mapToGlobal(QPointF(end)), LEFT, LEFT, PLAIN)
    QApplication.sendEvent(view, event)
    QTest.mouseRelease(view, LEFT, PLAIN, end)
    idle()
    assert len(s.asked.wishes.earlier) == 1 and s.plan.number == 2
    wish = s.asked.wishes.earlier[0]
    said = [r.text for r in s.plan.remarks if r.step == "order"]
    lit = s.plan.pieces.set_index("piece_id")["lit_at"]
    # Kept, or said why not: the wind may forbid it.
    kept = lit[list(wish.pieces)].max() <= lit[list(wish.before)].min() if set(wish.pieces) <= set(lit.index) else False
    assert kept or said
    assert panel.wishes.table.rows_model.rowCount() == 1
    cell = panel.wishes.table.visualRect(panel.wishes.table.rows_model.index(0, 0)).center()
    QTest.mouseClick(panel.wishes.table.viewport(), LEFT, PLAIN, cell)
    QTest.mouseClick(panel.wishes.take_out, LEFT)
    idle()
    assert s.asked.wishes.earlier == () and s.plan.number == 3


def test_a_row_is_forbidden_a_crew_lost_and_what_got_worse_is_said(ordered, idle):
    s, panel = ordered.session, ordered.panels["order"]
    rows = s.layer("windrows")
    row = rows.loc[rows["length_m"].idxmax()]
    s.pick(str(row["paddock"]), str(row["row_id"]))
    idle()
    QTest.mouseClick(panel.wishes.unlit, LEFT)
    idle()
    mine = s.plan.pieces[s.plan.pieces["row_id"] == row["row_id"]]
    assert (mine["order_no"] == 0).all() and "more of row stays unlit" in " ".join(s.worse)
    assert panel.wishes.worse.isVisible()
    QTest.mouseClick(panel.wishes.lose, LEFT)
    idle()
    assert [c.crew for c in s.asked.wishes.lost_crews] == [panel.wishes.crew.currentText()]
    ordered.top.undo.click()
    ordered.top.undo.click()
    assert s.asked.wishes.unlit_rows == () and s.asked.wishes.lost_crews == ()


def test_the_wind_change_is_moved(ordered, idle):
    s, panel = ordered.session, ordered.panels["order"]
    at = datetime(2026, 4, 18, 12, 30, tzinfo=UTC)
    s.ask("Type in a wind change", typed_changes=(WindChange(at, 315.0, 225.0, 10.0, 20.0),))
    ordered.work.work_out(("hours",))
    idle()
    before = ordered.evening.changes[0].at
    panel.wishes.change.setDateTime(panel.wishes.change.dateTime().addSecs(-3600))
    QTest.mouseClick(panel.wishes.move_change, LEFT)
    idle()
    assert (before - ordered.evening.changes[0].at).total_seconds() == 3600


def test_stop_now_says_what_is_alight_and_what_is_left(ordered, idle):
    s, panel = ordered.session, ordered.panels["order"]
    lit = s.plan.pieces[s.plan.pieces["order_no"] > 0]["lit_at"].sort_values()
    s.show_hour(lit.iloc[len(lit) // 2].to_pydatetime())
    panel.wishes.refresh()
    QTest.mouseClick(panel.wishes.stop, LEFT)
    idle()
    text = panel.wishes.stopped.text()
    assert text.startswith(f"Stop at {ordered.clock(s.hour)}: ") and "alight" in text and "not lit" in text


def test_an_escape_is_tried_with_a_click_and_taken_off(ordered, idle):
    s, canvas = ordered.session, ordered.canvas
    canvas.take_tool("Try an escape")
    x0, y0, x1, y1 = s.farm.paddocks.total_bounds
    p = canvas.to_px(((x0 + x1) / 2, (y0 + y1) / 2))
    QTest.mouseClick(canvas, LEFT, PLAIN, QPoint(round(p.x()), round(p.y())))
    idle()
    part = ordered.panels["order"].escape
    assert part.isVisible() and s.errors == {}
    assert len(ordered.map.escape) > 0 and "arrival" in ordered.map.layers()
    minutes = [float(r[1].rpartition("|")[2].split()[0]) for r in part.table.rows_model.rows]
    assert minutes == sorted(minutes)
    QTest.mouseClick(part.clear, LEFT)
    idle()
    assert ordered.map.escape is None and not part.isVisible()


def test_the_night_plays_and_stops_by_itself_at_the_end(ordered, idle, qtbot):
    s, strip = ordered.session, ordered.strip
    s.show_hour(max(b.ends_at for b in ordered.evening.blocks))
    QTest.mouseClick(strip.play, LEFT)
    first = s.hour
    assert first == min(b.starts_at for b in ordered.evening.blocks)
    qtbot.waitUntil(lambda: (s.hour - first).total_seconds() >= 300, timeout=10_000)
    s.show_hour(max(b.ends_at for b in ordered.evening.blocks))
    qtbot.waitUntil(lambda: not strip.play.isChecked(), timeout=5_000)
    assert strip.why.text()


def test_a_blocks_start_is_fixed_kept_and_taken_out(ordered, idle):
    s, panel = ordered.session, ordered.panels["order"]
    last = s.plan.blocks.sort_values("starts_at").iloc[-1]
    s.pick(str(last["paddock"]), "", str(last["block"]))
    idle()
    part, farm = panel.wishes, s.farm
    later = last["starts_at"].to_pydatetime() + timedelta(minutes=10)
    part.start.setFocus()
    part.start.show_moment(later, farm.zone)
    QTest.mouseClick(part.fix, LEFT)
    idle()
    (wish,) = s.asked.wishes.starts
    assert abs((wish.at - later).total_seconds()) < 60
    assert s.undo.undoText() == f"Fix the start of block {last['block']}"
    assert any("not before" in r[0].lower() or "start" in r[0].lower() for r in part.table.rows_model.rows)
    lit = s.plan.pieces[s.plan.pieces["piece_id"].isin(wish.pieces) & s.plan.pieces["lit_at"].notna()]
    assert s.errors == {} and (lit["lit_at"] >= wish.at).all()
    ordered.top.undo.click()
    idle()
    assert s.asked.wishes.starts == ()
