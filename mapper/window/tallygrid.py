"""The tally on screen: a cell a row number, one key a row, a number and Enter goes to a row."""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from PySide6.QtCore import QAbstractTableModel, QEvent, QModelIndex, QPersistentModelIndex, QPoint, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QScrollArea,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from mapper.record.states import STATES
from mapper.window import looks

Index = QModelIndex | QPersistentModelIndex
_NONE = QModelIndex()
_OTHER_KEYS = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
CELL_H = 31
_WIDTH = 306  # the panel's inner width
# One key a state; the letters stand on the buttons beside the grid.
KEYS: dict[str, str] = {
    "B": "burnt", "O": "went out", "M": "missed", "G": "got away", "L": "lit", "K": "left", "C": "cool", "T": "late",
}  # fmt: skip
_INK: dict[str, tuple[str, str]] = {
    "burnt": ("ok", "page"), "lit": ("act", "act_ground"), "went out": ("stop", "stop_ground"),
    "missed": ("stop", "stop_ground"), "got away": ("warn", "warn_ground"), "left": ("soft", "page"),
    "cool": ("warn", "warn_ground"), "late": ("warn", "warn_ground"),
}  # fmt: skip


class TallyModel(QAbstractTableModel):
    """Row numbers in lines of nine (seven where they have three figures), each with its state."""

    def __init__(self) -> None:
        super().__init__()
        self.numbers: tuple[int, ...] = ()
        self.states: dict[int, str] = {}
        self.ends: frozenset[int] = frozenset()
        self.across = 9

    def show(self, numbers: Sequence[int], states: Mapping[int, str], ends: frozenset[int]) -> None:
        """Show other numbers, or other states of the same."""
        if tuple(numbers) != self.numbers:
            self.beginResetModel()
            self.numbers, self.states, self.ends = tuple(numbers), dict(states), ends
            self.across = 9 if max(numbers, default=0) < 100 else 7
            self.endResetModel()
            return
        self.states, self.ends = dict(states), ends
        if self.numbers:
            self.dataChanged.emit(self.index(0, 0), self.index(self.rowCount() - 1, self.across - 1))

    def rowCount(self, parent: Index = _NONE) -> int:
        """Lines."""
        return -(-len(self.numbers) // self.across)

    def columnCount(self, parent: Index = _NONE) -> int:
        """Cells across."""
        return self.across

    def number(self, index: Index) -> int:
        """The row number of a cell, 0 where there is none."""
        place = index.row() * self.across + index.column()
        return self.numbers[place] if index.isValid() and place < len(self.numbers) else 0

    def place(self, number: int) -> QModelIndex:
        """The cell of a row number; not valid where there is none."""
        if number not in self.numbers:
            return QModelIndex()
        at = self.numbers.index(number)
        return self.index(at // self.across, at % self.across)

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Cells past the last number cannot be picked."""
        return super().flags(index) if self.number(index) else Qt.ItemFlag.NoItemFlags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The number; read out with its state."""
        number = self.number(index)
        if not number:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return str(number)
        if role in {Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole}:
            return f"Row {number}: {STATES.get(self.states.get(number, ''), 'not written down').lower()}"
        return None


class _Cell(QStyledItemDelegate):
    """A number and a shape: the shape carries the state, the colour only helps."""

    def paint(self, p: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        view: TallyGrid = self.parent()  # type: ignore[assignment]
        number = view.tally.number(index)
        if not number:
            return
        c, state = looks.colours(view), view.tally.states.get(number, "")
        ink, ground = _INK.get(state, ("faint", "panel"))
        box = QRectF(option.rect).adjusted(1, 1, -1, -1)
        p.save()
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setPen(QPen(QColor(getattr(c, ink) if state and state != "burnt" else c.line), 1,
                      Qt.PenStyle.SolidLine if state else Qt.PenStyle.DashLine))  # fmt: skip
        p.setBrush(QColor(getattr(c, ground)))
        p.drawRoundedRect(box, looks.RADIUS_S, looks.RADIUS_S)
        if option.state & QStyle.StateFlag.State_Selected:
            p.setPen(QPen(QColor(c.focus), 2))
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.drawRoundedRect(box.adjusted(1, 1, -1, -1), looks.RADIUS_S, looks.RADIUS_S)
        p.setPen(QColor(c.ink if state else c.soft))
        p.setFont(looks.font_px(view, looks.SMALL, bold=number % 5 == 0))
        p.drawText(box.adjusted(3, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, str(number))
        paint_state(p, state, QRectF(box.right() - 12.5, box.center().y() - 5, 11, 11), getattr(c, ink))
        if number in view.tally.ends and number != view.tally.numbers[-1]:
            p.fillRect(QRectF(option.rect.right() - 1.5, option.rect.y(), 3, option.rect.height()), QColor(c.ink))
        p.restore()


def paint_state(p: QPainter, state: str, box: QRectF, ink: str) -> None:
    """Paint a state's shape: tick, flame line, bar with dots, ring, arrow out of a ring, dots."""
    p.setPen(QPen(QColor(ink), 1.8, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
    p.setBrush(Qt.BrushStyle.NoBrush)
    x, y, w, h = box.x(), box.y(), box.width(), box.height()

    def line(*ends: tuple[float, float]) -> None:
        p.drawPolyline([QPoint(round(x + w * a), round(y + h * b)) for a, b in ends])

    if state == "burnt":
        line((0.1, 0.55), (0.4, 0.85), (0.95, 0.15))
    elif state == "lit":
        line((0.5, 0.0), (0.85, 0.5), (0.5, 1.0), (0.15, 0.5), (0.5, 0.0))
    elif state == "went out":
        line((0.0, 0.5), (0.45, 0.5))
        line((0.5, 0.1), (0.5, 0.9))
        for a in (0.75, 1.0):
            p.drawPoint(round(x + w * a), round(y + h / 2))
    elif state == "missed":
        p.drawEllipse(box.adjusted(2, 2, -2, -2))
    elif state == "got away":
        p.drawEllipse(QRectF(x, y + h * 0.2, w * 0.55, h * 0.6))
        line((0.3, 0.5), (1.0, 0.5))
        line((0.75, 0.25), (1.0, 0.5), (0.75, 0.75))
    elif state == "left":
        for a in (0.1, 0.5, 0.9):
            p.drawPoint(round(x + w * a), round(y + h / 2))
    elif state in ("cool", "late"):
        line((0.1, 0.5), (0.9, 0.5))
        line((0.5, 0.2), (0.5, 0.8)) if state == "late" else None


class TallyGrid(QTableView):
    """Signals: marked(numbers, state) by a key; went_to(number) when another cell is taken; part_wanted by P."""

    marked = Signal(list, str)
    went_to = Signal(int)
    part_wanted = Signal()
    HELP: ClassVar = ", ".join(f"{key} {STATES[state].lower()}" for key, state in KEYS.items())

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.tally = TallyModel()
        self._typed = ""
        self.setModel(self.tally)
        self.setItemDelegate(_Cell(self))
        self.setAccessibleName("Tally of rows")
        self.setAccessibleDescription(f"Keys: {self.HELP}. A number and Enter goes to a row, P to a part of it.")
        self.setShowGrid(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        # The cell in hand carries the focus ring.
        self.setStyleSheet("QTableView { border: none; }")
        self.horizontalHeader().hide()
        self.verticalHeader().hide()
        self.horizontalHeader().setMinimumSectionSize(20)
        self.verticalHeader().setDefaultSectionSize(CELL_H)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ContiguousSelection)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectItems)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTabKeyNavigation(False)
        self.selectionModel().currentChanged.connect(self._went)

    def show_tally(self, numbers: Sequence[int], states: Mapping[int, str], ends: frozenset[int]) -> None:
        """Show the numbers and their states; the grid is as tall as they are."""
        self.tally.show(numbers, states, ends)
        self.horizontalHeader().setDefaultSectionSize(_WIDTH // self.tally.across)
        self.setFixedHeight(CELL_H * max(self.tally.rowCount(), 1) + 2)
        if numbers and not self.currentIndex().isValid():
            self.go_to(next((n for n in numbers if not states.get(n)), numbers[0]))

    def go_to(self, number: int) -> bool:
        """Take a row's cell; False where there is no such row."""
        place = self.tally.place(number)
        if place.isValid():
            self.setCurrentIndex(place)
        return place.isValid()

    def _went(self, now: QModelIndex) -> None:
        self._bring_into_view(now)
        self.went_to.emit(self.tally.number(now))

    def _bring_into_view(self, cell: QModelIndex) -> None:
        """The grid is as tall as its rows: what scrolls is the panel round it."""
        around: QWidget | None = self.parentWidget()
        while around is not None and not isinstance(around, QScrollArea):
            around = around.parentWidget()
        inside = around.widget() if isinstance(around, QScrollArea) else None
        if isinstance(around, QScrollArea) and inside is not None:
            at = self.viewport().mapTo(inside, self.visualRect(cell).center())
            around.ensureVisible(at.x(), at.y(), 0, 2 * CELL_H)

    def number(self) -> int:
        """The row in hand, 0 where there is none."""
        return self.tally.number(self.currentIndex())

    def picked(self) -> list[int]:
        """The row numbers picked: in lighting order all from the first to the last cell picked."""
        found = [n for n in map(self.tally.number, self.selectedIndexes()) if n] or [self.number()]
        low, high = min(found), max(found)
        return [n for n in self.tally.numbers if low <= n <= high] if low else []

    def mark(self, state: str) -> None:
        """Mark what is picked and go to the next row."""
        numbers = self.picked()
        if not numbers:
            return
        self.marked.emit(numbers, state)
        after = self.tally.numbers.index(numbers[-1]) + 1
        if after < len(self.tally.numbers):
            self.go_to(self.tally.numbers[after])

    def event(self, event: QEvent) -> bool:
        """Keep the letters that the map has keys of its own for."""
        if event.type() == QEvent.Type.ShortcutOverride:
            assert isinstance(event, QKeyEvent)
            if event.text().upper() in {*KEYS, "P"} and not event.modifiers() & _OTHER_KEYS:
                event.accept()
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """A letter marks, digits and Enter go to a row, arrows move."""
        text = event.text().upper()
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._typed:
            self.go_to(int(self._typed))
            self._typed = ""
        elif text.isdigit() and text.isascii():
            self._typed = (self._typed + text)[-4:]
        elif text in KEYS and not event.modifiers() & _OTHER_KEYS:
            self._typed = ""
            self.mark(KEYS[text])
        elif text == "P" and not event.modifiers() & _OTHER_KEYS:
            self.part_wanted.emit()
        else:
            self._typed = ""
            super().keyPressEvent(event)
