"""Numbers as people type them."""

import math

import pytest
from PySide6.QtCore import QLocale
from PySide6.QtTest import QTest

from mapper.window.numberbox import NumberBox, read_number


@pytest.mark.parametrize(
    ("text", "value"), [("12,5", 12.5), ("12.5", 12.5), (" 7 ", 7.0), ("-3", -3.0), ("+0,25", 0.25)]
)
def test_both_decimal_marks(text, value):
    assert read_number(text) == value


@pytest.mark.parametrize("text", ["1.234,5", "1 234", "1,234,5", "", "12,", "abc", "1e3", "--2"])
def test_what_is_no_number_is_refused(text):
    assert read_number(text) is None


@pytest.mark.parametrize("locale", ["en_AU", "de_DE", "en_US"])
@pytest.mark.parametrize("text", ["12,5", "12.5"])
def test_typed_into_the_box(qtbot, locale, text):
    before = QLocale()
    QLocale.setDefault(QLocale(locale))
    try:
        box = NumberBox("Width", 0, 200)
        qtbot.addWidget(box)
        box.lineEdit().selectAll()
        QTest.keyClicks(box, text)
        box.interpretText()
        assert box.number() == 12.5
    finally:
        QLocale.setDefault(before)


def test_an_empty_box_is_not_known(qtbot):
    box = NumberBox("Yield", 0, 20, may_be_empty=True)
    qtbot.addWidget(box)
    assert math.isnan(box.number())
    box.set_number(3.2)
    assert box.number() == pytest.approx(3.2)
    box.set_number(math.nan)
    assert math.isnan(box.number()) and box.text() == "not known"
