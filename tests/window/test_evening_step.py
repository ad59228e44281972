"""The Evening step, done as a person would: hours typed and pasted, issues, readings, the ban check with its day."""

from datetime import UTC, datetime, timedelta

import pandas as pd
import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from mapper.farm.issues import ForecastIssue
from mapper.window.hourstable import HoursDialog, read_figure
from tests.farms import evening_forecast

LEFT = Qt.MouseButton.LeftButton


def in_dialog(do):
    """Do something with the dialog that opens next, as its user would."""

    def when_open():
        dialog = QApplication.activeModalWidget()
        if dialog is None:
            QTimer.singleShot(20, when_open)
        else:
            try:
                do(dialog)
            finally:
                # A check that failed must not leave the dialog open: nobody would close it.
                dialog.reject() if dialog.isVisible() else None

    QTimer.singleShot(20, when_open)


def at_evening(window, idle):
    window.session.go_to("evening")
    window.work.work_out(("hours",))
    idle()
    return window.panels["evening"]


def test_a_figure_is_read_with_both_decimal_marks_and_compass_names():
    assert read_figure("12,5", "temp_c") == read_figure("12.5", "temp_c") == 12.5
    assert read_figure("nw", "wind_from_deg") == 315.0 and read_figure("1.234,5", "temp_c") is None
    assert read_figure("", "temp_c") != read_figure("", "temp_c")


def test_an_hour_is_typed_in_judged_and_taken_back(farmed, idle):
    panel, s = at_evening(farmed, idle), farmed.session
    before = s.farm.forecast

    def type_in(dialog):
        view = dialog.view
        view.setCurrentIndex(view.hours.index(6, 2))
        view.edit(view.currentIndex())
        editor = view.viewport().findChild(QLineEdit)
        QTest.keyClicks(editor, "44,5")
        QTest.keyClick(editor, Qt.Key.Key_Return)
        QTest.qWait(10)
        QTest.mouseClick(dialog.take_button, LEFT)

    in_dialog(type_in)
    QTest.mouseClick(panel.forecast.type_in, LEFT)
    idle()
    assert (s.farm.forecast["wind_km_h"] == 44.5).sum() == 1 and len(s.farm.forecast) == len(before)
    hour = farmed.evening.hours.iloc[6]
    assert hour["verdict"] == "no-go" and "44" in hour["why"]
    assert panel.forecast.issue.currentText().startswith("typed in")
    farmed.top.undo.click()
    idle()
    assert s.farm.forecast is before


