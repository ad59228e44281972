"""What the pointer does on the map: the base of every tool, and the simple ones."""

from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPen

from mapper.window import edits, looks, things
from mapper.window.shapes import Point
from mapper.window.snap import Snap, Snapper, bearing_deg, ring_area_m2
from mapper.window.state import STEPS

if TYPE_CHECKING:
    from mapper.window.canvas import MapCanvas

NUDGE = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}


class Tool:
    """A tool of the map. Coordinates are farm metres; `press` and the like return nothing and call canvas.update."""

    name, key, icon, words = "", "", "", ""
    cursor = Qt.CursorShape.CrossCursor
    # The step that an edit's error is shown beside, and the steps at which the tool is offered.
    step = "paddock"
    steps = frozenset(STEPS)

    def __init__(self, canvas: "MapCanvas") -> None:
        self.canvas = canvas
        self.session = canvas.session

    def enter(self) -> None:
        """The tool was taken up."""

    def leave(self) -> None:
        """Another tool was taken up."""

    def press(self, at: Point, event: QMouseEvent) -> None:
        """A button went down."""

    def move(self, at: Point, event: QMouseEvent) -> None:
        """The pointer moved."""

    def release(self, at: Point, event: QMouseEvent) -> None:
        """A button went up."""

    def double(self, at: Point, event: QMouseEvent) -> None:
        """A double click."""

    def on_key(self, event: QKeyEvent) -> bool:
        """Return True where the key was meant for the tool."""
        return False

    def line_key(self, event: QKeyEvent, points: list[Point], done: Callable[[], object]) -> bool:
        """Take a key of a line being drawn: Enter calls done, Backspace takes the last point back, Esc leaves."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            done()
        elif event.key() == Qt.Key.Key_Backspace:
            del points[-1:]
        elif event.key() == Qt.Key.Key_Escape:
            self.canvas.take_tool("Pick")
        else:
            return False
        self.canvas.update()
        return True

    def paint(self, p: QPainter) -> None:
        """Paint over the map."""

    def edit(self, name: str, change: object) -> bool:
        """Make an edit through the session's door; an error is kept beside the step. Return True where it held."""
        from mapper.farm.errors import MapperError

        assert self.session.farm is not None
        try:
            farm = change(self.session.farm)  # type: ignore[operator]
        except MapperError as error:
            self.session.fail(self.step, error)
            if isinstance(error, edits.CrossingError) and error.at is not None:
                self.canvas.mark_place(error.at)
            return False
        self.session.clear_error(self.step)
        self.session.edit(name, farm)
        return True

    def to_px(self, at: Point) -> QPointF:
        """Return a place on the widget."""
        return self.canvas.to_px(at)


class PickTool(Tool):
    """Pick a paddock, a row or a thing; dragging moves the map."""

    name, key, icon = "Pick", "V", "pick"
    words = "Click a paddock or a row. Drag to move the map."
    cursor = Qt.CursorShape.ArrowCursor

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self._from: QPointF | None = None
        self._moved = False

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Remember where it began."""
        self._from, self._moved = event.position(), False

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Move the map once the pointer has gone a few pixels."""
        if self._from is None or not event.buttons() & Qt.MouseButton.LeftButton:
            return
        step = event.position() - self._from
        if self._moved or step.manhattanLength() > 5:
            self._moved = True
            self.canvas.pan_px(step.x(), step.y())
            self._from = event.position()

    def release(self, at: Point, event: QMouseEvent) -> None:
        """Pick what lies there."""
        if not self._moved and self._from is not None:
            self.session.pick(*self.canvas.what_is_at(at))
        self._from = None

    def on_key(self, event: QKeyEvent) -> bool:
        """Delete takes the picked row or paddock away (it can be taken back)."""
        name = self.session.paddock
        if event.key() != Qt.Key.Key_Delete or not name:
            return False
        if self.session.step == "paddock":
            return self.edit(f"Remove {name}", lambda f: edits.remove_paddock(f, name))
        if self.session.step == "rows" and self.session.row_id:
            return self._delete_row()
        return False

    def _delete_row(self) -> bool:
        from mapper.window import rowedits

        rows, row_id = self.session.layer("windrows"), self.session.row_id
        found = [] if rows is None else list(rows.loc[rows["row_id"] == row_id].geometry)
        if found and self.edit(
            f"Delete row {row_id}", lambda f: rowedits.delete_row(f, self.session.paddock, found[0])
        ):
            self.canvas.rows_edited.emit()
        return bool(found)


class MoveTool(PickTool):
    """Move the map and nothing else."""

    name, key, icon = "Move the map", "H", "move"
    words = "Drag to move the map. The wheel zooms."
    cursor = Qt.CursorShape.OpenHandCursor

    def release(self, at: Point, event: QMouseEvent) -> None:
        """Let go."""
        self._from = None

    def on_key(self, event: QKeyEvent) -> bool:
        """Take no keys: the canvas moves by the arrows itself."""
        return False


class PlaceTool(Tool):
    """Place water, a gate, a house or a tree where the pointer clicks."""

    name, key, icon = "Place water", "P", "water"
    words = "Click where it stands. Right click or Esc leaves."

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self.kind = "water"
        self._at: Point | None = None

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Show where it would stand."""
        self._at = at
        self.canvas.update()

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Place it; a gate snaps to the fence."""
        if event.button() != Qt.MouseButton.LeftButton or self.session.farm is None:
            return
        if self.kind == "gate":
            snap = Snapper(self.session.farm).find(*at, 12 * self.canvas.metres_per_px())
            at = (snap.x, snap.y) if snap is not None else at
        self.edit(f"Place {self.kind}", lambda f: things.place_asset(f, self.kind, at))

    def paint(self, p: QPainter) -> None:
        """Paint a ring where it would stand."""
        if self._at is not None:
            c = looks.colours(self.canvas)
            p.setPen(QPen(QColor(c.focus), 2))
            p.drawEllipse(self.to_px(self._at), 9, 9)


