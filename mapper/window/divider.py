"""The divider of the Rows step: log points at its left, rows at its right; it is dragged, or moved with the keys."""

from PySide6.QtCore import QPoint, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QWidget

from mapper.window import looks
from mapper.window.canvas import MapCanvas
from mapper.window.cards import FloatingCard
from mapper.window.controls import Choice, Words
from mapper.window.logpoints import COLOURED_BY

GRIP_PX, KEY_PX, EDGE_PX = 18, 24, 60


class Divider(QWidget):
    """Signal by_changed: what the points are coloured by. The canvas is told where the divider stands."""

    by_changed = Signal(str)

    def __init__(self, canvas: MapCanvas) -> None:
        super().__init__(canvas)
        self._canvas, self._share, self._hold = canvas, 0.45, 0.0
        self.setFixedWidth(GRIP_PX)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.SplitHCursor)
        self.setAccessibleName("Divider between log points and rows")
        self.setToolTip("Drag to compare the log with the rows (arrow keys move it)")
        self.left, self.right = FloatingCard(canvas), FloatingCard(canvas)
        self._lines: dict[FloatingCard, QHBoxLayout] = {}
        for card, text in ((self.left, "Log points, by"), (self.right, "Rows, by load")):
            line = self._lines[card] = QHBoxLayout(card)
            line.setContentsMargins(10, 3, 10, 3)
            line.setSpacing(6)
            words = Words(text, wrap=False)
            words.setFont(looks.font_px(words, looks.BODY, bold=True))
            line.addWidget(words)
        self.choice = Choice("Colour log points by")
        for key, (_, words_, _, _) in COLOURED_BY.items():
            self.choice.addItem(words_, key)
        self.choice.setFixedWidth(92)
        self.choice.activated.connect(lambda _: self.by_changed.emit(self.by))
        self._lines[self.left].addWidget(self.choice)
        self._lines[self.left].setContentsMargins(10, 3, 4, 3)
        self.setVisible(False)

    @property
    def by(self) -> str:
        """What the points are coloured by: "speed" or "yield"."""
        return str(self.choice.currentData())

    def setVisible(self, on: bool) -> None:
        """Show or hide divider and cards; hidden, the map is whole."""
        super().setVisible(on)
        for card in (self.left, self.right):
            card.setVisible(on)
        if on:
            self.place()
        else:
            self._canvas.divider = None
            self._canvas.update()

    def place(self) -> None:
        """Stand at the same share of a map that has changed its size."""
        self._move_to(self._share * self._canvas.width())

    def _move_to(self, x: float) -> None:
        width = self._canvas.width()
        x = min(max(x, EDGE_PX), width - EDGE_PX)
        self._share = x / max(width, 1)
        self.setGeometry(round(x - GRIP_PX / 2), 0, GRIP_PX, self._canvas.height())
        self.left.adjustSize()
        self.right.adjustSize()
        self.right.setFixedHeight(self.left.height())
        self.left.move(round(x) - 12 - self.left.width(), looks.GAP_L)
        self.right.move(round(x) + 12, looks.GAP_L)
        self._canvas.divider = x
        self._canvas.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold."""
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        self._hold = event.position().x() - GRIP_PX / 2

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag."""
        if event.buttons() & Qt.MouseButton.LeftButton:
            at = self.mapTo(self._canvas, QPoint(round(event.position().x() - self._hold), 0))
            self._move_to(at.x())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrow keys move it."""
        step = {Qt.Key.Key_Left: -KEY_PX, Qt.Key.Key_Right: KEY_PX}.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
        else:
            self._move_to(self._share * self._canvas.width() + step)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the line and its grip."""
        c, p = looks.colours(self), QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = self.width() / 2
        p.fillRect(QRectF(middle - 1, 0, 2, self.height()), QColor(c.ink))
        grip = QRectF(middle - 8, self.height() * 0.42 - 18, 16, 36)
        p.setPen(QPen(QColor(c.focus if self.hasFocus() else c.ink), 2 if self.hasFocus() else 1.4))
        p.setBrush(QColor(c.panel))
        p.drawRoundedRect(grip, looks.RADIUS_S, looks.RADIUS_S)
        for dx in (-2.5, 2.5):
            p.drawLine(int(middle + dx), int(grip.y() + 11), int(middle + dx), int(grip.bottom() - 11))