def test_cells_and_whole_tables_are_pasted(farmed, idle, qtbot):
    panel = at_evening(farmed, idle)

    def paste_cells(dialog):
        view = dialog.view
        view.setCurrentIndex(view.hours.index(2, 0))
        QGuiApplication.clipboard().setText("21,5\t40\n22.5\t41\nwarm\t42\n")
        QTest.keyClick(view, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
        assert view.hours.values[2][:2] == [21.5, 40.0] and view.hours.values[3][:2] == [22.5, 41.0]
        assert "1 cells were no figures" in dialog.errors.findChildren(type(panel.lead_words))[0].text()
        times = pd.date_range("2026-04-18 12:00", periods=24, freq="h")
        lines = ["time;temperature C;humidity %;wind km/h;gust km/h;wind direction;rain mm;cloud %"]
        lines += [f"{t:%Y-%m-%d %H:%M};19,5;55;9;14;300;0;10" for t in times]
        QGuiApplication.clipboard().setText("\n".join(lines))
        QTest.keyClick(view, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
        assert dialog.view.hours.values[5][:4] == pytest.approx([19.5, 55.0, 9.0, 14.0])
        QTest.mouseClick(dialog.leave_button, LEFT)

    in_dialog(paste_cells)
    before = farmed.session.farm
    QTest.mouseClick(panel.forecast.type_in, LEFT)
    assert farmed.session.farm is before


def test_hours_that_cannot_be_are_said_and_the_dialog_stays(farmed, idle):
    at_evening(farmed, idle)
    dialog = HoursDialog(farmed)
    dialog.view.hours.values[3][1] = 140.0
    dialog.show()
    QTest.mouseClick(dialog.take_button, LEFT)
    assert dialog.isVisible() and dialog.table is None and dialog.errors.isVisible()
    dialog.reject()


def test_another_issue_of_the_forecast_is_taken(farmed, idle):
    s = farmed.session
    older = ForecastIssue("morning.csv", evening_forecast(6.0), datetime(2026, 4, 17, 0, tzinfo=UTC))
    newer = ForecastIssue("noon.csv", evening_forecast(9.0), datetime(2026, 4, 17, 3, tzinfo=UTC))
    s.edit("Bring in", s.farm.with_issue(older).with_issue(newer))
    panel = at_evening(farmed, idle)
    choice = panel.forecast.issue
    assert [choice.itemText(k)[:7] for k in range(choice.count())] == ["morning", "noon.cs"]
    choice.setFocus()
    QTest.keyClick(choice, Qt.Key.Key_Up)
    choice.activated.emit(choice.currentIndex())
    idle()
    assert s.farm.forecast is older.table and s.undo.undoText() == "Use the forecast morning.csv"


def test_a_reading_is_put_in_held_against_the_forecast_and_taken_out(farmed, idle):
    panel, s = at_evening(farmed, idle), farmed.session
    part = panel.readings
    QTest.mouseClick(part.put_in, LEFT)
    assert s.farm.readings is None
    for key, value in (("wind_km_h", 38), ("wind_from_deg", 315), ("temp_c", 20)):
        part.boxes[key].setValue(value)
    part.by.setText("the manager")
    part.at.setDateTime(part.at.dateTime().addSecs(3600 * 12))
    QTest.mouseClick(part.put_in, LEFT)
    idle()
    assert len(s.farm.readings) == 1 and part.table.rows_model.rows[0][3] == "look|differs"
    assert "where the forecast gives" in part.words.text()
    QTest.mouseClick(part.take_out, LEFT)
    assert s.farm.readings is None


def test_the_ban_check_says_when_and_by_whom_and_is_kept(farmed, idle, tmp_path):
    panel, s = at_evening(farmed, idle), farmed.session
    panel.ban.setFocus()
    QTest.keyClick(panel.ban, Qt.Key.Key_Down)
    panel.ban.activated.emit(panel.ban.currentIndex())
    idle()
    assert s.ban.state == "none" and s.ban.checked_at == s.now()
    panel.ban_time.setDateTime(panel.ban_time.dateTime().addSecs(-3600 * 5))
    panel.ban_by.setText("the manager")
    panel.ban_by.editingFinished.emit()
    idle()
    assert s.ban.checked_at == s.now() - timedelta(hours=5) and s.ban.by == "the manager"
    assert s.dirty
    path = str(tmp_path / "farm.gpkg")
    farmed.files.save_to(path)
    idle()
    assert not s.dirty
    ban, night = s.ban, s.night
    farmed.files.open_path(path)
    idle()
    s.look_at(night)
    assert s.ban == ban
    s.look_at(night + timedelta(days=1))
    assert s.ban.state == "unknown"


def test_the_week_of_evenings_is_looked_at_and_a_night_taken(planned, idle, qtbot):
    s = planned.session
    planned.session.go_to("evening")
    idle()
    seen = {}

    def read(dialog):
        table = dialog.table
        seen["cells"] = [row[1:] for row in table.rows_model.rows]
        table.setFocus()
        table.setCurrentIndex(table.cell(0, 1))
        seen["why"] = dialog.why.text()
        QTest.mouseClick(dialog.take_button, LEFT)

    in_dialog(read)
    QTest.mouseClick(planned.panels["evening"].forecast.week, LEFT)
    qtbot.waitUntil(lambda: "why" in seen, timeout=60_000)
    idle()
    words = {"suited", "tell first", "break open", "not", "proposed"}
    assert all(cell.rpartition("|")[2].split(",")[0] in words for row in seen["cells"] for cell in row)
    assert "Bottom Dam" in seen["why"] and s.night is not None
