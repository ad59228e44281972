"""Noting who was told, and wind changes typed in by hand."""

from datetime import UTC, datetime

from PySide6.QtCore import Qt, QTime
from PySide6.QtTest import QTest


def test_everybody_is_noted_as_told_on_another_day_and_the_plan_knows(planned, idle):
    s = planned.session
    assert [a for a in s.plan.against if a.startswith("Not yet told")]
    s.go_to("order")
    idle()
    part = planned.panels["order"].telling
    count = part.table.rows_model.rowCount()
    for row in range(count):
        QTest.mouseClick(part.table.viewport(), Qt.MouseButton.LeftButton, pos=cell(part.table, row))
        part.at.setDateTime(part.at.dateTime().addDays(-1))
        part.by.setText("the manager")
        QTest.mouseClick(part.note, Qt.MouseButton.LeftButton)
        idle()
    assert [part.table.rows_model.rows[k][1][:3] for k in range(count)] == ["ok|"] * count
    assert "16 Apr" in part.table.rows_model.rows[0][1]
    assert s.undo.undoText().startswith("Note as told") and not s.may_print
    planned.work.work_out()
    idle()
    assert not any("told" in a for a in s.plan.against)
    QTest.mouseClick(part.forget, Qt.MouseButton.LeftButton)
    idle()
    assert not part.table.rows_model.rows[count - 1][1].startswith("ok|")


def test_a_time_to_come_is_refused_beside_the_step(planned, idle):
    s = planned.session
    s.go_to("order")
    idle()
    part = planned.panels["order"].telling
    QTest.mouseClick(part.table.viewport(), Qt.MouseButton.LeftButton, pos=cell(part.table, 0))
    part.at.setDateTime(part.at.dateTime().addDays(1))
    part.by.setText("the manager")
    QTest.mouseClick(part.note, Qt.MouseButton.LeftButton)
    assert "not come yet" in str(s.errors["order"])


def cell(table, row, column=0):
    """The middle of a table's cell, after scrolling to it."""
    index = table.model().index(row, column)
    table.scrollTo(index)
    return table.visualRect(index).center()


def test_a_wind_change_is_typed_in_used_and_taken_back(planned, idle):
    s = planned.session
    s.go_to("evening")
    idle()
    part = planned.panels["evening"].change
    QTest.mouseClick(part.put_in, Qt.MouseButton.LeftButton)
    assert s.asked.typed_changes == ()
    part.at.setTime(QTime(20, 30))
    for key, value in (("from_deg", 315), ("to_deg", 200), ("from_km_h", 10), ("to_km_h", 25)):
        part.boxes[key].setValue(value)
    QTest.mouseClick(part.put_in, Qt.MouseButton.LeftButton)
    idle()
    typed = s.asked.typed_changes[0]
    assert typed.at == datetime(2026, 4, 18, 10, 30, tzinfo=UTC) and typed.to_deg == 200
    assert typed in planned.evening.changes and "order" in s.stale
    s.undo.undo()
    idle()
    assert s.asked.typed_changes == ()


def test_the_person_in_charge_is_typed_in(planned, idle):
    s = planned.session
    s.go_to("order")
    idle()
    line = planned.panels["order"].people["in_charge"]
    line.setText("the manager")
    line.editingFinished.emit()
    assert s.farm.in_charge == "the manager" and s.undo.undoText() == "Change: in charge"


def test_the_picture_behind_keeps_over_half_its_colour_and_stays_pale():
    import numpy as np

    from mapper.window.backdrop import washed

    field = np.array([[[120, 140, 70, 255]]], dtype=np.uint8)
    light, dark = washed(field, False)[0, 0, :3].astype(int), washed(field, True)[0, 0, :3].astype(int)
    assert 0.5 * 70 <= np.ptp(light) <= 0.6 * 70 and light.mean() > 170 and dark.mean() < 75
