"""What lies on the map's corners: tools, zoom, the scale with north and wind, the key, the layer switch."""

from collections.abc import Iterable

from PySide6.QtCore import QPoint, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QAction, QColor, QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QButtonGroup, QFrame, QGridLayout, QMenu, QVBoxLayout, QWidget

from mapper.window import looks
from mapper.window.canvas import KEY_STEP, MapCanvas
from mapper.window.controls import IconButton, Words
from mapper.window.evening import compass
from mapper.window.icons import menu_icon, paint_icon

PLACES = {"water": "Place water", "gate": "Place a gate", "house": "Place a house", "tree": "Place a tree"}


class FloatingCard(QFrame):
    """A rounded card over the map."""

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the ground and its edge."""
        c, p = looks.colours(self), QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setPen(QColor(c.line))
        p.setBrush(QColor(c.panel))
        p.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), looks.RADIUS_L, looks.RADIUS_L)


class ToolBar(FloatingCard):
    """The map's tools, one above the other."""

    def __init__(self, canvas: MapCanvas) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        column = QVBoxLayout(self)
        column.setContentsMargins(4, 4, 4, 4)
        column.setSpacing(2)
        self.buttons: dict[str, IconButton] = {}
        group = QButtonGroup(self)
        for name, tool in canvas.tools.items():
            button = self.buttons[name] = IconButton(tool.icon, tool.name, tool.key, checkable=True)
            group.addButton(button)
            column.addWidget(button)
            if name == "Place water":
                button.setAccessibleName("Place water, gate, house, tree")
                button.setToolTip("Place water, gate, house, tree  (P)")
                button.clicked.connect(self._choose_place)
            else:
                button.clicked.connect(lambda _=False, n=name: canvas.take_tool(n))
        canvas.tool_taken.connect(self._mark)
        self.buttons["Pick"].setChecked(True)
        self.offer("paddock")

    def offer(self, step: str) -> None:
        """Offer the tools of a step; a tool in hand that is not among them is laid down."""
        for name, tool in self._canvas.tools.items():
            self.buttons[name].setVisible(step in tool.steps)
        if step not in self._canvas.tool.steps:
            self._canvas.take_tool("Pick")
        self.adjustSize()

    def _mark(self, name: str) -> None:
        self.buttons[name].setChecked(True)

    def place_menu(self) -> QMenu:
        """Return the menu of what can be placed."""
        menu = QMenu(self)
        menu.setAccessibleName("What to place")
        for kind, words in PLACES.items():
            action = QAction(menu_icon(kind, looks.colours(self).ink), words, menu)
            action.triggered.connect(lambda _=False, k=kind: self.place(k))
            menu.addAction(action)
        return menu

    def place(self, kind: str) -> None:
        """Take up the tool that places a kind of thing."""
        tool = self._canvas.tools["Place water"]
        tool.kind = kind  # type: ignore[attr-defined]
        self.buttons["Place water"].icon_name = kind
        self._canvas.take_tool("Place water")
        self._canvas.session.said.emit(f"Click where the {kind} stands. Right click or Esc leaves.")

    def _choose_place(self) -> None:
        button = self.buttons["Place water"]
        menu = self.place_menu()
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.popup(button.mapToGlobal(QPoint(button.width() + 6, 0)))
        self._mark(self._canvas.tool.name)


class ZoomBar(FloatingCard):
    """Closer, farther, the whole; what the map shows; the key. Signal: key_toggled."""

    key_toggled = Signal(bool)

    def __init__(self, canvas: MapCanvas, layers: QMenu, fit: object) -> None:
        super().__init__(canvas)
        column = QVBoxLayout(self)
        column.setContentsMargins(4, 4, 4, 4)
        column.setSpacing(2)
        self._layers = layers
        closer, farther = IconButton("plus", "Closer", "+"), IconButton("minus", "Farther", "-")
        whole = IconButton("fit", "Show all of it", "F")
        self.layers = IconButton("layers", "What the map shows", "L")
        self.key = IconButton("key", "Key to the marks", "K", checkable=True)
        self.key.setChecked(True)
        closer.clicked.connect(lambda: canvas.zoom(KEY_STEP))
        farther.clicked.connect(lambda: canvas.zoom(1 / KEY_STEP))
        whole.clicked.connect(fit)
        self.layers.clicked.connect(self.open_layers)
        self.key.toggled.connect(self.key_toggled)
        self.buttons = (closer, farther, whole, self.layers, self.key)
        for button in self.buttons:
            column.addWidget(button)
        self.adjustSize()

    def open_layers(self) -> None:
        """Open the layer switch."""
        self._layers.popup(self.layers.mapToGlobal(QPoint(-self._layers.sizeHint().width() - 8, -120)))


