"""The right panel: a step's fields, its warnings, the caution, and its two buttons."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QProgressBar, QScrollArea, QVBoxLayout, QWidget

from mapper.window import looks
from mapper.window.controls import PushButton, Words
from mapper.window.escape import AT_STEPS, EscapePart
from mapper.window.helping import HelpLine
from mapper.window.remarks import Cards
from mapper.window.state import Session

if TYPE_CHECKING:
    from mapper.window.window import MainWindow

CAUTION = "Advice only. The permit, local code and fire authority decide; the person in charge decides on the night."


class StepPanel(QWidget):
    """What every step's panel shares. A step adds its own fields in `build` and shows the session in `refresh`."""

    step = ""
    title = ""
    lead = ""
    quiet, act = "", ""

    def __init__(self, window: "MainWindow") -> None:
        super().__init__(window)
        self.window_, self.session = window, window.session
        outer = QVBoxLayout(self)
        outer.setContentsMargins(looks.GAP_XL, 14, looks.GAP_XL, 14)
        outer.setSpacing(looks.GAP_M)
        self.head = Words(self.title, "title")
        self.lead_words = Words(self.lead, "soft")
        outer.addWidget(self.head)
        outer.addWidget(self.lead_words)
        self.help = HelpLine(window, self.step)
        outer.addWidget(self.help)
        inside = QWidget()
        self.body = QVBoxLayout(inside)
        self.body.setContentsMargins(0, looks.GAP_S, 2, 0)
        self.body.setSpacing(looks.GAP_M)
        self.errors = Cards()
        self.body.addWidget(self.errors)
        self.build()
        self.cards = Cards()
        self.body.addWidget(self.cards)
        self.escape = EscapePart(self.body, window) if self.step in AT_STEPS else None
        self.body.addStretch(1)
        scroll = QScrollArea()
        scroll.setWidget(inside)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        outer.addWidget(scroll, 1)
        outer.addWidget(Words(CAUTION, "small"))
        self.progress = Progress(window)
        outer.addWidget(self.progress)
        buttons = QHBoxLayout()
        buttons.setSpacing(looks.GAP_M)
        self.quiet_button, self.act_button = PushButton(self.quiet), PushButton(self.act, act=True)
        self.quiet_button.clicked.connect(self.on_quiet)
        self.act_button.clicked.connect(self.on_act)
        for button in (self.quiet_button, self.act_button):
            buttons.addWidget(button, 1)
            button.setVisible(bool(button.text()))
        outer.addLayout(buttons)

    # For the steps to fill in ----------------------------------------------------------------------------------

    def build(self) -> None:
        """Add the step's fields to self.body."""

    def refresh(self) -> None:
        """Show the session as it is now."""

    def on_quiet(self) -> None:
        """The left button."""

    def on_act(self) -> None:
        """The right button."""

    def hidden_remarks(self) -> frozenset[str]:
        """Texts of warnings that the step's own fields show already."""
        return frozenset()

    # Shown for every step --------------------------------------------------------------------------------------

    def update_all(self) -> None:
        """Show errors, warnings, progress and the step's own fields."""
        self.refresh()
        self.help.refresh(self.session.plan is not None)
        self.show_cards()
        if self.escape is not None:
            self.escape.refresh()
        self.progress.setVisible(self.session.working)
        for button in (self.quiet_button, self.act_button):
            button.setVisible(bool(button.text()) and not self.session.working)

    def show_cards(self) -> None:
        """Show the step's error, what is out of date, and its warnings."""
        error = self.session.errors.get(self.step)
        items: list[tuple[str, str, Callable[[], None] | None]] = []
        if error is not None:
            items.append(("stop", str(error), None))
        note = stale_note(self.session, self.step)
        if note:
            items.append(("stale", note, None))
        self.errors.show_items(items)
        shown: list[tuple[str, str, Callable[[], None] | None]] = []
        hidden = self.hidden_remarks()
        for remark in self.session.remarks(self.step):
            if remark.text in hidden:
                continue
            text = (
                f"{remark.paddock}: {remark.text}"
                if remark.paddock and not self.session.paddock and remark.paddock not in remark.text
                else remark.text
            )
            go = None if remark.where is None else lambda r=remark: self.window_.show_place(r.where)
            shown.append((remark.level, text, go))
        self.cards.show_items(shown)


class Progress(QWidget):
    """How far the work is, and the button that stops it."""

    def __init__(self, window: "MainWindow") -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self.words = Words("Working", "body")
        self.bar = QProgressBar()
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName("How far the work is")
        self.halt = PushButton("Stop working")
        self.halt.clicked.connect(window.work.stop_working)
        for widget in (self.words, self.bar, self.halt):
            column.addWidget(widget)
        self.setVisible(False)

    def show_done(self, words: str, done: int, total: int) -> None:
        """Show the part done."""
        self.words.setText(words)
        self.bar.setRange(0, max(total, 0))
        self.bar.setValue(done)


def stale_note(session: Session, step: str) -> str:
    """Return the sentence that says what is out of date because of what, or ""."""
    from mapper.window.walk import step_state

    if session.workings is None or step_state(session, step)[0] not in {"stale", "working"}:
        return ""
    what = session.undo.undoText()
    reason = f"Changed since: {what[0].lower()}{what[1:]}." if what else "What was asked of the plan has changed."
    if session.working:
        return f"{reason} It is being worked out again; the last good plan stays."
    return f"{reason} This is out of date; the last good plan stays, dashed. Work it out again."
