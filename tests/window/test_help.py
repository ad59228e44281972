"""Help at hand: each step in a few sentences, where figures come from, the round of the sample, another language."""

import xml.etree.ElementTree as ET

import pytest
from PySide6.QtCore import QSettings, Qt
from PySide6.QtTest import QTest

from mapper.window.helping import STEP_HELP, Figures
from mapper.window.panel import CAUTION
from mapper.window.state import STEPS, Session
from mapper.window.tour import STOPS, wanted
from mapper.window.window import MainWindow
from mapper.window.words import said, speak
from tests import words
from tests.window.conftest import NOW

LEFT = Qt.MouseButton.LeftButton


def test_each_step_says_in_short_what_it_is_for(farmed, idle):
    assert set(STEP_HELP) == set(STEPS) == {step for step, _ in STOPS}
    for step in STEPS:
        farmed.session.go_to(step)
        idle()
        line = farmed.panels[step].help
        assert not line.words.isVisible()
        QTest.mouseClick(line.ask, LEFT)
        assert line.words.isVisible() and line.words.text() == STEP_HELP[step] and len(line.words.text()) < 330
        QTest.keyClick(line.ask, Qt.Key.Key_Space)
        assert not line.words.isVisible()


def test_every_figure_of_the_plan_says_where_it_comes_from(planned, idle):
    planned.session.go_to("breaks")
    idle()
    QTest.mouseClick(planned.panels["breaks"].help.figures, LEFT)
    shown, figures = planned.findChild(Figures), planned.session.plan.figures
    assert shown.isVisible() and shown.table.rows_model.rowCount() == len(figures) > 5
    for row, figure in enumerate(figures):
        spot = shown.table.visualRect(shown.table.rows_model.index(row, 0)).center()
        shown.table.scrollTo(shown.table.rows_model.index(row, 0))
        spot = shown.table.visualRect(shown.table.rows_model.index(row, 0)).center()
        QTest.mouseClick(shown.table.viewport(), LEFT, Qt.KeyboardModifier.NoModifier, spot)
        assert figure.source and figure.source in shown.source.text() and figure.inputs in shown.inputs.text()
        assert ("past the range" in shown.source.text()) == figure.outside
    shown.close()


def test_the_round_opens_the_sample_goes_through_the_steps_and_is_offered_once(window, idle):
    assert wanted()
    window.show_round()
    tour, seen = window.tour, []
    while window.tour is not None:
        QTest.mouseClick(tour.next, LEFT)
        if window.tour is not None:
            seen.append(window.session.step)
            window.jobs.finish("read")
            idle() if len(seen) == 1 else None
    assert seen == [step for step, _ in STOPS]
    assert window.session.farm.invented and not wanted()
    window.work.stop_working()
    idle()


def test_the_round_is_skipped_by_a_click_or_esc_and_not_offered_again(window, idle):
    window.show_round()
    QTest.keyClick(window.tour, Qt.Key.Key_Escape)
    assert window.tour is None and not wanted() and window.session.farm is None
    window.show_round()
    QTest.mouseClick(window.tour.stop, LEFT)
    assert window.tour is None


@pytest.fixture
def german(window, qapp):
    assert speak(qapp, "de") == "de"
    yield
    speak(qapp, "en")


def test_the_window_speaks_german_and_safety_words_stay_english(german, qtbot):
    made = MainWindow(Session(now=lambda: NOW))
    qtbot.addWidget(made, before_close_func=lambda w: setattr(w, "_closing", True))
    made.show()
    qtbot.waitUntil(lambda: made.panels["paddock"].lead_words.text() != "", timeout=5000)
    assert [made.top.steps[s].text() for s in STEPS[:3]] == ["Schlag", "Schwade", "Schneisen"]
    assert made.top.print.text() == "Blätter drucken"
    assert made.panels["paddock"].lead_words.text().startswith("Beginne mit einer Grenze")
    assert said(CAUTION) == CAUTION and said("NOT A GO") == "NOT A GO"
    # What nobody has translated is English, not empty.
    assert said("Nobody has translated this") == "Nobody has translated this"


def test_the_language_is_chosen_in_the_menu_and_holds_from_the_next_start(window, qapp):
    window.menu.fill()
    menu = next(a.menu() for a in window.menu.actions() if a.text() == "Language")
    next(a for a in menu.actions() if a.text() == "Deutsch").trigger()
    assert QSettings("mapper", "mapper").value("language") == "de"
    try:
        assert speak(qapp) == "de"
    finally:
        speak(qapp, "en")


def test_the_words_are_gathered_and_compiled_by_qts_own_tools(tmp_path):
    ts = tmp_path / "de.ts"
    ts.write_text(words.TS.read_text(encoding="utf-8"), encoding="utf-8")
    words.compile_words(ts, tmp_path / "de.qm")
    assert (tmp_path / "de.qm").read_bytes() == words.TS.with_suffix(".qm").read_bytes()
    # Brought up to date, a word of the window that has a translation keeps it.
    words.update(ts)
    now = {m.findtext("source"): m.findtext("translation") for m in ET.parse(ts).iter("message")}
    before = {m.findtext("source"): m.findtext("translation") for m in ET.parse(words.TS).iter("message")}
    assert set(now) == set(words.window_words())
    assert all(now[w] == before[w] for w in now if before.get(w))
    assert sum(bool(t) for t in now.values()) > 120
    assert not any(CAUTION.startswith(w) or "Advice" in w for w in words.window_words())
