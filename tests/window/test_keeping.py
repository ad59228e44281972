"""Work is kept: beside the file while it is not saved, as versions, as farms opened lately; and paper on a printer."""

import pytest
from pypdf import PdfReader
from PySide6.QtCore import Qt, QTimer
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton

from mapper.hours.verdict import BanCheck
from mapper.window.history import History
from mapper.window.keeping import data_folder
from mapper.window.state import Session
from mapper.window.window import MainWindow
from tests.window.conftest import NOW


def kept():
    return sorted((data_folder() / "unsaved").glob("*.gpkg"))


def test_unsaved_work_is_kept_found_by_the_next_run_and_opened(farmed, idle, qtbot):
    s = farmed.session
    s.edit("Call it", s.farm.with_(name="Half done"))
    farmed.keeping.keep()
    idle()
    files = kept()
    assert len(files) == 1
    farmed.keeping.keep()
    idle()
    assert kept() == files
    # While this run lives its work is not offered to another.
    other = MainWindow(Session(now=lambda: NOW))
    qtbot.addWidget(other, before_close_func=lambda w: setattr(w, "_closing", True))
    assert other.keeping.left() == []
    # The run ends badly: nothing is forgotten, its lock falls.
    farmed.keeping._lock.unlock()
    left = other.keeping.left()
    assert [one.name for one in left] == ["Half done"]
    other.show()
    other.keeping.open_left(left[0])
    qtbot.waitUntil(lambda: other.session.farm is not None and not other.jobs.running(), timeout=20_000)
    assert other.session.farm.name == "Half done" and other.session.dirty
    assert not files[0].exists() and len(kept()) == 1


def test_saving_forgets_what_was_kept_and_leaves_a_version_to_go_back_to(farmed, idle, tmp_path):
    s, path = farmed.session, str(tmp_path / "farm.gpkg")
    s.edit("Call it", s.farm.with_(name="First"))
    farmed.keeping.keep()
    idle()
    farmed.files.save_to(path)
    idle()
    assert kept() == [] and not s.dirty
    s.edit("Call it", s.farm.with_(name="Second"))
    assert s.dirty and len(farmed.keeping.versions()) == 1
    farmed.menu.fill()
    back = next(a.menu() for a in farmed.menu.actions() if a.text() == "Go back to a version saved")
    back.actions()[0].trigger()
    idle()
    assert s.farm.name == "First" and s.undo.undoText().startswith("Go back to the version")
    farmed.top.undo.click()
    assert s.farm.name == "Second"


def test_farms_opened_lately_are_in_the_menu(farmed, idle, tmp_path):
    path = tmp_path / "lately.gpkg"
    farmed.files.save_to(str(path))
    idle()
    farmed.menu.fill()
    recent = next(a.menu() for a in farmed.menu.actions() if a.text() == "Recent farms")
    assert [a.text() for a in recent.actions()] == ["lately"]
    recent.actions()[0].trigger()
    idle()
    assert farmed.session.path == str(path)
    path.unlink()
    assert farmed.keeping.recent() == []


def test_the_sheets_go_to_a_printer_on_their_own_paper(planned, idle, tmp_path, monkeypatch):
    from mapper.sheets import book

    every = book.sheets_of
    # The last two, notices, are quick to paint; each has a front and perhaps a back.
    monkeypatch.setattr(book, "sheets_of", lambda plan, paper: every(plan, paper)[-2:])
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "printed.pdf"))
    planned.paper.print_on(printer)
    idle()
    assert planned.session.printed and planned.session.errors == {}
    pages = PdfReader(tmp_path / "printed.pdf").pages
    assert len(pages) >= 2 and {round(float(p.mediabox.width) / 72 * 25.4) for p in pages} == {210}
    assert "Neighbour" in "".join(p.extract_text() for p in pages)


def answer(qtbot, words):
    """Click a button of the question that is open, as soon as it is."""

    def click():
        asked = QApplication.activeModalWidget()
        if asked is None:
            QTimer.singleShot(20, click)
        else:
            button = next(b for b in asked.findChildren(QPushButton) if b.text() == words)
            QTest.mouseClick(button, Qt.MouseButton.LeftButton)

    QTimer.singleShot(20, click)


@pytest.mark.parametrize("words", ["Open it", "Let it go", "Ask again later"])
def test_the_question_about_unsaved_work(farmed, idle, qtbot, words):
    s = farmed.session
    s.edit("Call it", s.farm.with_(name="Half done"))
    farmed.keeping.keep()
    idle()
    farmed.keeping._lock.unlock()  # the run ends badly
    other = MainWindow(Session(now=lambda: NOW))
    qtbot.addWidget(other, before_close_func=lambda w: setattr(w, "_closing", True))
    other.show()
    answer(qtbot, words)
    other.keeping.offer()
    qtbot.waitUntil(lambda: not other.jobs.running(), timeout=20_000)
    if words == "Open it":
        qtbot.waitUntil(lambda: other.session.farm is not None, timeout=20_000)
        assert other.session.farm.name == "Half done" and other.session.dirty
    else:
        assert other.session.farm is None and len(other.keeping.left()) == (words == "Ask again later")


def test_not_saved_is_right_through_edits_undo_and_a_slow_save(farmed, idle, tmp_path):
    s, path, saved = farmed.session, str(tmp_path / "farm.gpkg"), farmed.status.saved
    assert saved.text() == "Not saved"
    farmed.files.save_to(path)
    # An edit while the save runs is not in the file.
    s.edit("Call it", s.farm.with_(name="While saving"))
    idle()
    assert s.dirty and saved.text() == "Not saved" and farmed.isWindowModified()
    farmed.top.undo.click()
    idle()
    assert not s.dirty and saved.text().startswith("Saved") and not farmed.isWindowModified()
    farmed.top.redo.click()
    assert s.dirty
    farmed.top.undo.click()
    # What is asked of a night is kept in the file too; asking and taking it back leaves it as saved.
    s.ask("Note the ban check", ban=BanCheck("none", s.now(), "the manager"))
    assert s.dirty
    farmed.top.undo.click()
    assert not s.dirty


def test_the_history_reads_as_sentences_and_goes_back_by_a_click(farmed, idle):
    s = farmed.session
    for name in ("One", "Two", "Three"):
        s.edit(f"Call it {name}", s.farm.with_(name=name))
    farmed.show_history()
    history = farmed.findChild(History)
    model = history.list.model()
    lines = [model.data(model.index(k, 0)) for k in range(model.rowCount())]
    assert lines == ["As it was opened", "Call it One", "Call it Two", "Call it Three"]
    spot = history.list.visualRect(model.index(1, 0)).center()
    QTest.mouseClick(history.list.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, spot)
    assert s.farm.name == "One" and s.undo.canRedo()
    history.close()
