"""Tables sort, filter and are copied for a spreadsheet, by mouse and keys."""

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest

from mapper.window.tables import OrderTable, PlainTable

LEFT, CONTROL, SHIFT = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
ROWS = [("Bottom Dam", "90.4", "ok|suited"), ("Hut", "8.0", "look|tell first"), ("Creek", "118", "stop|break open")]


@pytest.fixture
def table(qtbot, qapp):
    made = PlainTable("Paddocks", ("Paddock", "ha", "State"))
    qtbot.addWidget(made)
    made.resize(420, 200)
    made.show_rows(ROWS)
    made.show()
    qtbot.waitExposed(made)
    return made


def shown(table):
    return [table.model().index(k, 0).data() for k in range(table.model().rowCount())]


def click_head(table, column):
    head = table.horizontalHeader()
    QTest.mouseClick(head.viewport(), LEFT, pos=QPoint(head.sectionViewportPosition(column) + 20, 8))


def test_a_click_on_a_head_sorts_figures_by_size_then_back(table):
    click_head(table, 1)
    assert shown(table) == ["Hut", "Bottom Dam", "Creek"]
    click_head(table, 1)
    assert shown(table) == ["Creek", "Bottom Dam", "Hut"]
    click_head(table, 1)
    assert shown(table) == [r[0] for r in ROWS]


def test_the_row_chosen_is_the_one_seen_however_sorted(table, qtbot):
    click_head(table, 1)
    with qtbot.waitSignal(table.chosen) as got:
        QTest.mouseClick(table.viewport(), LEFT, pos=table.visualRect(table.model().index(0, 0)).center())
    assert ROWS[got.args[0]][0] == "Hut"
    table.mark_row(2)
    assert table.currentIndex().data() == "Creek"


def test_letters_keep_rows_and_esc_shows_all(table):
    table.setFocus()
    QTest.keyClicks(table, "b")
    assert table.filter.isVisible() and shown(table) == ["Bottom Dam", "Creek"]
    QTest.keyClicks(table.filter, "reak")
    assert shown(table) == ["Creek"]
    QTest.keyClick(table.filter, Qt.Key.Key_Escape)
    assert shown(table) == [r[0] for r in ROWS] and not table.filter.isVisible()


def test_what_is_seen_goes_to_a_spreadsheet(table):
    click_head(table, 1)
    table.setFocus()
    QTest.keyClick(table, Qt.Key.Key_C, CONTROL | SHIFT)
    assert QGuiApplication.clipboard().text().split("\n")[:2] == ["Paddock\tha\tState", "Hut\t8.0\ttell first"]
    QTest.mouseClick(table.viewport(), LEFT, pos=table.visualRect(table.cell(2, 0)).center())
    QTest.keyClick(table, Qt.Key.Key_C, CONTROL)
    assert QGuiApplication.clipboard().text() == "Creek\t118\tbreak open"


def test_where_the_order_is_what_counts_nothing_sorts_or_filters(qtbot, qapp):
    table = OrderTable("Blocks", ("Block", "Rows"))
    qtbot.addWidget(table)
    table.show_rows([("B", "2"), ("A", "1")])
    table.show()
    click_head(table, 0)
    QTest.keyClicks(table, "a")
    assert shown(table) == ["B", "A"] and not table.filter.isVisible()
