"""Help at hand: what a step is for, in a few sentences; what each figure of the plan means and where it comes from."""

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from mapper.window import looks
from mapper.window.controls import Words
from mapper.window.dialog import Dialog
from mapper.window.tables import PlainTable
from mapper.window.words import said

if TYPE_CHECKING:
    from mapper.farm.notes import Figure
    from mapper.window.window import MainWindow

STEP_HELP = {
    "paddock": "The fence is what everything else is measured from: draw it or open a file, then say crop, yield and "
    "cutting width. Draw roads, power lines, trees, houses, water and gates too: breaks, care distances and ways out "
    "follow from them.",
    "rows": "One row of straw and chaff lies behind each pass of the harvester. A harvester log says where; without "
    "one the rows are laid by cutting width and bearing. Look at both ends and at the headlands, and mend them.",
    "breaks": "Each side is held against your own limit and against the fire that the forecast would give. Where a "
    "break is short the table says by how much, and Show goes there.",
    "evening": "Each hour of the forecast is held against the limits you typed in. An hour that is not known is never "
    "inside them. Drag the hour on the strip to see wind, exposed edges and smoke at that time.",
    "order": "The downwind side is lit first, then the work goes into the wind. Each block has a way out until a time. "
    "Drag blocks to change the order; the plan says what gets worse by it.",
    "sheets": "What the crew, the neighbours and the fire authority get on paper. Print only when nothing is out of "
    "date; check each sheet against your permit before you light.",
    "record": "What happened: which rows burnt, when, what was missed or got away. It is kept beside the farm and is "
    "corrected by adding, never by taking away.",
}


def _link(words: str) -> QPushButton:
    button = QPushButton(said(words))
    button.setAccessibleName(said(words))
    button.setProperty("link", "act")
    button.setCursor(Qt.CursorShape.PointingHandCursor)
    return button


class HelpLine(QWidget):
    """Under a step's head: what the step is for, and where the plan's figures come from."""

    def __init__(self, window: "MainWindow", step: str) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(looks.GAP_S)
        row = QHBoxLayout()
        self.ask, self.figures = _link("What is this step?"), _link("Where from?")
        self.figures.setToolTip(said("Where the figures come from ..."))
        row.addWidget(self.ask)
        row.addStretch(1)
        row.addWidget(self.figures)
        column.addLayout(row)
        self.words = Words(STEP_HELP[step], "soft")
        self.words.hide()
        column.addWidget(self.words)
        self.ask.clicked.connect(lambda _=False: self.words.setVisible(not self.words.isVisible()))
        self.figures.clicked.connect(lambda _=False: window.show_figures())

    def refresh(self, planned: bool) -> None:
        """Offer the figures where there is a plan."""
        self.figures.setVisible(planned)


class Figures(Dialog):
    """Every figure of the plan with its source and what went in; those past an equation's range are marked."""

    def __init__(self, window: "MainWindow", figures: "tuple[Figure, ...]") -> None:
        lead = "Pick a figure to read what it was worked out from. Marked ones lie past the range their source covers."
        super().__init__(window, "Where the figures come from", lead, "Close", "Close")
        self.resize(760, 620)
        self._figures = figures
        self.table = PlainTable("Figures of the plan", ("Figure", "Value", ""), (0, 120, 110))
        self.table.chosen.connect(self.tell)
        self.table.show_rows([
            (f.name, f"{f.value:,.4g} {f.unit}", "look|past its range" if f.outside else "") for f in figures
        ], most=13)  # fmt: skip
        self.body.addWidget(self.table)
        self.source, self.inputs = Words("", "body"), Words("", "soft")
        self.body.addWidget(self.source)
        self.body.addWidget(self.inputs)
        self.body.addStretch(1)
        self.add_buttons()
        self.leave_button.hide()
        if figures:
            self.table.mark_row(0)
            self.tell(0)

    def tell(self, row: int) -> None:
        """Say where a figure comes from."""
        figure = self._figures[row]
        held = " It lies past the range of its source and was held on the safe side." if figure.outside else ""
        self.source.setText(f"From: {figure.source}.{held}")
        self.inputs.setText(f"Worked out from: {figure.inputs}." if figure.inputs else "")
