"""A group of fields in the right panel that is shown or hidden as one."""

from PySide6.QtWidgets import QHBoxLayout, QLayout, QVBoxLayout, QWidget

from mapper.window import looks
from mapper.window.controls import Words
from mapper.window.rule import Rule


class Section(QWidget):
    """Fields under one another: words at the left, the control and its unit at the right."""

    def __init__(self, into: QVBoxLayout) -> None:
        super().__init__()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(looks.GAP_M)
        into.addWidget(self)

    def add(self, widget: QWidget) -> None:
        """Add a widget across the whole width."""
        self._column.addWidget(widget)

    def add_layout(self, layout: QLayout) -> None:
        """Add widgets laid out by the caller."""
        self._column.addLayout(layout)

    def rule(self) -> None:
        """Add a thin line."""
        self._column.addWidget(Rule())

    def field(self, label: str, widget: QWidget, unit: str = "") -> Words:
        """Add a field; return its words."""
        row = QHBoxLayout()
        row.setSpacing(looks.GAP_M)
        words = Words(label, wrap=False)
        words.setBuddy(widget)
        if not widget.accessibleName():
            widget.setAccessibleName(label)
        row.addWidget(words)
        row.addStretch(1)
        row.addWidget(widget)
        if unit:
            beside = Words(unit, "soft", wrap=False)
            beside.setMinimumWidth(30)
            row.addWidget(beside)
        self._column.addLayout(row)
        return words

    def fact(self, label: str) -> Words:
        """Add a line of label and figure; return the figure's words."""
        row = QHBoxLayout()
        figure = Words("", wrap=False)
        figure.setFont(looks.font_px(figure, looks.BODY, bold=True))
        row.addWidget(Words(label, "soft", wrap=False))
        row.addStretch(1)
        row.addWidget(figure)
        self._column.addLayout(row)
        return figure
