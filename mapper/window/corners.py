"""The tool that mends a paddock: move, add and take out its corners."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPen, QPolygonF

from mapper.window import edits, looks
from mapper.window.drawing import NOT_ROWS, near
from mapper.window.snap import Point, Snap, Snapper, ring_area_m2
from mapper.window.tools import NUDGE, Tool, paint_card, paint_snap

if TYPE_CHECKING:
    from mapper.window.canvas import MapCanvas


class CornersTool(Tool):
    """Move, add and take out the corners of the picked paddock."""

    name, key, icon = "Move corners", "E", "corners"
    steps = NOT_ROWS
    words = "Drag a corner. Click a side's middle to add one, Delete takes one out, arrows nudge 1 m."

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self.held: tuple[int, int, int] | None = None
        self._at: Point | None = None
        self._dragging = False
        self._snap: Snap | None = None
        self._snapper = Snapper(None)

    def enter(self) -> None:
        """Take up the picked paddock, or the only one."""
        farm = self.session.farm
        if farm is not None and not self.session.paddock and len(farm.paddocks) == 1:
            self.session.pick(str(farm.paddocks["paddock"].iloc[0]))
        self.held = None
        if not self.session.paddock:
            self.session.said.emit("Click the paddock whose corners are to be moved.")

    def _rings(self) -> list[list[list[Point]]]:
        farm, name = self.session.farm, self.session.paddock
        if farm is None or name not in set(farm.paddocks["paddock"]):
            return []
        rings = edits.rings_of(farm.paddock(name).geometry)
        if self._dragging and self.held is not None and self._at is not None:
            part, ring, corner = self.held
            rings[part][ring][corner] = self._at
        return rings

    def _grip_at(self, at: QPointF) -> tuple[int, int, int] | None:
        for part, rings in enumerate(self._rings()):
            for ring, corners in enumerate(rings):
                for corner, place in enumerate(corners):
                    if near(at, self.to_px(place)):
                        return part, ring, corner
        return None

    def _middle_at(self, at: QPointF) -> tuple[int, int, int, Point] | None:
        for part, rings in enumerate(self._rings()):
            for ring, corners in enumerate(rings):
                for k, (a, b) in enumerate(zip(corners, [*corners[1:], corners[0]], strict=True)):
                    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
                    if near(at, self.to_px(middle)):
                        return part, ring, k, middle
        return None

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Take hold of a corner, add one at a side's middle, or pick another paddock."""
        grip = self._grip_at(event.position())
        if grip is None:
            middle = self._middle_at(event.position())
            if middle is not None:
                part, ring, k, place = middle
                name = self.session.paddock
                self.edit(f"Add a corner to {name}", lambda f: edits.add_corner(f, name, part, ring, k, place))
                grip = (part, ring, k + 1)
        if grip is None:
            self.session.pick(self.canvas.what_is_at(at)[0])
        self.held, self._dragging = grip, grip is not None
        self._at = None
        self._snapper = Snapper(self.session.farm, leave_out=self.session.paddock)
        self.canvas.update()

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Drag the corner, snapping unless Alt is held."""
        if not self._dragging:
            return
        alt = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        self._snap = None if alt else self._snapper.find(*at, 8 * self.canvas.metres_per_px())
        self._at = at if self._snap is None else (self._snap.x, self._snap.y)
        self.canvas.update()

    def release(self, at: Point, event: QMouseEvent) -> None:
        """Let go: the corner moves for good."""
        if self._dragging and self._at is not None and self.held is not None:
            self._move_to(self._at)
        self._dragging, self._at, self._snap = False, None, None
        self.canvas.update()

    def _move_to(self, to: Point) -> None:
        assert self.held is not None
        name, held = self.session.paddock, self.held
        self.edit(f"Move a corner of {name}", lambda f: edits.move_corner(f, name, *held, to))

    def on_key(self, event: QKeyEvent) -> bool:
        """Arrows nudge the held corner 1 m, Delete takes it out, Esc leaves."""
        if event.key() == Qt.Key.Key_Escape:
            self.canvas.take_tool("Pick")
            return True
        if self.held is None or not self.session.paddock:
            return False
        name, held = self.session.paddock, self.held
        if event.key() in NUDGE:
            part, ring, corner = held
            x, y = self._rings()[part][ring][corner]
            dx, dy = NUDGE[Qt.Key(event.key())]
            self._move_to((x + dx, y + dy))
            return True
        if event.key() in {Qt.Key.Key_Delete, Qt.Key.Key_Backspace}:
            self.edit(f"Take out a corner of {name}", lambda f: edits.remove_corner(f, name, *held))
            self.held = None
            return True
        return False

    def paint(self, p: QPainter) -> None:
        """Paint the paddock's corners as squares, its sides' middles as small rings."""
        c = looks.colours(self.canvas)
        for part, rings in enumerate(self._rings()):
            for ring, corners in enumerate(rings):
                pixels = [self.to_px(q) for q in corners]
                p.setBrush(Qt.BrushStyle.NoBrush)
                p.setPen(QPen(QColor(c.act), 2.2))
                p.drawPolygon(QPolygonF(pixels))
                p.setPen(QPen(QColor(c.act), 1.3))
                p.setBrush(QColor(c.panel))
                for a, b in zip(pixels, [*pixels[1:], pixels[0]], strict=True):
                    if (b - a).manhattanLength() > 60:
                        p.drawEllipse((a + b) / 2, 3, 3)
                for corner, q in enumerate(pixels):
                    held = self.held == (part, ring, corner)
                    p.setBrush(QColor(c.act if held else c.panel))
                    p.drawRect(QRectF(q.x() - 4.5, q.y() - 4.5, 9, 9))
        if self._dragging and self._at is not None:
            at = self.to_px(self._at)
            if self._snap is not None:
                paint_snap(p, at, c)
            area = sum(ring_area_m2(r[0]) - sum(ring_area_m2(h) for h in r[1:]) for r in self._rings())
            lines = [f"{area / 1e4:.2f} ha", *([self._snap.words] if self._snap is not None else [])]
            paint_card(p, at + QPointF(18, 18), lines, c, QRectF(self.canvas.rect()))
