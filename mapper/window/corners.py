"""The tool that mends shapes: move, add and take out corners of a paddock, or of whatever else was drawn."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPen, QPolygonF

from mapper.window import edits, looks, things
from mapper.window.drawing import NOT_ROWS, near
from mapper.window.shapes import Point, crossings
from mapper.window.snap import Snap, Snapper, ring_area_m2
from mapper.window.tools import NUDGE, Tool, paint_card, paint_crossing, paint_snap

if TYPE_CHECKING:
    from mapper.window.canvas import MapCanvas

Grip = tuple[int, int, int]


class CornersTool(Tool):
    """Move, add and take out the corners of the picked paddock or thing; neighbours' shared fences move along."""

    name, key, icon = "Move corners", "E", "corners"
    steps = NOT_ROWS
    words = (
        "Drag a corner; fences shared with a neighbour move along (Shift: this paddock alone). A side's middle "
        "takes a new corner, Delete takes one out, arrows nudge 1 m."
    )

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self.held: Grip | None = None
        self.thing: things.Thing | None = None
        self._at: Point | None = None
        self._dragging = False
        self._alone = False
        self._snap: Snap | None = None
        self._snapper = Snapper(None)

    def enter(self) -> None:
        """Take up the picked paddock, or the only one."""
        farm = self.session.farm
        if farm is not None and not self.session.paddock and len(farm.paddocks) == 1:
            self.session.pick(str(farm.paddocks["paddock"].iloc[0]))
        self.held = self.thing = None
        if not self.session.paddock:
            self.session.said.emit("Click the paddock, the line or the area whose corners are to be moved.")

    def leave(self) -> None:
        """Let go."""
        self.held = self.thing = None

    def _paths(self) -> tuple[list[list[list[Point]]], bool]:
        farm, name = self.session.farm, self.session.paddock
        if farm is None:
            return [], True
        if self.thing is not None:
            table = getattr(farm, self.thing.layer)
            if self.thing.row >= len(table):
                self.thing = None
                return [], True
            paths, closed = things.paths_of(table.geometry.iloc[self.thing.row])
        elif name in set(farm.paddocks["paddock"]):
            paths, closed = things.paths_of(farm.paddock(name).geometry)
        else:
            return [], True
        if self._dragging and self.held is not None and self._at is not None:
            part, ring, corner = self.held
            paths[part][ring][corner] = self._at
        return paths, closed

    def _grip_at(self, at: QPointF) -> Grip | None:
        for part, rings in enumerate(self._paths()[0]):
            for ring, corners in enumerate(rings):
                for corner, place in enumerate(corners):
                    if near(at, self.to_px(place)):
                        return part, ring, corner
        return None

    def _middle_at(self, at: QPointF) -> tuple[int, int, int, Point] | None:
        paths, closed = self._paths()
        for part, rings in enumerate(paths):
            for ring, corners in enumerate(rings):
                ends = [*corners[1:], corners[0]] if closed else corners[1:]
                for k, (a, b) in enumerate(zip(corners, ends, strict=False)):
                    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
                    if near(at, self.to_px(middle)):
                        return part, ring, k, middle
        return None

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Take hold of a corner, add one at a side's middle, or take up another shape."""
        grip = self._grip_at(event.position())
        if grip is None:
            middle = self._middle_at(event.position())
            if middle is not None:
                part, ring, k, place = middle
                self._add(part, ring, k, place)
                grip = (part, ring, k + 1)
        if grip is None and self.session.farm is not None:
            self.thing = things.thing_at(self.session.farm, at, 8 * self.canvas.metres_per_px())
            if self.thing is None or self.thing.layer == "neighbours":
                picked = self.canvas.what_is_at(at)[0]
                self.thing = None if picked else self.thing
                self.session.pick(picked)
            if self.thing is not None:
                self.session.said.emit(f"{self.thing.name}: drag its corners, Delete takes it away.")
                grip = self._grip_at(event.position())
        self.held, self._dragging = grip, grip is not None
        self._at = None
        left_out = (self.thing.layer, self.thing.row) if self.thing is not None else self.session.paddock
        self._snapper = Snapper(self.session.farm, leave_out=left_out)
        self.canvas.update()

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Drag the corner, snapping unless Alt is held; Shift leaves the neighbours."""
        if not self._dragging:
            return
        self._alone = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        alt = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        self._snap = None if alt else self._snapper.find(*at, 8 * self.canvas.metres_per_px())
        self._at = at if self._snap is None else (self._snap.x, self._snap.y)
        self.canvas.update()

    def release(self, at: Point, event: QMouseEvent) -> None:
        """Let go: the corner moves for good."""
        to, self._dragging = self._at if self._dragging else None, False
        if to is not None and self.held is not None:
            self._move_to(to)
        self._at, self._snap, self._alone = None, None, False
        self.canvas.update()

    # The edits ---------------------------------------------------------------------------------------------------

    def _what(self) -> str:
        return self.thing.name if self.thing is not None else self.session.paddock

    def _corners(self, part: int, ring: int) -> list[Point]:
        return list(self._paths()[0][part][ring])

    def _reshape(self, words: str, part: int, corners: list[Point]) -> bool:
        thing = self.thing
        assert thing is not None
        return self.edit(words, lambda f: things.reshape_thing(f, thing, part, corners))

    def _add(self, part: int, ring: int, k: int, place: Point) -> None:
        name, words = self.session.paddock, f"Add a corner to {self._what()}"
        if self.thing is None:
            self.edit(words, lambda f: edits.add_corner(f, name, part, ring, k, place))
        elif ring == 0:
            corners = self._corners(part, ring)
            self._reshape(words, part, [*corners[: k + 1], place, *corners[k + 1 :]])

    def _move_to(self, to: Point) -> None:
        assert self.held is not None
        name, held, alone = self.session.paddock, self.held, self._alone
        words = f"Move a corner of {self._what()}"
        if self.thing is None:
            self.edit(words, lambda f: edits.move_corner(f, name, *held, to, alone))
        elif held[1] == 0:
            corners = self._corners(held[0], 0)
            corners[held[2]] = to
            single = len(corners) == 1
            self._reshape(f"Move {self._what()}" if single else words, held[0], corners)

    def _take_out(self) -> None:
        name, held = self.session.paddock, self.held
        assert held is not None
        words = f"Take out a corner of {self._what()}"
        if self.thing is None:
            self.edit(words, lambda f: edits.remove_corner(f, name, *held))
        elif held[1] == 0:
            corners = self._corners(held[0], 0)
            del corners[held[2]]
            if corners:
                self._reshape(words, held[0], corners)
        self.held = None

    def on_key(self, event: QKeyEvent) -> bool:
        """Arrows nudge the held corner 1 m, Delete takes it (or the thing in hand) away, Esc leaves."""
        if event.key() == Qt.Key.Key_Escape:
            self.canvas.take_tool("Pick")
            return True
        deletes, thing = event.key() in {Qt.Key.Key_Delete, Qt.Key.Key_Backspace}, self.thing
        spot = thing is not None and sum(len(r) for p in self._paths()[0] for r in p) == 1
        if thing is not None and deletes and (self.held is None or spot):
            self.edit(f"Remove {thing.name}", lambda f: things.remove_thing(f, thing))
            self.held = self.thing = None
            return True
        if self.held is None or not self._what():
            return False
        if event.key() in NUDGE:
            part, ring, corner = self.held
            x, y = self._corners(part, ring)[corner]
            dx, dy = NUDGE[Qt.Key(event.key())]
            self._move_to((x + dx, y + dy))
            return True
        if deletes:
            self._take_out()
            return True
        return False

    def paint(self, p: QPainter) -> None:
        """Paint the corners as squares, the sides' middles as small rings, and where sides would cross."""
        c = looks.colours(self.canvas)
        paths, closed = self._paths()
        for part, rings in enumerate(paths):
            for ring, corners in enumerate(rings):
                pixels = [self.to_px(q) for q in corners]
                p.setBrush(Qt.BrushStyle.NoBrush)
                p.setPen(QPen(QColor(c.act), 2.2))
                p.drawPolygon(QPolygonF(pixels)) if closed else p.drawPolyline(QPolygonF(pixels))
                p.setPen(QPen(QColor(c.act), 1.3))
                p.setBrush(QColor(c.panel))
                for a, b in zip(pixels, [*pixels[1:], pixels[0]] if closed else pixels[1:], strict=False):
                    if (b - a).manhattanLength() > 60:
                        p.drawEllipse((a + b) / 2, 3, 3)
                for corner, q in enumerate(pixels):
                    held = self.held == (part, ring, corner)
                    p.setBrush(QColor(c.act if held else c.panel))
                    p.drawRect(QRectF(q.x() - 4.5, q.y() - 4.5, 9, 9))
        if self._dragging and self._at is not None:
            self._paint_card(p, paths, closed, c)

    def _paint_card(self, p: QPainter, paths: list[list[list[Point]]], closed: bool, c: looks.Colours) -> None:
        assert self._at is not None and self.held is not None
        at = self.to_px(self._at)
        if self._snap is not None:
            paint_snap(p, at, c)
        crossed = crossings(paths[self.held[0]][self.held[1]], closed)
        for place in crossed:
            paint_crossing(p, self.to_px(place), c)
        area = sum(ring_area_m2(r[0]) - sum(ring_area_m2(h) for h in r[1:]) for r in paths)
        lines = [f"{area / 1e4:.2f} ha"] if closed else []
        lines += [self._snap.words] if self._snap is not None else []
        lines += ["the sides cross here"] if crossed else []
        if lines:
            paint_card(p, at + QPointF(18, 18), lines, c, QRectF(self.canvas.rect()))
