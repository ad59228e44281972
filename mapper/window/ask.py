"""Small questions in the window's own looks: save first, which kind, what was read."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QVBoxLayout, QWidget

from mapper.window import looks
from mapper.window.controls import PushButton, Words

if TYPE_CHECKING:
    from mapper.window.window import MainWindow


class Question(QDialog):
    """A head, some words, and buttons; the answer is the button's key."""

    def __init__(self, parent: QWidget, head: str, lines: list[str], answers: dict[str, str], act: str) -> None:
        super().__init__(parent)
        self.answer = ""
        self.setWindowTitle(head)
        self.setMinimumWidth(420)
        self.setMaximumWidth(620)
        column = QVBoxLayout(self)
        column.setContentsMargins(20, 18, 20, 16)
        column.setSpacing(looks.GAP_M)
        column.addWidget(Words(head, "title"))
        for line in lines[:14]:
            column.addWidget(Words(line, "soft"))
        if len(lines) > 14:
            column.addWidget(Words(f"And {len(lines) - 14} lines more.", "small"))
        column.addSpacing(looks.GAP_M)
        row = QHBoxLayout()
        row.addStretch(1)
        for key, words in answers.items():
            button = PushButton(words, act=key == act)
            button.setDefault(key == act)
            button.clicked.connect(lambda _=False, k=key: self._take(k))
            row.addWidget(button)
        column.addLayout(row)

    def _take(self, key: str) -> None:
        self.answer = key
        self.accept()


def ask_to_save(window: "MainWindow", save: Callable[[], bool]) -> bool:
    """Ask whether to save what is not saved. Return False where the user stays."""
    what = window.session.undo.undoText()
    lines = [f"The last change: {what[0].lower()}{what[1:]}." if what else "It stands in no file yet."]
    question = Question(
        window, "Save the farm first?", lines, {"stay": "Stay", "drop": "Do not save", "save": "Save"}, "save"
    )
    question.exec()
    if question.answer == "save":
        return save()
    return question.answer == "drop"


def pick_one(window: "MainWindow", head: str, answers: dict[str, str]) -> str:
    """Ask for one of a few things; "" where the user leaves."""
    question = Question(window, head, [], answers, next(iter(answers)))
    question.exec()
    return question.answer


def say_read(window: "MainWindow", lines: list[str]) -> None:
    """Say what was read, repaired and refused; the window stays usable meanwhile."""
    said = Question(window, "What was read", lines, {"ok": "Close"}, "ok")
    said.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    said.setModal(False)
    said.show()
