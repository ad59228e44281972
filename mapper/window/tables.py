"""A small read-only table in the window's looks; a real table view, so that a reader can read it out."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from mapper.window import looks
from mapper.window.icons import paint_icon

Index = QModelIndex | QPersistentModelIndex
NO_PARENT = QModelIndex()
ROW_PX = 33
# A cell that begins with one of these shows a mark: "ok|wide enough".
MARKS = {
    "ok": ("done", "ok"),
    "look": ("look", "warn"),
    "stop": ("stop", "stop"),
    "todo": ("todo", "soft"),
    "go": ("working", "act"),
}


class RowsModel(QAbstractTableModel):
    """Text in rows and columns."""

    def __init__(self, heads: Sequence[str]) -> None:
        super().__init__()
        self.heads = tuple(heads)
        self.rows: list[tuple[str, ...]] = []

    def show(self, rows: list[tuple[str, ...]]) -> None:
        """Show other rows."""
        self.beginResetModel()
        self.rows = rows
        self.endResetModel()

    def rowCount(self, parent: Index = NO_PARENT) -> int:
        """Rows."""
        return len(self.rows)

    def columnCount(self, parent: Index = NO_PARENT) -> int:
        """Columns."""
        return len(self.heads)

    def headerData(self, section: int, way: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The column's head."""
        if way == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return self.heads[section]
        if way == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The cell's words, without its mark."""
        if role in {Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole}:
            return self.rows[index.row()][index.column()].rpartition("|")[2]
        return None

    def mark(self, index: Index) -> str:
        """The cell's mark, or "" for none."""
        return self.rows[index.row()][index.column()].rpartition("|")[0]


class _Cell(QStyledItemDelegate):
    def paint(self, p: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        view: PlainTable = self.parent()  # type: ignore[assignment]
        c = looks.colours(view)
        box = QRectF(option.rect)
        picked = bool(option.state & QStyle.StateFlag.State_Selected)
        p.save()
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        if picked:
            p.fillRect(box, QColor(c.act_ground))
        p.fillRect(QRectF(box.x(), box.bottom() - 1, box.width(), 1), QColor(c.line))
        icon, ink = MARKS.get(view.rows_model.mark(index), ("", "ink"))
        left = 6.0
        if icon:
            paint_icon(p, icon, QRectF(box.x() + 4, box.center().y() - 8, 16, 16), getattr(c, ink))
            left = 25
        p.setPen(QColor(getattr(c, ink) if icon else c.act if picked and index.column() == 0 else c.ink))
        p.setFont(looks.font_px(view, looks.BODY, bold=index.column() == 0))
        room = box.adjusted(left, 0, -2, 0)
        text = p.fontMetrics().elidedText(str(index.data()), Qt.TextElideMode.ElideRight, int(room.width()))
        p.drawText(room, Qt.AlignmentFlag.AlignVCenter, text)
        p.restore()


class PlainTable(QTableView):
    """Signal chosen(row)."""

    chosen = Signal(int)

    def __init__(self, name: str, heads: Sequence[str], widths: Sequence[int] = (), parent: QWidget | None = None):
        super().__init__(parent)
        self.rows_model = RowsModel(heads)
        self._widths = widths
        self.setModel(self.rows_model)
        self.setAccessibleName(name)
        self.setItemDelegate(_Cell(self))
        self.setShowGrid(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(ROW_PX)
        self.horizontalHeader().setHighlightSections(False)
        self.horizontalHeader().setSectionsClickable(False)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        for column, width in enumerate(widths):
            if width:
                self.horizontalHeader().setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
                self.setColumnWidth(column, width)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTabKeyNavigation(False)
        self.clicked.connect(lambda index: self.chosen.emit(index.row()))
        self.activated.connect(lambda index: self.chosen.emit(index.row()))

    def show_rows(self, rows: Sequence[tuple[str, ...]], most: int = 9) -> None:
        """Show rows; the table is as tall as they are, up to `most`."""
        if list(rows) != self.rows_model.rows:
            self.rows_model.show(list(rows))
        self.setFixedHeight(30 + ROW_PX * max(1, min(most, len(rows))) + 4)

    def mark_row(self, row: int) -> None:
        """Mark a row as picked (-1 for none)."""
        self.selectRow(row) if row >= 0 else self.clearSelection()


class OrderTable(PlainTable):
    """A table whose rows are dragged, or moved with Alt and the arrow keys. Signal moved(row, before): put a row before
    another."""

    moved = Signal(int, int)

    def __init__(self, name: str, heads: Sequence[str], widths: Sequence[int] = (), parent: QWidget | None = None):
        super().__init__(name, heads, widths, parent)
        self._held, self._over = -1, -1

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of a row."""
        self._held, self._over = self.rowAt(round(event.position().y())), -1
        super().mousePressEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Show where it would go."""
        if self._held >= 0 and event.buttons() & Qt.MouseButton.LeftButton:
            over = self.rowAt(round(event.position().y()))
            if over >= 0 and over != self._over:
                self._over = over
                self.viewport().update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        held, over, self._held, self._over = self._held, self._over, -1, -1
        self.viewport().update()
        if held >= 0 and over >= 0 and over != held:
            self._tell(held, over)
        else:
            super().mouseReleaseEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Alt with an arrow moves the row in hand."""
        step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(event.key()), 0)
        row = self.currentIndex().row()
        if step and event.modifiers() & Qt.KeyboardModifier.AltModifier and row >= 0:
            self._tell(row, row + step)
        else:
            super().keyPressEvent(event)

    def _tell(self, held: int, over: int) -> None:
        if 0 <= over < len(self.rows_model.rows):
            # A row put later is the one below it put earlier.
            self.moved.emit(*((held, over) if over < held else (over, held)))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the table, and the line where a dragged row would go."""
        super().paintEvent(event)
        if self._over >= 0 and self._over != self._held:
            box = self.visualRect(self.rows_model.index(self._over, 0))
            y = box.top() if self._over < self._held else box.bottom()
            QPainter(self.viewport()).fillRect(QRectF(0, y - 1, self.width(), 3), QColor(looks.colours(self).act))


def initials(name: str) -> str:
    """Return a paddock's name short enough for a narrow cell: "Bottom Dam" is "BD", "Hut" stays."""
    return "".join(word[0] for word in name.split()) if len(name) > 6 else name
