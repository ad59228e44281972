"""Tools that work on whole paddocks: split one, make two one, lay a firebreak just inside a fence."""

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPen, QPolygonF

from mapper.window import edits, looks, things
from mapper.window.shapes import Point, side_of, strips_inside
from mapper.window.state import STEPS
from mapper.window.tools import Tool

if TYPE_CHECKING:
    from mapper.window.canvas import MapCanvas

NOT_ROWS = frozenset(STEPS) - {"rows"}


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
        return self.line_key(event, self.corners, self.cut)

    def paint(self, p: QPainter) -> None:
        """Paint the cut."""
        c = looks.colours(self.canvas)
        points = [self.to_px(q) for q in self.corners + ([self._at] if self._at is not None and self.corners else [])]
        p.setPen(QPen(QColor(c.act), 2, Qt.PenStyle.DashLine))
        p.drawPolyline(QPolygonF(points))


class MergeTool(Tool):
    """Make the picked paddock and a neighbour one."""

    name, key, icon = "Merge paddocks", "J", "merge"
    steps = NOT_ROWS
    words = "Click the paddock beside the picked one that it becomes one with. Esc leaves."

    def enter(self) -> None:
        """Say which paddock stays."""
        name = self.session.paddock
        self.session.said.emit(
            f"Click the paddock that becomes part of {name}." if name else "Click the paddock that stays."
        )

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Pick the one that stays, then merge the one clicked."""
        clicked, name = self.canvas.what_is_at(at)[0], self.session.paddock
        if not name or not clicked or clicked == name:
            self.session.pick(clicked or name)
            self.enter()
        elif self.edit(f"Merge {clicked} into {name}", lambda f: edits.merge_paddocks(f, name, clicked)):
            self.canvas.take_tool("Pick")

    def on_key(self, event: QKeyEvent) -> bool:
        """Esc leaves."""
        if event.key() != Qt.Key.Key_Escape:
            return False
        self.canvas.take_tool("Pick")
        return True


class BreakTool(Tool):
    """Lay a firebreak just inside the fence of the picked paddock: along the side clicked, or all the way round."""

    name, key, icon = "Break inside the fence", "B", "inside"
    steps = NOT_ROWS
    words = "Click the side that gets a break, or press Enter for all the way round. Its width is typed at the right."

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self.width_m = 4.0
        self._side: list[Point] = []

    def enter(self) -> None:
        """Begin with no side."""
        self._side = []
        if not self.session.paddock:
            self.session.said.emit("Click the paddock that gets a break.")
        self.canvas.drawing_changed.emit()

    def leave(self) -> None:
        """Let go of the side."""
        self._side = []
        self.canvas.drawing_changed.emit()

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Lay the break along the side under the pointer; a click inside another paddock picks it."""
        self.move(at, event)
        if self._side:
            self.make(self._side)
        elif clicked := self.canvas.what_is_at(at)[0]:
            self.session.pick(clicked)

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Take the side nearest the pointer, where one is near."""
        self._side = self._side_at(at)
        self.canvas.update()

    def _side_at(self, at: Point) -> list[Point]:
        from shapely import LineString
        from shapely import Point as Spot

        farm, name = self.session.farm, self.session.paddock
        if farm is None or not name:
            return []
        spot, best, nearest = Spot(at), [], 14 * self.canvas.metres_per_px()
        for rings in edits.rings_of(farm.paddock(name).geometry):
            for ring in rings:
                for k, (a, b) in enumerate(zip(ring, [*ring[1:], ring[0]], strict=True)):
                    away = LineString([a, b]).distance(spot)
                    if away <= nearest:
                        best, nearest = side_of(ring, k), away
        return best

    def make(self, side: list[Point]) -> None:
        """Lay the break; an empty side means all the way round."""
        name, width = self.session.paddock, self.width_m
        where = "along a side" if side else "all the way round"
        if name and self.edit(
            f"Break of {width:g} m inside {name}, {where}", lambda f: things.break_inside(f, name, width, side)
        ):
            self.session.said.emit(f"A break of {width:g} m now counts as there. Take it back if it is not made.")

    def on_key(self, event: QKeyEvent) -> bool:
        """Enter lays it all the way round, Esc leaves."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self.make([])
        elif event.key() == Qt.Key.Key_Escape:
            self.canvas.take_tool("Pick")
        else:
            return False
        return True

    def paint(self, p: QPainter) -> None:
        """Paint the break that a click would lay."""
        farm, name = self.session.farm, self.session.paddock
        if farm is None or not name or not self._side:
            return
        c = looks.colours(self.canvas)
        colour = QColor(c.act)
        colour.setAlpha(150)
        wide = max(3.0, self.width_m / self.canvas.metres_per_px())
        p.setPen(QPen(colour, wide, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
        for line in strips_inside(farm.paddock(name).geometry, self.width_m, self._side):
            p.drawPolyline(QPolygonF([self.to_px((x, y)) for x, y in line.coords]))
