"""Noting who was told, and wind changes typed in by hand."""

from datetime import UTC, datetime, timedelta

import pytest
from PySide6.QtCore import Qt, QTime
from PySide6.QtTest import QTest

from mapper.farm.errors import MapperError
from mapper.window import edits

AT = datetime(2026, 4, 17, 6, 30, tzinfo=UTC)


def test_told_is_noted_and_taken_away(planned):
    farm = planned.session.farm
    name = str(farm.neighbours["neighbour"].iloc[0])
    told = edits.tell_neighbour(farm, name, AT, "the manager", AT)
    row = told.neighbours.iloc[0]
    assert (row["told_at"], row["told_by"]) == ("2026-04-17T06:30+00:00", "the manager")
    assert edits.tell_neighbour(told, name, None, "", AT).neighbours.iloc[0]["told_at"] == ""


@pytest.mark.parametrize(
    ("name", "by", "at", "words"),
    [("nobody", "me", AT, "no such neighbour"), ("", "", AT, "nobody is named"),
     ("", "me", AT + timedelta(hours=1), "not come yet")],
)  # fmt: skip
def test_a_note_that_says_nothing_is_refused(planned, name, by, at, words):
    farm = planned.session.farm
    with pytest.raises(MapperError, match=words):
        edits.tell_neighbour(farm, name or str(farm.neighbours["neighbour"].iloc[0]), at, by, AT)


def test_note_a_neighbour_in_the_order_step_and_plan_again(planned, idle):
    s = planned.session
    untold = [a for a in s.plan.against if a.startswith("Not yet told")]
    assert untold
    s.go_to("order")
    idle()
    part = planned.panels["order"].telling
    for row, who in enumerate(part._ids):
        if who:
            part.table.chosen.emit(row)
            part.by.setText("the manager")
            QTest.mouseClick(part.note, Qt.MouseButton.LeftButton)
            idle()
    assert s.undo.undoText().startswith("Note as told") and not s.may_print
    planned.work.work_out()
    idle()
    assert not any(a.startswith("Not yet told") for a in s.plan.against)
    s.undo.undo()
    assert "" in set(s.farm.neighbours["told_at"])


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
