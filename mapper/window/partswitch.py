"""Which part of a long step is shown: a few buttons of which one is down."""

from collections.abc import Mapping

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QGridLayout, QWidget

from mapper.window.controls import PushButton


class PartSwitch(QWidget):
    """Signal chosen(name). parts: name to its words, in the order shown, four in a line."""

    chosen = Signal(str)

    def __init__(self, parts: Mapping[str, str]) -> None:
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(4)
        group = QButtonGroup(self)
        self.buttons: dict[str, PushButton] = {}
        for k, (name, words) in enumerate(parts.items()):
            button = self.buttons[name] = PushButton(words)
            button.setCheckable(True)
            button.clicked.connect(lambda _=False, n=name: self.show_part(n))
            group.addButton(button)
            button.setMinimumWidth(1)
            grid.addWidget(button, k // 4, k % 4)
        self.shown = next(iter(parts))
        self._mark()

    def show_part(self, name: str) -> None:
        """Show another part."""
        self.shown = name
        self._mark()
        self.chosen.emit(name)

    def _mark(self) -> None:
        for name, button in self.buttons.items():
            button.setChecked(name == self.shown)
            button.act = name == self.shown
            button.update()