class MeasureTool(Tool):
    """Measure along a line, and the area it shuts in."""

    name, key, icon = "Measure", "M", "measure"
    words = "Click from corner to corner. Backspace takes back, Esc clears."

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self.corners: list[Point] = []
        self._at: Point | None = None
        self._snap: Snap | None = None
        self._snapper = Snapper(None)

    def enter(self) -> None:
        """Begin anew."""
        self.corners, self._snapper = [], Snapper(self.session.farm)

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Set a corner."""
        self.corners.append(self._at or at)
        self.canvas.update()

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Follow the pointer, snapping."""
        alt = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        self._snap = None if alt else self._snapper.find(*at, 8 * self.canvas.metres_per_px())
        self._at = at if self._snap is None else (self._snap.x, self._snap.y)
        self.canvas.update()

    def on_key(self, event: QKeyEvent) -> bool:
        """Backspace takes back, Esc clears."""
        if event.key() == Qt.Key.Key_Backspace and self.corners:
            self.corners.pop()
        elif event.key() == Qt.Key.Key_Escape and self.corners:
            self.corners.clear()
        else:
            return False
        self.canvas.update()
        return True

    def lines(self) -> list[str]:
        """Return what has been measured, in words."""
        points = self.corners + ([self._at] if self._at is not None else [])
        if len(points) < 2:
            return []
        sides = [((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5 for a, b in pairwise(points)]
        lines = [
            f"{sum(sides):,.0f} m",
            f"this side {sides[-1]:,.0f} m, bearing {bearing_deg(points[-2], points[-1]):.0f}°",
        ]
        if len(points) > 2:
            lines.append(f"shuts in {ring_area_m2(points) / 1e4:.2f} ha")
        return lines

    def paint(self, p: QPainter) -> None:
        """Paint the line and its figures."""
        points = self.corners + ([self._at] if self._at is not None else [])
        c = looks.colours(self.canvas)
        pen = QPen(QColor(c.focus), 2, Qt.PenStyle.DashLine)
        p.setPen(pen)
        pixels = [self.to_px(q) for q in points]
        for a, b in pairwise(pixels):
            p.drawLine(a, b)
        p.setPen(QPen(QColor(c.focus), 1.6))
        p.setBrush(QColor(c.panel))
        for q in pixels[: len(self.corners)]:
            p.drawEllipse(q, 4, 4)
        if self._snap is not None and pixels:
            paint_snap(p, pixels[-1], c)
        if self.lines():
            paint_card(p, pixels[-1] + QPointF(18, 18), self.lines(), c, QRectF(self.canvas.rect()))


def paint_snap(p: QPainter, at: QPointF, c: looks.Colours) -> None:
    """Paint the ring that says the pointer has snapped."""
    p.setPen(QPen(QColor(c.focus), 2))
    p.setBrush(Qt.BrushStyle.NoBrush)
    p.drawEllipse(at, 9, 9)
    p.setBrush(QColor(c.focus))
    p.drawEllipse(at, 2.4, 2.4)


def paint_crossing(p: QPainter, at: QPointF, c: looks.Colours) -> None:
    """Paint the mark of a place where sides cross."""
    p.setBrush(Qt.BrushStyle.NoBrush)
    for colour, width in ((c.panel, 6.0), (c.stop, 2.6)):
        p.setPen(QPen(QColor(colour), width))
        p.drawEllipse(at, 11, 11)
        p.drawLine(at + QPointF(-6, -6), at + QPointF(6, 6))
        p.drawLine(at + QPointF(-6, 6), at + QPointF(6, -6))


def paint_ring(p: QPainter, c: looks.Colours, place: QRectF, beat: int) -> None:
    """Paint the ring round a place that is being shown; it changes its width with the beat."""
    box = place.adjusted(-10, -10, 10, 10)
    p.setBrush(Qt.BrushStyle.NoBrush)
    p.setPen(QPen(QColor(c.panel), 5))
    p.drawRoundedRect(box, 10, 10)
    p.setPen(QPen(QColor(c.stop), 2.5 if beat % 2 else 1.5))
    p.drawRoundedRect(box, 10, 10)


def paint_card(p: QPainter, at: QPointF, lines: list[str], c: looks.Colours, inside: QRectF) -> None:
    """Paint a small card of lines beside the pointer, the first bold, kept inside a box."""
    font = p.font()
    font.setPixelSize(looks.BODY)
    bold = p.font()
    bold.setPixelSize(looks.BODY)
    bold.setBold(True)
    p.setFont(bold)
    width = max(p.fontMetrics().horizontalAdvance(line) for line in lines) + 24
    height = 19 * len(lines) + 12
    box = QRectF(at.x(), at.y(), width, height)
    if box.right() > inside.right() - 8:
        box.moveRight(at.x() - 36)
    if box.bottom() > inside.bottom() - 8:
        box.moveBottom(at.y() - 36)
    p.setPen(QPen(QColor(c.line), 1))
    p.setBrush(QColor(c.panel))
    p.drawRoundedRect(box, looks.RADIUS_S, looks.RADIUS_S)
    for k, line in enumerate(lines):
        p.setFont(bold if k == 0 else font)
        p.setPen(QColor(c.ink if k == 0 else c.soft))
        p.drawText(QRectF(box.x() + 12, box.y() + 6 + 19 * k, width, 19), Qt.AlignmentFlag.AlignVCenter, line)