class ScaleCard(FloatingCard):
    """A scale bar, north, and the wind at the hour shown."""

    def __init__(self, canvas: MapCanvas) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._wind: tuple[float, float] | None = None
        self.setFixedSize(258, 50)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        canvas.viewed.connect(self.update)

    def show_wind(self, wind: tuple[float, float] | None) -> None:
        """Show the wind: where it blows from (grid degrees) and km/h; None hides it."""
        self._wind = wind
        self.setAccessibleName("" if wind is None else f"Wind from {compass(wind[0])}, {wind[1]:.0f} km/h")
        self.setFixedWidth(258 if wind is not None else 190)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint bar, north and wind."""
        super().paintEvent(event)
        c, p = looks.colours(self), QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.setFont(looks.font_px(self, looks.SMALL))
        metres = self._canvas.metres_per_px() * 112
        step = 10 ** (len(str(int(max(metres, 1)))) - 1)
        length = next(k * step for k in (10, 5, 2, 1) if k * step <= max(metres, 1))
        px = length / self._canvas.metres_per_px()
        for k in range(4):
            p.setPen(QColor(c.ink))
            p.setBrush(QColor(c.ink if k % 2 == 0 else c.panel))
            p.drawRect(QRectF(14 + k * px / 4, 32, px / 4, 5))
        p.setPen(QColor(c.soft))
        p.drawText(QRectF(10, 10, 40, 18), Qt.AlignmentFlag.AlignVCenter, "0")
        unit = f"{length / 1000:g} km" if length >= 1000 else f"{length:g} m"
        p.drawText(QRectF(14 + px - 30, 10, 80, 18), Qt.AlignmentFlag.AlignVCenter, f"{unit}")
        self._north(p, c)
        if self._wind is not None:
            paint_icon(p, "arrow", QRectF(186, 13, 26, 26), c.ink, self._wind[0] + 180)
            p.setPen(QColor(c.ink))
            p.setFont(looks.font_px(self, looks.SMALL, bold=True))
            p.drawText(QRectF(217, 8, 40, 18), Qt.AlignmentFlag.AlignVCenter, compass(self._wind[0]))
            p.setFont(looks.font_px(self, looks.SMALL))
            p.drawText(QRectF(217, 25, 40, 16), Qt.AlignmentFlag.AlignVCenter, f"{self._wind[1]:.0f}")

    def _north(self, p: QPainter, c: looks.Colours) -> None:
        p.save()
        p.translate(164, 0)
        p.setPen(QColor(c.ink))
        p.setFont(looks.font_px(self, looks.SMALL, bold=True))
        p.drawText(QRectF(-10, 2, 20, 14), Qt.AlignmentFlag.AlignCenter, "N")
        p.setPen(Qt.PenStyle.NoPen)
        p.setBrush(QColor(c.ink))
        p.drawPolygon(QPolygonF([QPointF(0, 17), QPointF(-6, 44), QPointF(0, 38)]))
        p.setPen(QColor(c.ink))
        p.setBrush(QColor(c.panel))
        p.drawPolygon(QPolygonF([QPointF(0, 17), QPointF(6, 44), QPointF(0, 38)]))
        p.restore()


class KeyCard(FloatingCard):
    """The key: only the marks that the map shows now."""

    def __init__(self, canvas: MapCanvas) -> None:
        super().__init__(canvas)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(14, 8, 14, 8)
        self._grid.setHorizontalSpacing(10)
        self._grid.setVerticalSpacing(3)
        self._shown: tuple[object, ...] = ()
        self.hide()

    def show_marks(self, marks: Iterable[tuple[str, QWidget]], columns: int) -> None:
        """Show marks: words and the widget that paints the mark."""
        marks = list(marks)
        key = (columns, *(words for words, _ in marks), looks.colours(self).dark)
        if key == self._shown:
            return
        self._shown = key
        while self._grid.count():
            item = self._grid.takeAt(0)
            widget = None if item is None else item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        for k, (words, mark) in enumerate(marks):
            row, column = divmod(k, max(1, columns))
            self._grid.addWidget(mark, row, 2 * column)
            label = Words(words, "small", wrap=False)
            label.setFont(looks.font_px(label, looks.SMALL))
            self._grid.addWidget(label, row, 2 * column + 1)
        self._grid.setColumnStretch(2 * columns, 1)
        rows = -(-len(marks) // max(1, columns))
        self.setFixedHeight(22 * rows + 13)
        self.setAccessibleName("Key: " + ", ".join(words for words, _ in marks))
