"""What the window's larger dialogs share: title, lead, errors, a body that scrolls, and the two buttons."""

from PySide6.QtWidgets import QDialog, QFrame, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from mapper.farm.errors import MapperError
from mapper.window import looks
from mapper.window.controls import PushButton, Words
from mapper.window.remarks import Cards


class Dialog(QDialog):
    """A dialog of two buttons: `leave` changes nothing, `take` calls `take()` of the kind."""

    def __init__(self, parent: QWidget, title: str, lead: str, leave: str, take: str) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.body = QVBoxLayout(self)
        self.body.setContentsMargins(20, 18, 20, 16)
        self.body.setSpacing(looks.GAP_M)
        self.body.addWidget(Words(title, "title"))
        self.body.addWidget(Words(lead, "soft"))
        self.errors = Cards()
        self.body.addWidget(self.errors)
        self.leave_button, self.take_button = PushButton(leave), PushButton(take, act=True)
        self.leave_button.clicked.connect(self.reject)
        self.take_button.clicked.connect(lambda _=False: self.take())

    def add_buttons(self) -> None:
        """Put the buttons at the foot; called once the body is built."""
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.leave_button)
        row.addWidget(self.take_button)
        self.body.addLayout(row)

    def scrolled(self, inside: QWidget) -> QScrollArea:
        """Add a widget that scrolls; return what scrolls it."""
        scroll = QScrollArea()
        scroll.setWidget(inside)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setFocusPolicy(scroll.focusPolicy().NoFocus)
        self.body.addWidget(scroll, 1)
        return scroll

    def fail(self, error: MapperError) -> None:
        """Show an error; the dialog stays."""
        self.errors.show_items([("stop", str(error), None)])

    def take(self) -> None:
        """The right button."""
        self.accept()
