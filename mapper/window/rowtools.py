"""The tools of the Rows step: draw a row, move one, cut one, and mark where rows really end."""

from itertools import pairwise
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPen, QPolygonF

from mapper.window import looks, rowedits
from mapper.window.shapes import Point
from mapper.window.snap import bearing_deg
from mapper.window.tools import NUDGE, Tool, paint_card

if TYPE_CHECKING:
    from mapper.window.canvas import MapCanvas

_ROWS = frozenset({"rows"})


class RowTool(Tool):
    """What the row tools share: the picked row, and rows worked out anew after each edit."""

    step = "rows"
    steps = _ROWS

    def row(self) -> Any:
        """Return the picked row of the layer windrows, or None."""
        rows = self.session.layer("windrows")
        if rows is None or not self.session.row_id:
            return None
        found = rows[rows["row_id"] == self.session.row_id]
        return found.iloc[0] if len(found) else None

    def pick_at(self, at: Point) -> Any:
        """Pick the row at a place and return it."""
        self.session.pick(*self.canvas.what_is_at(at))
        return self.row()

    def edit_rows(self, name: str, change: object) -> bool:
        """Make the edit and ask for the rows anew."""
        held = self.edit(name, change)
        if held:
            self.canvas.rows_edited.emit()
        return held

    def paddock_at(self, at: Point) -> str:
        """Return the paddock a line belongs to: where it begins, else the picked one."""
        return self.canvas.what_is_at(at)[0] or self.session.paddock


class DrawRowTool(RowTool):
    """Draw a row that the log missed, or one seen on the picture to fit a pattern to."""

    name, key, icon = "Draw a row", "R", "row_draw"
    words = "Click along the row in the way it was driven. Enter or a double click ends it, Esc leaves."

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self.points: list[Point] = []
        self.at: Point | None = None
        self.seen_only = False

    def enter(self) -> None:
        """Begin with no point."""
        self.points, self.at = [], None

    leave = enter

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Set a point."""
        if event.button() == Qt.MouseButton.LeftButton:
            self.points.append(at)
            self.canvas.update()

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Follow the pointer."""
        self.at = at
        self.canvas.update()

    def double(self, at: Point, event: QMouseEvent) -> None:
        """End the row."""
        self.finish()

    def finish(self) -> None:
        """Make the row."""
        line = list(self.points)
        paddock = self.paddock_at(line[0]) if line else ""
        if not paddock:
            self.session.said.emit("A row begins inside its paddock.")
            self.points = []
            self.canvas.update()
            return
        if self.seen_only:
            held = self.edit_rows(f"Mark a row of {paddock}", lambda f: rowedits.see_row(f, paddock, line))
        else:
            held = self.edit_rows(f"Draw a row in {paddock}", lambda f: rowedits.draw_row(f, paddock, line))
        if held:
            self.points = []
        self.canvas.update()

    def on_key(self, event: QKeyEvent) -> bool:
        """Enter ends the row, Backspace takes back, Esc leaves."""
        return self.line_key(event, self.points, self.finish)

    def paint(self, p: QPainter) -> None:
        """Paint the line so far and its length."""
        points = self.points + ([self.at] if self.at is not None and self.points else [])
        if not points:
            return
        c = looks.colours(self.canvas)
        pixels = [self.to_px(q) for q in points]
        p.setPen(QPen(QColor(c.act), 2.4))
        p.drawPolyline(QPolygonF(pixels))
        p.setBrush(QColor(c.panel))
        for q in pixels[: len(self.points)]:
            p.drawEllipse(q, 4, 4)
        if len(points) > 1:
            a, b = points[-2], points[-1]
            long = sum(((v[0] - u[0]) ** 2 + (v[1] - u[1]) ** 2) ** 0.5 for u, v in pairwise(points))
            lines = [f"{long:,.0f} m", f"bearing {bearing_deg(a, b):.1f}°"]
            paint_card(p, pixels[-1] + QPointF(18, 18), lines, c, QRectF(self.canvas.rect()))


