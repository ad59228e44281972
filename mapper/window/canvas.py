"""The map on screen: the last sharp frame, shifted or scaled at once; a new one painted off the GUI thread."""

import threading
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QColor,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QTransform,
    QWheelEvent,
)  # fmt: skip
from PySide6.QtWidgets import QWidget

from mapper.window import looks
from mapper.window.corners import CornersTool
from mapper.window.drawing import DrawTool
from mapper.window.escape import EscapeTool
from mapper.window.escapepart import BurntTool
from mapper.window.fencetools import BreakTool, MergeTool, SplitTool
from mapper.window.rowtools import CutRowTool, DrawRowTool, MoveRowTool, RowEndsTool
from mapper.window.shapes import Point
from mapper.window.state import Session
from mapper.window.tools import MeasureTool, MoveTool, PickTool, PlaceTool, Tool, paint_ring

# numpy stays out of start-up too: the first frame needs none of it.
if TYPE_CHECKING:
    from mapper.draw.view import View

SETTLE_MS = 60
OVERSIZE = 1.3
WHEEL_STEP, KEY_STEP, PAN_PX = 1.2, 1.4, 60
CLOSEST_PX_PER_M, FARTHEST_PX_PER_M = 60.0, 0.004
_PAN = {
    Qt.Key.Key_Left: (PAN_PX, 0), Qt.Key.Key_Right: (-PAN_PX, 0), Qt.Key.Key_Up: (0, PAN_PX),
    Qt.Key.Key_Down: (0, -PAN_PX),
}  # fmt: skip


