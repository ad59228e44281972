"""The top bar: which paddock, the walk from paddock to sheets with the state of each step, and three actions."""

from typing import ClassVar

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeySequence, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QHBoxLayout, QMenu, QToolTip, QWidget

from mapper.window import looks
from mapper.window.controls import IconButton, PushButton
from mapper.window.icons import paint_icon
from mapper.window.state import STAGES_OF, STEP_WORDS, STEPS, Session
from mapper.window.words import said


def step_state(session: Session, step: str) -> tuple[str, str]:
    """Return a step's state ("todo", "done", "look", "stop", "stale", "working") and its words."""
    if session.working and step not in {"paddock", "sheets", "record"}:
        return "working", "working"
    if step in session.errors:
        return "stop", "1 to put right"
    if step == "paddock":
        n = 0 if session.farm is None else len(session.farm.paddocks)
        return ("done", f"{n} paddock" + "s" * (n != 1)) if n else ("todo", "")
    if step == "record":
        return session.book.state
    if not all(session.known(stage) for stage in STAGES_OF[step]):
        return "todo", ""
    if session.stale & set(STAGES_OF[step]):
        return "stale", "out of date"
    remarks = session.remarks(step)
    stops, looks_ = (sum(r.level == level for r in remarks) for level in ("stop", "look"))
    if stops:
        return "stop", f"{stops} to put right"
    if looks_:
        return "look", f"{looks_} to look at"
    if step == "sheets":
        return ("done", "printed") if session.printed else ("todo", "ready to print")
    return "done", "done"