class MoveRowTool(RowTool):
    """Drag a row to where it lies."""

    name, key, icon = "Move a row", "G", "row_move"
    words = "Drag a row to where it lies; arrows nudge the picked row 1 m."
    cursor = Qt.CursorShape.SizeAllCursor

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self._from: Point | None = None
        self._by: Point = (0.0, 0.0)

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Take hold of the row under the pointer."""
        self._from, self._by = (at, (0.0, 0.0)) if self.pick_at(at) is not None else (None, (0.0, 0.0))

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Drag it."""
        if self._from is not None and event.buttons() & Qt.MouseButton.LeftButton:
            self._by = (at[0] - self._from[0], at[1] - self._from[1])
            self.canvas.update()

    def release(self, at: Point, event: QMouseEvent) -> None:
        """Let go: it lies there now."""
        if self._from is not None and max(map(abs, self._by)) > 0.2:
            self._move(self._by)
        self._from, self._by = None, (0.0, 0.0)
        self.canvas.update()

    def _move(self, by: Point) -> None:
        row = self.row()
        if row is not None:
            name, line = str(row["paddock"]), row.geometry
            self.edit_rows(f"Move row {row['row_id']}", lambda f: rowedits.move_row(f, name, line, by))

    def on_key(self, event: QKeyEvent) -> bool:
        """Arrows nudge, Esc leaves."""
        if event.key() == Qt.Key.Key_Escape:
            self.canvas.take_tool("Pick")
        elif event.key() in NUDGE and self.row() is not None:
            self._move(NUDGE[Qt.Key(event.key())])
        else:
            return False
        return True

    def paint(self, p: QPainter) -> None:
        """Paint the row where it would lie."""
        row = self.row()
        if row is None or self._from is None:
            return
        c = looks.colours(self.canvas)
        places = [self.to_px((x + self._by[0], y + self._by[1])) for x, y, *_ in row.geometry.coords]
        p.setPen(QPen(QColor(c.act), 2.4, Qt.PenStyle.DashLine))
        p.drawPolyline(QPolygonF(places))
        by = (self._by[0] ** 2 + self._by[1] ** 2) ** 0.5
        end = self.to_px((self._from[0] + self._by[0], self._from[1] + self._by[1]))
        paint_card(p, end + QPointF(18, 18), [f"moved {by:.1f} m"], c, QRectF(self.canvas.rect()))


class CutRowTool(RowTool):
    """Cut a row in two where it is broken on the ground."""

    name, key, icon = "Cut a row", "X", "row_cut"
    words = "Click a row where it is to be cut."

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Cut the row under the pointer."""
        row = self.pick_at(at)
        if event.button() == Qt.MouseButton.LeftButton and row is not None:
            name, line = str(row["paddock"]), row.geometry
            self.edit_rows(f"Cut row {row['row_id']}", lambda f: rowedits.split_row(f, name, line, at))

    def on_key(self, event: QKeyEvent) -> bool:
        """Esc leaves."""
        if event.key() == Qt.Key.Key_Escape:
            self.canvas.take_tool("Pick")
            return True
        return False


class RowEndsTool(RowTool):
    """Mark where rows end on the ground; the harvester's settings are fitted to them."""

    name, key, icon = "Mark row ends", "N", "row_end"
    words = "Click where rows begin and end on the ground, three at least. Backspace takes back, Esc leaves."

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self.ends: list[Point] = []

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Mark an end."""
        if event.button() == Qt.MouseButton.LeftButton:
            self.ends.append(at)
            self._changed()

    def on_key(self, event: QKeyEvent) -> bool:
        """Backspace takes back, Esc leaves; the marks stay."""
        if event.key() == Qt.Key.Key_Backspace:
            del self.ends[-1:]
            self._changed()
        elif event.key() == Qt.Key.Key_Escape:
            self.canvas.take_tool("Pick")
        else:
            return False
        return True

    def _changed(self) -> None:
        self.canvas.update()
        self.canvas.drawing_changed.emit()

    def paint(self, p: QPainter) -> None:
        """Paint the marks."""
        c = looks.colours(self.canvas)
        p.setBrush(Qt.BrushStyle.NoBrush)
        for at in self.ends:
            q = self.to_px(at)
            for colour, width in ((c.panel, 5.0), (c.focus, 2.0)):
                p.setPen(QPen(QColor(colour), width))
                p.drawLine(q - QPointF(6, 6), q + QPointF(6, 6))
                p.drawLine(q - QPointF(6, -6), q + QPointF(6, -6))
