"""A new user: from an empty window to printed sheets for a paddock drawn by hand. Every click is counted."""

import pytest
from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QLineEdit, QPushButton

from mapper.window.newfarm import NewFarm

LEFT = Qt.MouseButton.LeftButton
# A file dialog of the computer costs a click on the file and one on Open.
FILE_DIALOG = 2
MOST_CLICKS = 30


class Hand:
    """Clicks as a person does, and counts."""

    def __init__(self, window, idle):
        self.window, self.idle, self.clicks, self.log = window, idle, 0, []

    def click(self, widget, at=None, why=""):
        assert widget.isEnabled() and widget.isVisible(), why
        self.clicks += 1
        self.log.append(why or widget.accessibleName())
        at = at or widget.rect().center()
        QTest.mouseMove(widget, at)
        QTest.mouseClick(widget, LEFT, Qt.KeyboardModifier.NoModifier, at)
        self.idle()

    def on_map(self, east, north, why):
        p = self.window.canvas.to_px((east, north))
        self.click(self.window.canvas, QPoint(round(p.x()), round(p.y())), why)

    def next(self, step):
        """The one button that the panel marks as the thing to do next."""
        panel = self.window.panels[step]
        self.click(panel.act_button, why=f"{step}: {panel.act_button.text()}")


def forecast_file(folder):
    path = folder / "hours.csv"
    rows = []
    for day in (17, 18, 19):
        for h in range(24):
            warm = max(0, 10 - abs(h - 15))
            rows.append(
                f"2026-04-{day} {h:02d}:00,{13 + warm},{70 - 3 * warm},{9 + warm / 3:.0f},{14 + warm / 2:.0f},315,2,0"
            )
    path.write_text(
        "time,temperature C,humidity %,wind km/h,gust km/h,wind direction,cloud okta,rain mm\n" + "\n".join(rows)
    )
    return path


@pytest.mark.filterwarnings("default")
def test_from_nothing_to_printed_sheets(window, idle, qtbot, tmp_path, monkeypatch):
    hand = Hand(window, idle)
    paddock = window.panels["paddock"]
    idle()

    def answer_new_farm():
        asked = QApplication.activeModalWidget()
        if not isinstance(asked, NewFarm):
            QTimer.singleShot(20, answer_new_farm)
            return
        name = asked.findChild(QLineEdit)
        name.selectAll()
        QTest.keyClicks(name, "My farm")
        button = next(b for b in asked.findChildren(QPushButton) if b.text() == "Draw here")
        hand.clicks += 1
        hand.log.append("new farm: Draw here")
        QTest.mouseClick(button, LEFT)

    QTimer.singleShot(20, answer_new_farm)
    draw = next(b for b in paddock.findChildren(QPushButton) if b.text() == "Draw a paddock on the map")
    hand.click(draw)
    east, north = window.canvas.view.centre
    for x, y in ((-350, -250), (-350, 250), (350, 250), (350, -250)):
        hand.on_map(east + x, north + y, "a corner")
    hand.next("paddock")
    assert len(window.session.farm.paddocks) == 1 and window.session.errors == {}
    yield_box = paddock.numbers["yield_t_ha"]
    hand.click(yield_box, why="type the yield")
    QTest.keyClicks(yield_box, "2,8")
    QTest.keyClick(yield_box, Qt.Key.Key_Tab)
    width = paddock.numbers["header_width_m"]
    width.selectAll()
    QTest.keyClicks(width, "12")
    QTest.keyClick(width, Qt.Key.Key_Tab)
    hand.next("paddock")
    assert window.session.step == "rows"
    hand.next("rows")
    if window.session.step == "rows":
        assert len(window.session.layer("windrows")) > 10, window.session.errors
        hand.next("rows")
    assert window.session.step == "breaks"
    path = forecast_file(tmp_path)
    hand.next("breaks")
    assert window.session.step == "evening"
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *a, **k: (str(path), ""))
    hand.next("evening")
    hand.clicks += FILE_DIALOG
    hand.click(window.files.shown.take_button, why="Bring it in")
    assert window.session.night is not None
    hand.next("evening")
    qtbot.waitUntil(lambda: window.session.plan is not None or window.session.errors, timeout=60_000)
    assert window.session.errors == {} and window.session.step == "order"
    idle()
    hand.next("order")
    assert window.session.step == "sheets"
    folder = tmp_path / "sheets"
    folder.mkdir()
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *a, **k: str(folder))
    hand.click(window.panels["sheets"].quiet_button, why="Save as PDF")
    hand.clicks += FILE_DIALOG
    qtbot.waitUntil(lambda: bool(list(folder.glob("*.pdf"))), timeout=60_000)
    idle()
    assert window.session.errors == {}
    print(f"{hand.clicks} clicks:", "; ".join(hand.log))
    assert hand.clicks <= MOST_CLICKS
    # Without a ban check and with starting limits, the plan says that it is no go, and why.
    assert not window.session.plan.go and window.session.plan.against
