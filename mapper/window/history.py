"""The history as a list: what was changed, in order; a click goes back or forward to that point."""

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QUndoView

from mapper.window.dialog import Dialog

if TYPE_CHECKING:
    from mapper.window.window import MainWindow


class History(Dialog):
    """Stands beside the window, which stays usable; what lies below the mark was taken back and can be done again."""

    def __init__(self, window: "MainWindow") -> None:
        lead = "Click a line to go back or forward to it. Nothing is lost until you change something else."
        super().__init__(window, "History", lead, "Close", "Close")
        self.setModal(False)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(380, 460)
        self.list = QUndoView(window.session.undo)
        self.list.setEmptyLabel("As it was opened")
        self.list.setAccessibleName("What was changed, in order")
        self.body.addWidget(self.list, 1)
        self.add_buttons()
        self.leave_button.hide()