class MapCanvas(QWidget):
    """Signals: pointer (easting, northing), viewed (the view changed), tool_taken, drawing_changed, rows_edited,
    typing_wanted (the first figure typed while drawing), escape_wanted (easting, northing), shape_drawn (corners).

    frame_wanted(view, stop) asks the window for a frame; it answers with `take_frame`.
    """

    pointer = Signal(float, float)
    viewed = Signal()
    tool_taken = Signal(str)
    drawing_changed = Signal()
    typing_wanted = Signal(str)
    rows_edited = Signal()
    escape_wanted = Signal(float, float)
    shape_drawn = Signal(list)
    frame_wanted = Signal(object, object)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.session = session
        self.view: View | None = None
        self.free = QRectF()
        self.fitted: tuple[float, float, float, float] | None = None
        # What stands still, perhaps another for the divider's left, and what moves with the hour; each with its view.
        self._frame: tuple[View, QImage, QImage | None] | None = None
        self._over: tuple[View, QImage] | None = None
        self.divider: float | None = None
        self._stop: threading.Event | None = None
        self._ring: tuple[Any, int] | None = None
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(SETTLE_MS)
        self._settle.timeout.connect(self.ask_frame)
        self._pulse = QTimer(self)
        self._pulse.setInterval(350)
        self._pulse.timeout.connect(self._pulse_ring)
        self._dragging: QPointF | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setMinimumSize(320, 240)
        self.setAcceptDrops(False)
        kinds: tuple[type[Tool], ...] = (
            PickTool, MoveTool, DrawTool, CornersTool, SplitTool, MergeTool, BreakTool, PlaceTool, DrawRowTool,
            MoveRowTool, CutRowTool, RowEndsTool, EscapeTool, BurntTool, MeasureTool,
        )  # fmt: skip
        self.tools: dict[str, Tool] = {kind.name: kind(self) for kind in kinds}
        self.tool = self.tools["Pick"]
        self._name()

    # View --------------------------------------------------------------------------------------------------------

    def show_bounds(self, bounds: tuple[float, float, float, float]) -> None:
        """Fit a box (west, south, east, north) into the part that no card covers."""
        from mapper.draw.view import fit_view

        free = self.free if self.free.width() > 50 else QRectF(self.rect())
        fitted = fit_view(bounds, (free.width(), free.height()), 18, ratio=self.devicePixelRatioF())
        scale = min(fitted.px_per_m, 3.0)
        whole = replace(fitted, px_per_m=scale, size=(float(self.width()), float(self.height())))
        middle = QRectF(self.rect()).center()
        self.set_view(whole.moved(free.center().x() - middle.x(), free.center().y() - middle.y()))
        self.fitted = bounds

    def set_view(self, view: "View") -> None:
        """Look elsewhere. The old frame is shifted at once; a sharp one follows."""
        self.view, self.fitted = view, None
        self._settle.start()
        self.viewed.emit()
        self.update()

    def pan_px(self, right: float, down: float) -> None:
        """Move the map by so many pixels."""
        if self.view is not None:
            self.set_view(self.view.moved(right, down))

    def zoom(self, factor: float, at: QPointF | None = None) -> None:
        """Zoom about a point of the widget (its middle if none)."""
        if self.view is None:
            return
        at = at or QRectF(self.rect()).center()
        scale = min(max(self.view.px_per_m * factor, FARTHEST_PX_PER_M), CLOSEST_PX_PER_M)
        self.set_view(self.view.zoomed(scale / self.view.px_per_m, (at.x(), at.y())))

    def metres_per_px(self) -> float:
        """Return the size of a pixel in metres."""
        return 1.0 / self.view.px_per_m if self.view is not None else 1.0

    def to_px(self, at: Point) -> QPointF:
        """Return a place (farm metres) on the widget."""
        assert self.view is not None
        x, y = self.view.to_px(at[0], at[1])  # type: ignore[arg-type]
        return QPointF(float(x), float(y))

    def from_px(self, at: QPointF) -> Point:
        """Return the place (farm metres) under a point of the widget."""
        assert self.view is not None
        x, y = self.view.from_px(at.x(), at.y())  # type: ignore[arg-type]
        return float(x), float(y)

    # Frames ------------------------------------------------------------------------------------------------------

    def ask_frame(self) -> None:
        """Ask for a sharp frame, a little larger than the widget; an older job is told to stop."""
        if self.view is None or not self.isVisible():
            return
        if self._stop is not None:
            self._stop.set()
        self._stop = threading.Event()
        size = (round(self.width() * OVERSIZE), round(self.height() * OVERSIZE))
        self.frame_wanted.emit(replace(self.view, size=size, ratio=self.devicePixelRatioF()), self._stop)

    def refresh(self) -> None:
        """The layers changed: ask for a frame soon."""
        self._settle.start()

    def take_frame(self, view: "View", image: QImage, left: QImage | None, over: QImage) -> None:
        """Take a frame painted for a view: what stands still, what shows left of the divider, what moves."""
        self._frame, self._over = (view, image, left), (view, over)
        self.update()

    def take_moving(self, view: "View", over: QImage) -> None:
        """Take a picture of what moves with the hour."""
        if view == self.frame_view:
            self._over = (view, over)
            self.update()

    @property
    def frame_view(self) -> "View | None":
        """The view that the last frame was painted for."""
        return None if self._frame is None else self._frame[0]

    def forget_frame(self) -> None:
        """Drop the frame (another farm, other colours)."""
        self._frame = self._over = None
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Lay the last frame into the view, then what the tool and the session mark."""
        c, p = looks.colours(self), QPainter(self)
        p.fillRect(self.rect(), QColor(c.ground))
        if self.view is None:
            return
        if self._frame is not None:
            older, image, left = self._frame
            self._lay(p, image, older)
            if left is not None and self.divider is not None:
                p.save()
                p.setClipRect(QRectF(0, 0, self.divider, self.height()))
                self._lay(p, left, older)
                p.restore()
            if self._over is not None:
                self._lay(p, self._over[1], self._over[0])
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_picked(p, c)
        self.tool.paint(p)
        if self._ring is not None:
            paint_ring(p, c, self._box_of(self._ring[0]), self._ring[1])

    def _lay(self, p: QPainter, image: QImage, older: "View") -> None:
        assert self.view is not None
        m11, m12, m21, m22, dx, dy = self.view.affine_from(older)
        p.save()
        if abs(m11 - 1) < 1e-9:
            ratio = self.devicePixelRatioF()
            p.drawImage(QPointF(round(dx * ratio) / ratio, round(dy * ratio) / ratio), image)
        else:
            p.setTransform(QTransform(m11, m12, m21, m22, dx, dy), True)
            p.drawImage(QPointF(0, 0), image)
        p.restore()

    def _paint_picked(self, p: QPainter, c: looks.Colours) -> None:
        from mapper.window.overlay import picked_rows

        assert self.view is not None
        for path in picked_rows(self.session, self.view):
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.setPen(QPen(QColor(c.panel), 6))
            p.drawPath(path)
            p.setPen(QPen(QColor(c.focus), 3))
            p.drawPath(path)

    # Showing a place -----------------------------------------------------------------------------------------------

    def show_place(self, where: Any) -> None:
        """Go to a geometry and ring it for a moment."""
        x0, y0, x1, y1 = where.bounds
        if self.view is None or not self._well_seen((x0, y0, x1, y1)):
            grow = max(80.0, 0.4 * max(x1 - x0, y1 - y0))
            self.show_bounds((x0 - grow, y0 - grow, x1 + grow, y1 + grow))
        self._ring = (where, 8)
        self._pulse.start()
        self.update()

    def mark_place(self, at: Point) -> None:
        """Ring a place for a moment; go there only where it is out of sight."""
        from shapely import Point as Spot

        if self.view is None or not self.rect().contains(self.to_px(at).toPoint()):
            self.show_place(Spot(at))
        self._ring = (Spot(at), 8)
        self._pulse.start()
        self.update()

    def _well_seen(self, box: tuple[float, float, float, float]) -> bool:
        a, b = self.to_px((box[0], box[3])), self.to_px((box[2], box[1]))
        return self.rect().adjusted(40, 40, -40, -40).contains(QRectF(a, b).toAlignedRect()) and b.x() - a.x() > 12

    def _box_of(self, where: Any) -> QRectF:
        x0, y0, x1, y1 = where.bounds
        return QRectF(self.to_px((x0, y1)), self.to_px((x1, y0)))

    def _pulse_ring(self) -> None:
        if self._ring is not None:
            where, left = self._ring
            self._ring = (where, left - 1) if left > 1 else None
        if self._ring is None:
            self._pulse.stop()
        self.update()

    # What is where -------------------------------------------------------------------------------------------------

    def what_is_at(self, at: Point) -> tuple[str, str, str]:
        """Return paddock, row and block at a place; empty where there is none."""
        from mapper.window.overlay import found_at

        return found_at(self.session, at, 6 * self.metres_per_px())

    # Tools ---------------------------------------------------------------------------------------------------------

    def take_tool(self, name: str) -> None:
        """Take up a tool by its name."""
        tool = self.tools[name]
        if tool is not self.tool:
            self.tool.leave()
            self.tool = tool
        self.setCursor(tool.cursor)
        self._name()
        if self.session.farm is not None:
            tool.enter()
        self.session.said.emit(tool.words)
        self.tool_taken.emit(name)
        self.update()

    def _name(self) -> None:
        self.setAccessibleName(f"Map, {self.tool.name}")

    # Events --------------------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the middle of the map in the middle."""
        if self.view is not None:
            fitted = self.fitted
            self.set_view(replace(self.view, size=(float(self.width()), float(self.height()))))
            self.fitted = fitted

    def fit_again(self) -> None:
        """After the free part has changed: fit again what was fitted and has not been moved since."""
        if self.fitted is not None:
            self.show_bounds(self.fitted)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the palette."""
        if event.type() == QEvent.Type.PaletteChange:
            self._settle.start()
        super().changeEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom about the pointer."""
        self.zoom(WHEEL_STEP ** (event.angleDelta().y() / 120), event.position())
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Hand it to the tool; the middle button moves the map, the right one leaves a tool."""
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        if self.view is None:
            return
        if event.button() == Qt.MouseButton.MiddleButton:
            self._dragging = event.position()
        elif event.button() == Qt.MouseButton.RightButton and self.tool.name != "Pick":
            self.take_tool("Pick")
        else:
            self.tool.press(self.from_px(event.position()), event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the pointer."""
        if self.view is None:
            return
        if self._dragging is not None:
            step = event.position() - self._dragging
            self._dragging = event.position()
            self.pan_px(step.x(), step.y())
            return
        at = self.from_px(event.position())
        self.pointer.emit(*at)
        self.tool.move(at, event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        if event.button() == Qt.MouseButton.MiddleButton:
            self._dragging = None
        elif self.view is not None:
            self.tool.release(self.from_px(event.position()), event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Hand it to the tool."""
        if self.view is not None:
            self.tool.double(self.from_px(event.position()), event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """The tool first; then plus and minus zoom, arrows move the map, Esc picks."""
        if self.view is None or self.tool.on_key(event):
            return
        if event.key() in {Qt.Key.Key_Plus, Qt.Key.Key_Equal}:
            self.zoom(KEY_STEP)
        elif event.key() == Qt.Key.Key_Minus:
            self.zoom(1 / KEY_STEP)
        elif event.key() in _PAN:
            self.pan_px(*_PAN[Qt.Key(event.key())])
        elif event.key() == Qt.Key.Key_Escape:
            self.session.pick("")
        else:
            super().keyPressEvent(event)
