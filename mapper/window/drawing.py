"""The tools that make a paddock: draw it, split it."""

from itertools import pairwise
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPen, QPolygonF

from mapper.window import edits, looks
from mapper.window.snap import Point, Snap, Snapper, bearing_deg, ring_area_m2, squared
from mapper.window.state import STEPS
from mapper.window.tools import NUDGE, Tool, paint_card, paint_snap

if TYPE_CHECKING:
    from mapper.window.canvas import MapCanvas

GRIP_PX = 9.0
# At the Rows step the row tools stand in their place.
NOT_ROWS = frozenset(STEPS) - {"rows"}


def near(a: QPointF, b: QPointF) -> bool:
    """Return True where a pointer is on a grip."""
    return (a - b).manhattanLength() <= GRIP_PX * 1.4


class DrawTool(Tool):
    """Draw a paddock corner by corner, with live area, side and bearing."""

    name, key, icon = "Draw a paddock", "D", "draw"
    steps = NOT_ROWS
    words = "Click each corner. Press Enter or click the first corner to close."

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self.corners: list[Point] = []
        self.at: Point | None = None
        self.snap: Snap | None = None
        self.snap_on, self.square, self.snap_within_m = True, False, 10.0
        self.paddock_name, self.crop = "", "wheat"
        self._snapper = Snapper(None)

    def enter(self) -> None:
        """Begin with no corner."""
        self.corners, self.at, self.snap = [], None, None
        self._snapper = Snapper(self.session.farm)
        if self.session.farm is not None:
            self.paddock_name = edits.free_name(self.session.farm)
        self.canvas.drawing_changed.emit()

    def leave(self) -> None:
        """Drop the corners."""
        self.corners, self.at, self.snap = [], None, None
        self.canvas.drawing_changed.emit()

    def figures(self) -> tuple[float, float, int]:
        """Return area so far (ha), way round the outside (m), corners set."""
        points = self.corners
        around = (
            sum(_side(a, b) for a, b in zip(points, [*points[1:], *points[:1]], strict=True))
            if len(points) > 1
            else 0.0
        )
        return ring_area_m2(self._with_pointer()) / 1e4, around, len(points)

    def close(self) -> bool:
        """Make the paddock. An error is shown beside the step and the corners stay."""
        corners, name, crop = list(self.corners), self.paddock_name, self.crop
        if not self.edit(f"Draw {name or 'a paddock'}", lambda f: edits.add_paddock(f, name, corners, crop)):
            return False
        assert self.session.farm is not None
        made = str(self.session.farm.paddocks["paddock"].iloc[-1])
        self.canvas.take_tool("Pick")
        self.session.pick(made)
        self.session.said.emit(f"{made} is drawn. Its rows come next.")
        return True

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Set a corner, or close on the first."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        self.move(at, event)
        if len(self.corners) > 2 and near(event.position(), self.to_px(self.corners[0])):
            self.close()
            return
        self.corners.append(self.at or at)
        self._changed()

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Follow the pointer, snapping unless Alt is held."""
        alt = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        self.snap = self._snapper.find(*at, self.snap_within_m) if self.snap_on and not alt else None
        if self.snap is not None:
            self.at = (self.snap.x, self.snap.y)
        else:
            self.at = squared(self.corners, at) if self.square and not alt else at
        self._changed()

    def on_key(self, event: QKeyEvent) -> bool:
        """Enter closes, Backspace takes back, arrows nudge 1 m, Esc leaves."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self.close()
        elif event.key() == Qt.Key.Key_Backspace:
            del self.corners[-1:]
        elif event.key() == Qt.Key.Key_Escape:
            self.canvas.take_tool("Pick")
        elif event.key() in NUDGE and self.corners:
            dx, dy = NUDGE[Qt.Key(event.key())]
            x, y = self.corners[-1]
            self.corners[-1] = (x + dx, y + dy)
        else:
            return False
        self._changed()
        return True

    def _changed(self) -> None:
        self.canvas.update()
        self.canvas.drawing_changed.emit()

    def _with_pointer(self) -> list[Point]:
        return self.corners + ([self.at] if self.at is not None else [])

    def paint(self, p: QPainter) -> None:
        """Paint the area so far, its sides with their lengths, the snap ring and the card."""
        c = looks.colours(self.canvas)
        points = [self.to_px(q) for q in self._with_pointer()]
        if not points:
            return
        fill = QColor(c.act)
        fill.setAlpha(38)
        p.setPen(Qt.PenStyle.NoPen)
        p.setBrush(fill)
        p.drawPolygon(QPolygonF(points))
        fixed = points[: len(self.corners)]
        p.setPen(QPen(QColor(c.act), 2.2))
        p.drawPolyline(QPolygonF(fixed))
        if self.at is not None and fixed:
            p.setPen(QPen(QColor(c.act), 2, Qt.PenStyle.DashLine))
            p.drawLine(fixed[-1], points[-1])
            p.setPen(QPen(QColor(c.act), 1.2, Qt.PenStyle.DotLine))
            p.drawLine(points[-1], fixed[0])
        self._paint_lengths(p, fixed, c)
        p.setPen(QPen(QColor(c.act), 1.6))
        p.setBrush(QColor(c.panel))
        for q in fixed:
            p.drawRect(QRectF(q.x() - 4, q.y() - 4, 8, 8))
        if self.snap is not None:
            paint_snap(p, points[-1], c)
        if self.at is not None and self.corners:
            side = _side(self.corners[-1], self.at)
            lines = [f"{ring_area_m2(self._with_pointer()) / 1e4:.1f} ha so far",
                     f"this side {side:,.0f} m, bearing {bearing_deg(self.corners[-1], self.at):.0f}°"]  # fmt: skip
            if self.snap is not None:
                lines.append(self.snap.words)
            paint_card(p, points[-1] + QPointF(18, 18), lines, c, QRectF(self.canvas.rect()))

    def _paint_lengths(self, p: QPainter, fixed: list[QPointF], c: looks.Colours) -> None:
        font = p.font()
        font.setPixelSize(looks.SMALL)
        p.setFont(font)
        for (a, b), (qa, qb) in zip(pairwise(self.corners), pairwise(fixed), strict=True):
            if (qb - qa).manhattanLength() < 70:
                continue
            middle = (qa + qb) / 2
            text = f"{_side(a, b):,.0f} m"
            width = p.fontMetrics().horizontalAdvance(text) + 8
            box = QRectF(middle.x() - width / 2, middle.y() - 9, width, 18)
            p.setPen(Qt.PenStyle.NoPen)
            p.setBrush(QColor(c.panel))
            p.drawRoundedRect(box, 3, 3)
            p.setPen(QColor(c.ink))
            p.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def _side(a: Point, b: Point) -> float:
    return float(((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5)


class SplitTool(Tool):
    """Split the picked paddock along a line."""

    name, key, icon = "Split a paddock", "S", "split"
    steps = NOT_ROWS
    words = "Click where the cut begins and ends, outside the paddock. Enter cuts, Esc leaves."

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self.corners: list[Point] = []
        self._at: Point | None = None

    def enter(self) -> None:
        """Begin with no line."""
        self.corners, self._at = [], None
        if not self.session.paddock:
            self.session.said.emit("Pick the paddock first, then split it.")

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Set a point of the cut; a click on no picked paddock picks one."""
        if not self.session.paddock:
            self.session.pick(self.canvas.what_is_at(at)[0])
            return
        self.corners.append(at)
        self.canvas.update()

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Follow the pointer."""
        self._at = at
        self.canvas.update()

    def double(self, at: Point, event: QMouseEvent) -> None:
        """Cut."""
        self.cut()

    def cut(self) -> None:
        """Cut the paddock along the line."""
        name, line = self.session.paddock, list(self.corners)
        if len(line) < 2 or not name:
            self.session.said.emit("The cut needs a beginning and an end.")
            return
        self.corners = []
        if self.edit(f"Split {name}", lambda f: edits.split_paddock(f, name, line)):
            self.canvas.take_tool("Pick")

    def on_key(self, event: QKeyEvent) -> bool:
        """Enter cuts, Backspace takes back, Esc leaves."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self.cut()
        elif event.key() == Qt.Key.Key_Backspace:
            del self.corners[-1:]
        elif event.key() == Qt.Key.Key_Escape:
            self.canvas.take_tool("Pick")
        else:
            return False
        self.canvas.update()
        return True

    def paint(self, p: QPainter) -> None:
        """Paint the cut."""
        c = looks.colours(self.canvas)
        points = [self.to_px(q) for q in self.corners + ([self._at] if self._at is not None and self.corners else [])]
        p.setPen(QPen(QColor(c.act), 2, Qt.PenStyle.DashLine))
        p.drawPolyline(QPolygonF(points))
