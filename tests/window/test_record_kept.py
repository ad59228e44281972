"""A tally typed by somebody new, counted in keys and clicks; and what is left of one when the battery dies."""

import os
import signal
import subprocess
import sys
import time
from dataclasses import replace

import numpy as np
import pytest
import shapely
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from mapper.farm.layers import make_layer
from mapper.files.record import read_record, start_record
from tests.record.nights import night

# What a paper tally of 90 rows says: most burnt, ticked; the rest circled with a letter (invented).
TALLY = {
    "burnt": [n for n in range(1, 91) if n not in {7, 8, 17, 22, 31, 44, 45, 46, 58, 63, 71, 80, 90}],
    "missed": [7, 8, 17, 58, 90],
    "went out": [22, 44, 45, 46, 63, 80],
    "got away": [31],
    "left": [71],
}
# A new user's pace: two keys a second, a second and a half a click (keystroke-level model, Card, Moran & Newell 1980,
# from memory: 0.28 s a key of an average typist, 1.1 s to point and 0.2 s to press; ours is slower).
KEY_S, CLICK_S = 0.5, 1.5


def ninety_rows():
    """A night of 90 straight rows."""
    record = night()
    x, y = record.land.total_bounds[:2]
    lines = [shapely.LineString([(x + 9 * k, y), (x + 9 * k, y + 600)]) for k in range(90)]
    names = [f"R{k + 1:03d}" for k in range(90)]
    pieces = make_layer(
        "pieces",
        {"piece_id": names, "row_id": names, "paddock": [record.land["paddock"].iloc[0]] * 90,
         "block": [chr(65 + k // 18) for k in range(90)], "order_no": np.arange(1, 91), "length_m": [600.0] * 90},
        lines, record.pieces.crs,
    )  # fmt: skip
    return replace(record, pieces=pieces)


class Counted:
    """Types and clicks, and counts."""

    def __init__(self) -> None:
        self.keys = self.clicks = 0

    def type(self, widget, text: str) -> None:
        QTest.keyClicks(widget, text)
        self.keys += len(text)

    def key(self, widget, key: Qt.Key) -> None:
        QTest.keyClick(widget, key)
        self.keys += 1

    def click(self, widget) -> None:
        QTest.mouseClick(widget, Qt.MouseButton.LeftButton)
        self.clicks += 1

    @property
    def seconds(self) -> float:
        return KEY_S * self.keys + CLICK_S * self.clicks


@pytest.fixture
def ninety(window, idle, tmp_path):
    window.session.take_farm(night_farm())
    window.session.book.open(start_record(ninety_rows(), tmp_path))
    window.session.go_to("record")
    idle()
    return window


def night_farm():
    from tests.demo import demo_farm

    return demo_farm()


def copied(window) -> dict[str, list[int]]:
    record, _ = read_record(window.session.book.path)
    window.session.book.record = record
    found: dict[str, list[int]] = {}
    for number, state in window.session.book.states.items():
        found.setdefault(state, []).append(number)
    return found


def test_row_by_row_a_ninety_row_tally_takes_under_three_minutes(ninety, idle):
    """Nobody told them of words or ranges: a key a row, down the paper."""
    panel, hand = ninety.panels["record"], Counted()
    hand.click(panel.by)
    hand.type(panel.by, "Ada")
    hand.click(panel.tally.grid.viewport())
    panel.tally.grid.go_to(1)
    state_of = {n: s for s, numbers in TALLY.items() for n in numbers}
    key_of = {"burnt": "b", "missed": "m", "went out": "o", "got away": "g", "left": "k"}
    for number in range(1, 91):
        hand.type(panel.tally.grid, key_of[state_of[number]])
    idle()
    assert copied(ninety) == TALLY
    print(f"row by row: {hand.keys} keys, {hand.clicks} clicks, {hand.seconds:.0f} s")
    assert hand.seconds < 180


def test_in_words_it_takes_no_longer(ninety, idle):
    panel, hand = ninety.panels["record"], Counted()
    hand.click(panel.by)
    hand.type(panel.by, "Ada")
    hand.click(panel.tally.typed)
    hand.type(panel.tally.typed, "7, 8, 17, 58, 90 missed, 22, 44-46, 63, 80 out")
    hand.key(panel.tally.typed, Qt.Key.Key_Return)
    assert "does not say what became" in str(ninety.session.errors["record"]), "one slip is part of it"
    hand.key(panel.tally.typed, Qt.Key.Key_Backspace)
    for _ in range(2):
        hand.key(panel.tally.typed, Qt.Key.Key_Backspace)
    hand.type(panel.tally.typed, "went out, 31 got away, 71 left, rest done")
    hand.key(panel.tally.typed, Qt.Key.Key_Return)
    idle()
    assert copied(ninety) == TALLY
    print(f"in words: {hand.keys} keys, {hand.clicks} clicks, {hand.seconds:.0f} s")
    assert hand.seconds < 90


def test_a_row_far_down_is_brought_into_view(ninety, idle):
    ninety.resize(1100, 640)
    panel = ninety.panels["record"]
    idle()
    grid = panel.tally.grid
    for number in ("88", "1", "45"):
        grid.setFocus()
        QTest.keyClicks(grid, number)
        QTest.keyClick(grid, Qt.Key.Key_Return)
        idle()
        cell = grid.visualRect(grid.currentIndex())
        assert grid.number() == int(number) and grid.viewport().visibleRegion().contains(cell.center())


CHILD = """
import sys
from pathlib import Path
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
app = QApplication([])
from mapper.window.section import Section
from mapper.window.nightbook import NightBook
from mapper.window.tallypart import TallyPart
from PySide6.QtWidgets import QVBoxLayout, QWidget
from datetime import datetime, UTC
book = NightBook(lambda: datetime.now(UTC))
book.open(Path(sys.argv[1]))
book.by = "Ada"
holder = QWidget()
part = TallyPart(QVBoxLayout(holder), book, lambda what: (what(), True)[1], lambda: None)
part.refresh()
told = open(sys.argv[2], "w", buffering=1)
for turn in range(1000):
    part.grid.go_to(1)
    for number in range(1, 91):
        QTest.keyClicks(part.grid, "BMO"[turn % 3])
        told.write(f"{turn} {number}\\n")
"""


def test_killed_while_a_person_types_loses_no_row_that_was_marked(tmp_path):
    """The window's own book and grid in a process of their own, killed with no warning."""
    path, told = start_record(ninety_rows(), tmp_path), tmp_path / "told.txt"
    child = subprocess.Popen([sys.executable, "-c", CHILD, str(path), str(told)])
    deadline = time.monotonic() + 90
    while time.monotonic() < deadline and (not told.exists() or told.stat().st_size < 400):
        time.sleep(0.01)
    os.kill(child.pid, signal.SIGKILL)
    child.wait()
    marked = [tuple(map(int, line.split())) for line in told.read_text().splitlines() if len(line.split()) == 2]
    record, notes = read_record(path)
    assert len(marked) >= 20 and len(notes) <= 1
    kept = [e.body["numbers"][0] for e in record.entries]
    # The last line of what was told may itself be half written.
    assert [number for _, number in marked[:-1]] == kept[: len(marked) - 1]
    assert len(kept) - len(marked) <= 1
