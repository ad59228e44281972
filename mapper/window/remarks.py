"""Warnings, errors and notes as cards: a mark, a sentence, and perhaps "Show"."""

from collections.abc import Callable

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from mapper.window import looks
from mapper.window.controls import Words
from mapper.window.icons import paint_icon

_LEVELS = {
    "stop": ("stop", "stop", "stop_ground"),
    "look": ("look", "warn", "warn_ground"),
    "note": ("done", "ink", "note_ground"),
    "stale": ("stale", "ink", "note_ground"),
}
MOST = 6


class Card(QWidget):
    """One warning. level is "stop", "look", "note" or "stale"; show goes to the place it is about."""

    def __init__(self, level: str, text: str, show: Callable[[], None] | None = None, parent: QWidget | None = None):
        super().__init__(parent)
        self._level = level
        row = QHBoxLayout(self)
        row.setContentsMargins(38, 8, 10, 9)
        row.setSpacing(looks.GAP_M)
        ink = _LEVELS[level][1]
        self.words = Words(text)
        self.words.set_tone(ink)
        self.words.setAccessibleName(text)
        row.addWidget(self.words, 1)
        self.button: QPushButton | None = None
        if show is not None:
            self.button = QPushButton("Show")
            self.button.setAccessibleName(f"Show: {text}")
            self.button.setCursor(Qt.CursorShape.PointingHandCursor)
            self.button.setProperty("link", ink)
            self.button.clicked.connect(lambda _=False: show())
            row.addWidget(self.button, 0, Qt.AlignmentFlag.AlignTop)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the tinted ground and the mark."""
        c, p = looks.colours(self), QPainter(self)
        icon, ink, ground = _LEVELS[self._level]
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setPen(Qt.PenStyle.NoPen)
        p.setBrush(QColor(getattr(c, ground)))
        p.drawRoundedRect(QRectF(self.rect()), looks.RADIUS_M, looks.RADIUS_M)
        paint_icon(p, icon, QRectF(11, 9, 17, 17), getattr(c, ink))


class Cards(QWidget):
    """A column of cards; the most pressing first, the rest counted."""

    def __init__(self, parent: QWidget | None = None, most: int = MOST) -> None:
        super().__init__(parent)
        self._most = most
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(looks.GAP_M - 1)
        self._shown: tuple[tuple[str, str], ...] = ()
        self._all = False
        self._items: list[tuple[str, str, Callable[[], None] | None]] = []

    def show_items(self, items: list[tuple[str, str, Callable[[], None] | None]]) -> None:
        """Show (level, text, show) items."""
        key = tuple((level, text) for level, text, _ in items)
        self._items = items
        if key == self._shown:
            return
        self._shown, self._all = key, False
        self._fill()

    def _fill(self) -> None:
        while self._column.count():
            item = self._column.takeAt(0)
            widget = None if item is None else item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        items = self._items if self._all else self._items[: self._most]
        for level, text, show in items:
            self._column.addWidget(Card(level, text, show))
        if len(items) < len(self._items):
            more = QPushButton(f"Show {len(self._items) - len(items)} more")
            more.setAccessibleName(more.text())
            more.setProperty("link", "act")
            more.clicked.connect(self._show_all)
            self._column.addWidget(more)

    def _show_all(self) -> None:
        self._all = True
        self._fill()
