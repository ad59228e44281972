"""A small read-only table in the window's looks; a real table view, so that a reader can read it out."""

import re
from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QPoint,
    QRect,
    QRectF,
    QSortFilterProxyModel,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QGuiApplication, QKeyEvent, QKeySequence, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QLineEdit,
    QMenu,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from mapper.window import looks
from mapper.window.icons import paint_icon
from mapper.window.words import said

Index = QModelIndex | QPersistentModelIndex
NO_PARENT = QModelIndex()
ROW_PX = 33
MARK_ROLE, SORT_ROLE = Qt.ItemDataRole.UserRole, Qt.ItemDataRole.UserRole + 1
_NUMBER = re.compile(r"\d+([.,]\d+)?")
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
            return said(self.heads[section])
        if way == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The cell's words, without its mark."""
        if role in {Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole}:
            return self.rows[index.row()][index.column()].rpartition("|")[2]
        if role == MARK_ROLE:
            return self.rows[index.row()][index.column()].rpartition("|")[0]
        if role == SORT_ROLE:
            return sort_key(self.rows[index.row()][index.column()])
        return None


def sort_key(cell: str) -> str:
    """Return what a cell is sorted by: figures by size wherever they stand in it, the rest by the words."""
    words = cell.rpartition("|")[2].replace(" ", "").casefold()
    return _NUMBER.sub(lambda m: f"{float(m[0].replace(',', '.')):018.6f}", words)


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
        icon, ink = MARKS.get(index.data(MARK_ROLE), ("", "ink"))
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
    """Signal chosen(row). Rows are counted as they were shown, however they are sorted.

    A click on a head sorts (down, up, as shown first); letters typed keep the rows that hold them, Esc shows all;
    Ctrl+C copies the picked row, Ctrl+Shift+C all rows seen with their heads, as a spreadsheet takes
    them. sorts False: the order of the rows is what they say.
    """

    chosen = Signal(int)
    sorts = True

    def __init__(self, name: str, heads: Sequence[str], widths: Sequence[int] = (), parent: QWidget | None = None):
        super().__init__(parent)
        self.rows_model = RowsModel(heads)
        self._shown = QSortFilterProxyModel(self)
        self._shown.setSourceModel(self.rows_model)
        self._shown.setSortRole(SORT_ROLE)
        self._shown.setFilterKeyColumn(-1)
        self._shown.setFilterCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self.setModel(self._shown)
        self.filter = QLineEdit(self)
        self.filter.setAccessibleName(f"Filter {name}")
        self.filter.setPlaceholderText("rows with ...")
        self.filter.textChanged.connect(self._keep_rows)
        self.filter.hide()
        self.setAccessibleName(name)
        self.setItemDelegate(_Cell(self))
        self.setShowGrid(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(ROW_PX)
        self.horizontalHeader().setHighlightSections(False)
        self.horizontalHeader().setSectionsClickable(self.sorts)
        self.horizontalHeader().sectionClicked.connect(self._sort_by)
        self._sorted_by = (-1, False)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        for column, width in enumerate(widths):
            if width:
                self.horizontalHeader().setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
                self.setColumnWidth(column, width)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTabKeyNavigation(False)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.customContextMenuRequested.connect(self._offer)
        self.clicked.connect(lambda index: self.chosen.emit(self.row_of(index)))
        self.activated.connect(lambda index: self.chosen.emit(self.row_of(index)))

    def row_of(self, index: Index) -> int:
        """Return the row of a cell as it was shown first, -1 for none."""
        return self._shown.mapToSource(index).row() if index.model() is self._shown else index.row()

    def cell(self, row: int, column: int) -> QModelIndex:
        """Return the cell of the view that shows a row as it was shown first."""
        return self._shown.mapFromSource(self.rows_model.index(row, column))

    def visualRect(self, index: Index) -> QRect:
        """Return where a cell stands, be it named as shown first or as sorted."""
        ours = self._shown.mapFromSource(index) if index.model() is self.rows_model else index
        return super().visualRect(ours)

    # Sort, filter, copy ----------------------------------------------------------------------------------------------

    def _sort_by(self, column: int) -> None:
        order = Qt.SortOrder.AscendingOrder
        if self._sorted_by[0] == column:
            column, order = (-1, order) if self._sorted_by[1] else (column, Qt.SortOrder.DescendingOrder)
        self._sorted_by = (column, order == Qt.SortOrder.DescendingOrder)
        self._shown.sort(column, order)
        self.horizontalHeader().setSortIndicator(column, order)
        self.horizontalHeader().setSortIndicatorShown(column >= 0)

    def _keep_rows(self, text: str) -> None:
        self._shown.setFilterFixedString(text.strip())
        self.filter.setVisible(bool(text) or self.filter.hasFocus())

    def type_filter(self, text: str = "") -> None:
        """Open the field that keeps rows with some words."""
        self.filter.setGeometry(QRect(self.width() - 154, 0, 150, 28))
        self.filter.show()
        self.filter.setFocus()
        if text:
            self.filter.setText(text)

    def _all_rows(self) -> None:
        self.filter.clear()
        self.filter.hide()
        self.setFocus()

    def copy(self, whole: bool = False) -> None:
        """Put the picked rows, or all that are seen with their heads, on the clipboard with tabs between the cells."""
        model = self._shown
        picked = sorted({index.row() for index in self.selectedIndexes()})
        rows = range(model.rowCount()) if whole or not picked else picked
        lines = [[str(model.index(r, c).data() or "") for c in range(model.columnCount())] for r in rows]
        heads = [list(self.rows_model.heads)] if whole else []
        QGuiApplication.clipboard().setText("\n".join("\t".join(line) for line in heads + lines))

    def _offer(self, at: QPoint) -> None:
        menu = QMenu(self)
        menu.addAction("Copy the row\tCtrl+C", self.copy)
        menu.addAction("Copy all for a spreadsheet\tCtrl+Shift+C", lambda: self.copy(whole=True))
        if self.sorts:
            menu.addAction("Keep rows with ...\ttype it", self.type_filter)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.popup(self.viewport().mapToGlobal(at))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy, filter, and what a table does."""
        control = Qt.KeyboardModifier.ControlModifier
        if event.matches(QKeySequence.StandardKey.Copy):
            self.copy()
        elif event.key() == Qt.Key.Key_C and event.modifiers() == control | Qt.KeyboardModifier.ShiftModifier:
            self.copy(whole=True)
        elif event.key() == Qt.Key.Key_Escape and self.filter.isVisible():
            self._all_rows()
        elif self.sorts and event.text().strip() and event.text().isprintable() and not event.modifiers() & control:
            self.type_filter(event.text())
        else:
            super().keyPressEvent(event)

    def show_rows(self, rows: Sequence[tuple[str, ...]], most: int = 9) -> None:
        """Show rows; the table is as tall as they are, up to `most`."""
        if list(rows) != self.rows_model.rows:
            self.rows_model.show(list(rows))
        self.setFixedHeight(30 + ROW_PX * max(1, min(most, len(rows))) + 4)

    def mark_row(self, row: int) -> None:
        """Mark a row as picked (-1 for none)."""
        shown = self.cell(row, 0).row() if row >= 0 else -1
        self.selectRow(shown) if shown >= 0 else self.clearSelection()


class OrderTable(PlainTable):
    """A table whose rows are dragged, or moved with Alt and the arrow keys. Signal moved(row, before): put a row before
    another."""

    moved = Signal(int, int)
    sorts = False

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
