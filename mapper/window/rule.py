"""A thin line across a panel."""

from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame

from mapper.window import looks


class Rule(QFrame):
    """The line."""

    def __init__(self) -> None:
        super().__init__()
        self.setFixedHeight(1)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint it."""
        QPainter(self).fillRect(self.rect(), QColor(looks.colours(self).line))