class StepButton(QAbstractButton):
    """One step of the walk: a mark, a word, and its state underneath."""

    INK: ClassVar = {"done": "ok", "look": "warn", "stop": "stop", "stale": "warn", "working": "act", "todo": "soft"}

    def __init__(self, step: str, number: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.step, self.state, self.words = step, "todo", ""
        self.setCheckable(True)
        self.setText(said(STEP_WORDS[step]))
        self.setShortcut(QKeySequence(f"Ctrl+{number}"))
        self.setToolTip(f"{self.text()}  (Ctrl+{number})")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.show_state("todo", "")

    def show_state(self, state: str, words: str) -> None:
        """Show a state; it is read out too."""
        self.state, self.words = state, said(words)
        self.setAccessibleName(f"{self.text()}, {self.words or said('not begun')}")
        self.update()

    def sizeHint(self) -> QSize:
        """Return the step's share of the bar."""
        return QSize(140, looks.TOP_PX - 1)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint mark, word, state and the bar under the step in hand."""
        c, p = looks.colours(self), QPainter(self)
        on = self.isChecked()
        if self.underMouse() and not on:
            p.fillRect(self.rect(), QColor(c.page if not c.dark else "#2A2924"))
        ink = getattr(c, self.INK[self.state])
        top = 10 if self.words else 19
        paint_icon(p, self.state, QRectF(12, 19 if not self.words else 20, 17, 17), ink)
        p.setFont(looks.font_px(self, looks.BODY + 1, bold=on))
        p.setPen(QColor(c.ink if on or self.state != "todo" else c.soft))
        p.drawText(QRectF(37, top, self.width() - 38, 19), Qt.AlignmentFlag.AlignVCenter, self.text())
        if self.words:
            p.setFont(looks.font_px(self, looks.SMALL))
            p.setPen(QColor(ink if self.state not in {"done", "todo"} else c.soft))
            p.drawText(QRectF(37, 28, self.width() - 38, 17), Qt.AlignmentFlag.AlignVCenter, self.words)
        if on:
            p.fillRect(QRectF(0, self.height() - 3, self.width(), 3), QColor(c.act))
        if self.hasFocus():
            p.setPen(QPen(QColor(c.focus), 2))
            p.drawRoundedRect(QRectF(self.rect()).adjusted(2, 3, -2, -5), looks.RADIUS_S, looks.RADIUS_S)


class PaddockSwitch(QAbstractButton):
    """The paddock in hand and the farm; opens a menu of paddocks and of what to do with the farm."""

    def __init__(self, menu: QMenu, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._menu, self._lines = menu, ("No paddock yet", "")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setShortcut(QKeySequence("Alt+P"))
        self.setToolTip("Paddocks and farm  (Alt+P)")
        self.clicked.connect(self._open)
        self.show_lines("No paddock yet", "no farm open")

    def show_lines(self, head: str, under: str) -> None:
        """Show the paddock's name and a line about it."""
        self._lines = (head, under)
        self.setAccessibleName(f"Paddocks and farm: {head}, {under}")
        self.update()

    def _open(self) -> None:
        self._menu.popup(self.mapToGlobal(self.rect().bottomLeft()))

    def sizeHint(self) -> QSize:
        """Return a fixed room, so that the walk stays where it is."""
        return QSize(216, looks.TOP_PX - 1)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the two lines and the arrow."""
        c, p = looks.colours(self), QPainter(self)
        if self.underMouse():
            p.fillRect(self.rect(), QColor(c.page if not c.dark else "#2A2924"))
        head = looks.font_px(self, looks.HEAD + 1, bold=True)
        p.setFont(head)
        p.setPen(QColor(c.ink))
        text = p.fontMetrics().elidedText(self._lines[0], Qt.TextElideMode.ElideRight, self.width() - 46)
        p.drawText(QRectF(16, 8, self.width() - 40, 22), Qt.AlignmentFlag.AlignVCenter, text)
        paint_icon(p, "down", QRectF(20 + p.fontMetrics().horizontalAdvance(text), 10, 18, 18), c.soft)
        p.setFont(looks.font_px(self, looks.SMALL))
        p.setPen(QColor(c.soft))
        under = p.fontMetrics().elidedText(self._lines[1], Qt.TextElideMode.ElideRight, self.width() - 24)
        p.drawText(QRectF(16, 30, self.width() - 20, 17), Qt.AlignmentFlag.AlignVCenter, under)
        if self.hasFocus():
            p.setPen(QPen(QColor(c.focus), 2))
            p.drawRoundedRect(QRectF(self.rect()).adjusted(3, 3, -3, -4), looks.RADIUS_S, looks.RADIUS_S)


def print_off(session: Session) -> str:
    """Return why nothing can be printed now."""
    if session.working:
        return "Print is off while the plan is worked out"
    if session.plan is None:
        return "Print is off until a plan is worked out"
    what = session.undo.undoText()
    why = f" since: {what[0].lower()}{what[1:]}" if what else ""
    return f"Print is off: the plan is out of date{why}. Work it out again"


class TopBar(QWidget):
    """Signals: step (a step was chosen), print_wanted."""

    step = Signal(str)
    print_wanted = Signal()

    def __init__(self, session: Session, menu: QMenu, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setFixedHeight(looks.TOP_PX)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, looks.GAP_XL, 1)
        row.setSpacing(0)
        self.switch = PaddockSwitch(menu)
        row.addWidget(self.switch)
        self.steps: dict[str, StepButton] = {}
        group = QButtonGroup(self)
        for number, name in enumerate(STEPS, start=1):
            button = self.steps[name] = StepButton(name, number)
            button.clicked.connect(lambda _=False, s=name: self.step.emit(s))
            group.addButton(button)
            row.addWidget(button, 1)
        row.addSpacing(looks.GAP_L)
        self.undo = IconButton("undo", "Take back", "Ctrl+Z")
        self.redo = IconButton("redo", "Do again", "Ctrl+Shift+Z")
        self.undo.clicked.connect(session.undo.undo)
        self.redo.clicked.connect(session.undo.redo)
        self.print = PushButton("Print sheets", "print")
        self.print.clicked.connect(self.print_wanted)
        for widget in (self.undo, self.redo, self.print):
            row.addWidget(widget, 0, Qt.AlignmentFlag.AlignVCenter)
            row.addSpacing(looks.GAP_M)
        session.undo.indexChanged.connect(self.refresh)
        session.farm_changed.connect(self.refresh)
        session.plan_changed.connect(self.refresh)
        session.picked.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the session as it is now."""
        s = self._session
        for name, button in self.steps.items():
            button.setChecked(name == s.step)
            button.show_state(*step_state(s, name))
        self.switch.show_lines(*_about(s))
        for back, can, text, word, key in (
            (self.undo, s.undo.canUndo(), s.undo.undoText(), "Take back", "Ctrl+Z"),
            (self.redo, s.undo.canRedo(), s.undo.redoText(), "Do again", "Ctrl+Shift+Z"),
        ):
            back.setEnabled(can)
            back.setToolTip(f"{word}: {text}  ({key})" if text else f"{word}  ({key})")
            back.setAccessibleName(f"{word}: {text}" if text else word)
        self.print.setEnabled(s.may_print)
        self.print.setToolTip("Print sheets  (Ctrl+P)" if s.may_print else print_off(s))
        if not s.may_print:
            QToolTip.hideText()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the line under the bar and between the steps."""
        c, p = looks.colours(self), QPainter(self)
        p.fillRect(self.rect(), QColor(c.panel))
        p.setPen(QColor(c.line))
        p.drawLine(0, self.height() - 1, self.width(), self.height() - 1)
        for button in list(self.steps.values())[1:]:
            p.drawLine(button.x() - 1, 14, button.x() - 1, self.height() - 15)


def _about(session: Session) -> tuple[str, str]:
    farm = session.farm
    if farm is None:
        return "No paddock yet", "no farm open"
    marked = ", invented" if farm.invented and "invented" not in farm.name else ""
    if not session.paddock:
        if farm.paddocks.empty:
            return "No paddock yet", farm.name
        return "All paddocks", f"{farm.name}{marked}, {farm.paddocks.area.sum() / 1e4:,.0f} ha"
    row = farm.paddock(session.paddock)
    windrows = session.layer("windrows")
    rows = 0 if windrows is None else int((windrows["paddock"] == session.paddock).sum())
    found = f", {rows} rows" if rows else ", no rows yet"
    return session.paddock, f"{row.geometry.area / 1e4:.1f} ha{found}, {row['crop'] or 'crop not said'}"
