"""The tool that draws: paddocks, firebreaks, roads, power lines, cover areas, corner by corner."""

from itertools import pairwise
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPen, QPolygonF

from mapper.window import edits, looks
from mapper.window.shapes import Point, crossings
from mapper.window.snap import Snap, Snapper, bearing_deg, ring_area_m2, squared
from mapper.window.state import STEPS
from mapper.window.tools import NUDGE, Tool, paint_card, paint_crossing, paint_snap
from mapper.window.typed import Typed, read_next

if TYPE_CHECKING:
    from mapper.window.canvas import MapCanvas

GRIP_PX = 9.0
# At the Rows step the row tools stand in their place.
NOT_ROWS = frozenset(STEPS) - {"rows"}


def near(a: QPointF, b: QPointF) -> bool:
    """Return True where a pointer is on a grip."""
    return (a - b).manhattanLength() <= GRIP_PX * 1.4


class DrawTool(Tool):
    """Draw a paddock, a firebreak, a road, a cover area ... corner by corner, with live area, side and bearing.

    Signals through canvas.drawing_changed; typing_wanted(text) asks the panel to take what is typed on the map.
    """

    name, key, icon = "Draw a paddock", "D", "draw"
    steps = NOT_ROWS
    words = "Click each corner. Press Enter or click the first corner to close."

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self.kind, self.shape = "paddock", "area"
        self.corners: list[Point] = []
        self.at: Point | None = None
        self.snap: Snap | None = None
        self.snap_on, self.square, self.snap_within_m = True, False, 10.0
        self.paddock_name, self.crop, self.width_m = "", "wheat", 0.0
        self._snapper = Snapper(None)

    def enter(self) -> None:
        """Begin with no corner."""
        self.corners, self.at, self.snap = [], None, None
        self._snapper = Snapper(self.session.farm)
        if self.session.farm is not None:
            self.paddock_name = edits.free_name(self.session.farm) if self.kind == "paddock" else ""
        self.canvas.drawing_changed.emit()

    def leave(self) -> None:
        """Drop the corners; the next drawing is a paddock again."""
        self.corners, self.at, self.snap = [], None, None
        self.kind, self.shape = "paddock", "area"
        self.canvas.drawing_changed.emit()

    def draw_what(self, kind: str) -> None:
        """Draw something else; corners set already stay."""
        from mapper.window.things import drawn_kinds

        named = self.kind == "paddock"
        self.kind, self.shape = kind, drawn_kinds()[kind].shape
        if named != (kind == "paddock") and self.session.farm is not None:
            self.paddock_name = edits.free_name(self.session.farm) if kind == "paddock" else ""
        if kind == "hole" and not self.session.paddock:
            self.session.said.emit("Pick the paddock first; the piece is left out of it.")
        self._changed()

    def figures(self) -> tuple[float, float, int]:
        """Return area so far (ha), way round the outside or along the line (m), corners set."""
        points = self.corners
        ring = [*points, points[0]] if self.shape == "area" and len(points) > 1 else points
        along = sum(_side(a, b) for a, b in pairwise(ring))
        return ring_area_m2(self._with_pointer()) / 1e4, along, len(points)

    def bearing(self) -> float | None:
        """Return the bearing from the last corner to the pointer, where both are known."""
        if not self.corners or self.at is None or self.at == self.corners[-1]:
            return None
        return bearing_deg(self.corners[-1], self.at)

    def understand(self, text: str) -> Typed:
        """Return the corner that a typed text means. Raises MapperError."""
        assert self.session.farm is not None
        last = self.corners[-1] if self.corners else None
        return read_next(text, last, self.bearing(), self.session.farm.grid)

    def set_typed(self, text: str) -> Typed:
        """Set the corner that a typed text means; it is brought into sight. Raises MapperError."""
        typed = self.understand(text)
        self.corners.append((typed.x, typed.y))
        self.at, self.snap = None, None
        if not self.canvas.rect().contains(self.to_px((typed.x, typed.y)).toPoint()):
            xs, ys = zip(*self.corners, strict=True)
            grow = 0.25 * max(max(xs) - min(xs), max(ys) - min(ys), 400.0)
            self.canvas.show_bounds((min(xs) - grow, min(ys) - grow, max(xs) + grow, max(ys) + grow))
        self._changed()
        return typed

    def close(self) -> bool:
        """Make what is drawn. An error is shown beside the step, a crossing marked, and the corners stay."""
        corners, name, crop, kind = list(self.corners), self.paddock_name, self.crop, self.kind
        picked, width = self.session.paddock, self.width_m
        if kind == "paddock":
            words, change = f"Draw {name or 'a paddock'}", lambda f: edits.add_paddock(f, name, corners, crop)
        elif kind == "hole":
            words, change = f"Leave a piece out of {picked}", lambda f: edits.cut_hole(f, picked, corners)
        else:
            from mapper.window.things import add_thing, drawn_kinds

            words = f"Draw {name or 'a ' + drawn_kinds()[kind].words.lower()}"
            change = lambda f: add_thing(f, kind, corners, name, width)  # noqa: E731
        if not self.edit(words, change):
            return False
        assert self.session.farm is not None
        if kind == "paddock":
            made = str(self.session.farm.paddocks["paddock"].iloc[-1])
            self.canvas.take_tool("Pick")
            self.session.pick(made)
            self.session.said.emit(f"{made} is drawn. Its rows come next.")
        else:
            self.canvas.take_tool("Pick")
            self.session.said.emit(f"Done: {words[0].lower()}{words[1:]}.")
        return True

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Set a corner, or close on the first (a line: on the last)."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        self.move(at, event)
        ends = self.corners[0] if self.shape == "area" and len(self.corners) > 2 else None
        if self.shape == "line" and len(self.corners) > 1:
            ends = self.corners[-1]
        if ends is not None and near(event.position(), self.to_px(ends)):
            self.close()
            return
        self.corners.append(self.at or at)
        self._changed()

    def double(self, at: Point, event: QMouseEvent) -> None:
        """The second click of two on one place ends the drawing."""
        self.close()

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Follow the pointer, snapping unless Alt is held."""
        alt = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        within = max(self.snap_within_m, 8 * self.canvas.metres_per_px())
        self.snap = self._snapper.find(*at, within, self.corners) if self.snap_on and not alt else None
        if self.snap is not None:
            self.at = (self.snap.x, self.snap.y)
        else:
            self.at = squared(self.corners, at) if self.square and not alt else at
        self._changed()

    def on_key(self, event: QKeyEvent) -> bool:
        """Enter closes, Backspace takes back, arrows nudge 1 m, a figure begins a typed corner, Esc leaves."""
        if event.key() in NUDGE and self.corners:
            dx, dy = NUDGE[Qt.Key(event.key())]
            x, y = self.corners[-1]
            self.corners[-1] = (x + dx, y + dy)
        elif event.text() and event.text() in "0123456789-":
            self.canvas.typing_wanted.emit(event.text())
        elif not self.line_key(event, self.corners, self.close):
            return False
        self._changed()
        return True

    def crossed(self) -> list[Point]:
        """Return where the sides drawn so far cross, the one to the pointer among them."""
        return crossings(self._with_pointer(), closed=False)

    def _changed(self) -> None:
        self.canvas.update()
        self.canvas.drawing_changed.emit()

    def _with_pointer(self) -> list[Point]:
        # On the first corner the pointer closes the ring and is no corner more.
        at = self.at if self.at is not None and self.at not in self.corners[:1] else None
        return self.corners + ([at] if at is not None else [])

    def paint(self, p: QPainter) -> None:
        """Paint the area so far, its sides with their lengths, the snap ring and the card."""
        c = looks.colours(self.canvas)
        points = [self.to_px(q) for q in self._with_pointer()]
        if not points:
            return
        area = self.shape == "area"
        fill = QColor(c.act)
        fill.setAlpha(38)
        p.setPen(Qt.PenStyle.NoPen)
        p.setBrush(fill)
        if area:
            p.drawPolygon(QPolygonF(points))
        fixed = points[: len(self.corners)]
        p.setPen(QPen(QColor(c.act), 2.2))
        p.drawPolyline(QPolygonF(fixed))
        if self.at is not None and fixed:
            p.setPen(QPen(QColor(c.act), 2, Qt.PenStyle.DashLine))
            p.drawLine(fixed[-1], self.to_px(self.at))
            p.setPen(QPen(QColor(c.act), 1.2, Qt.PenStyle.DotLine))
            if area:
                p.drawLine(points[-1], fixed[0])
        self._paint_lengths(p, fixed, c)
        p.setPen(QPen(QColor(c.act), 1.6))
        p.setBrush(QColor(c.panel))
        for q in fixed:
            p.drawRect(QRectF(q.x() - 4, q.y() - 4, 8, 8))
        crossed = self.crossed()
        for place in crossed:
            paint_crossing(p, self.to_px(place), c)
        if self.at is None:
            return
        at = self.to_px(self.at)
        if self.snap is not None:
            paint_snap(p, at, c)
        lines = self._card(crossed)
        if lines:
            paint_card(p, at + QPointF(18, 18), lines, c, QRectF(self.canvas.rect()))

    def _card(self, crossed: list[Point]) -> list[str]:
        lines = []
        if self.at is not None and self.corners:
            hectares, along, _ = self.figures()
            side = _side(self.corners[-1], self.at)
            so_far = f"{hectares:.1f} ha so far" if self.shape == "area" else f"{along + side:,.0f} m so far"
            lines = [so_far, f"this side {side:,.0f} m, bearing {bearing_deg(self.corners[-1], self.at):.0f}°"]
        if self.snap is not None:
            lines.append(self.snap.words)
        return [*lines, "the sides cross here"] if crossed else lines

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
