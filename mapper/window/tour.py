"""A round of the sample farm: one card a step, skippable at any time, offered once."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QSettings, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout

from mapper.window import looks
from mapper.window.cards import FloatingCard
from mapper.window.controls import PushButton, Words

if TYPE_CHECKING:
    from mapper.window.window import MainWindow

SEEN = "tour_seen"
OFFER = "First time here? A round of an invented farm shows the whole job in seven cards, in about two minutes."
# Step of the walk, and what is said there.
STOPS = (
    ("paddock", "This farm is invented. Its fences, houses, water and power line were drawn or opened from files; "
     "everything else is measured from them."),
    ("rows", "The rows of straw and chaff, found from the harvester's log. Thick ones hold more straw. Click one: its "
     "load along the row shows below."),
    ("breaks", "Each side of the paddock against your own limits and the forecast fire. Show goes to the place."),
    ("evening", "The hours of the night. Outlined hours lie inside the limits; the others say why not. Drag the hour "
     "along the strip and watch wind and smoke."),
    ("order", "Who lights which rows, when, and where the way out is. Drag a block to change the order."),
    ("sheets", "What is printed for the crew and the neighbours. A plan that is out of date cannot be printed."),
    ("record", "Afterwards: what burnt, what was missed. Now open your own boundary, or draw a paddock."),
)  # fmt: skip


class Tour(FloatingCard):
    """The card in the map's corner. It opens the sample farm and works it out at its first stop."""

    def __init__(self, window: "MainWindow") -> None:
        super().__init__(window.centralWidget())
        self._window, self.at = window, -1
        self.setFixedWidth(400)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        column = self._column = QVBoxLayout(self)
        column.setContentsMargins(18, 14, 18, 14)
        column.setSpacing(looks.GAP_M)
        self.head, self.words = Words("A round of the sample farm", "head"), Words(OFFER)
        self.stop, self.next = PushButton("Not now"), PushButton("Show me round", act=True)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.stop)
        row.addWidget(self.next)
        for widget in (self.head, self.words):
            column.addWidget(widget)
        column.addLayout(row)
        self.stop.clicked.connect(lambda _=False: self.end())
        self.next.clicked.connect(lambda _=False: self.go_on())
        self._place()

    def go_on(self) -> None:
        """Go to the next stop; after the last one the round ends."""
        QSettings("mapper", "mapper").setValue(SEEN, True)
        self.at += 1
        if self.at >= len(STOPS):
            self.end()
            return
        step, words = STOPS[self.at]
        if self.at == 0:
            self._window.files.open_sample(self._work_out)
        elif self._window.session.farm is not None:
            self._window.session.go_to(step)
        self.head.setText(f"{self.at + 1} of {len(STOPS)}")
        self.words.setText(words)
        self.stop.set_words("Stop the round")
        self.next.set_words("Next" if self.at < len(STOPS) - 1 else "Close")
        self._place()
        self.next.setFocus()

    def _work_out(self) -> None:
        if self.isVisible():
            self._window.work.work_out()

    def end(self) -> None:
        """Leave the round; it is not offered again."""
        QSettings("mapper", "mapper").setValue(SEEN, True)
        self._window.tour = None
        self.close()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc leaves."""
        if event.key() == Qt.Key.Key_Escape:
            self.end()
        else:
            super().keyPressEvent(event)

    def _place(self) -> None:
        """Stand in the map's upper right corner, beside the panel."""
        self.setFixedHeight(self._column.heightForWidth(400) + 4)
        self.move(self._window.width() - looks.PANEL_PX - 416, looks.TOP_PX + 16)
        self.show()
        self.raise_()


def wanted() -> bool:
    """Return True where the round was neither taken nor declined yet."""
    return QSettings("mapper", "mapper").value(SEEN) is None
