"""An escape tried at a place: minutes to what it would reach, and lines of equal minutes on the map."""

import math
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPen
from PySide6.QtWidgets import QVBoxLayout

from mapper.window import looks
from mapper.window.controls import PushButton, Words
from mapper.window.section import Section
from mapper.window.shapes import Point
from mapper.window.tables import PlainTable
from mapper.window.tools import Tool

if TYPE_CHECKING:
    from mapper.window.canvas import MapCanvas
    from mapper.window.window import MainWindow

AT_STEPS = frozenset({"breaks", "evening", "order"})
LINES_MIN = (5.0, 10.0, 20.0, 30.0, 60.0, 120.0)
HORIZON_MIN = 120.0


class EscapeTool(Tool):
    """Click where fire gets out."""

    name, key, icon = "Try an escape", "A", "fire"
    words = "Click where fire gets out: minutes to everything near follow, by the wind of the hour shown."
    steps = AT_STEPS

    def __init__(self, canvas: "MapCanvas") -> None:
        super().__init__(canvas)
        self.at: Point | None = None

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Take the place."""
        if event.button() == Qt.MouseButton.LeftButton:
            self.at = at
            self.canvas.escape_wanted.emit(*at)
            self.canvas.update()

    def on_key(self, event: QKeyEvent) -> bool:
        """Enter takes the map's middle, Esc leaves."""
        if event.key() == Qt.Key.Key_Escape:
            self.canvas.take_tool("Pick")
        elif event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter} and self.canvas.view is not None:
            self.at = self.canvas.view.centre
            self.canvas.escape_wanted.emit(*self.at)
            self.canvas.update()
        else:
            return False
        return True

    def paint(self, p: QPainter) -> None:
        """Mark the place."""
        if self.at is None:
            return
        c, q = looks.colours(self.canvas), self.to_px(self.at)
        p.setPen(QPen(QColor(c.stop), 2.5))
        p.setBrush(QColor(c.panel))
        p.drawEllipse(q, 7, 7)
        p.drawLine(q - QPointF(3, 3), q + QPointF(3, 3))
        p.drawLine(q - QPointF(3, -3), q + QPointF(3, -3))


class EscapePart(Section):
    """What an escape from the place clicked would reach, soonest first."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow") -> None:
        super().__init__(into)
        self._window, self.session = window, window.session
        self.rule()
        self.head = Words("", "head")
        self.add(self.head)
        self.words = Words("", "small")
        self.add(self.words)
        self.table = PlainTable("What an escape would reach", ("Reaches", "in"), (0, 72))
        self.table.chosen.connect(self._show)
        self.add(self.table)
        self.clear = PushButton("Take it off the map")
        self.clear.clicked.connect(window.escapes.clear)
        self.add(self.clear)

    def refresh(self) -> None:
        """Show the last escape tried."""
        found = self._window.escapes.found
        self.setVisible(found is not None)
        if found is None:
            return
        escape, at = found
        self.head.setText(f"Fire out here at {self._window.clock(at)}")
        reached = escape.reached
        farm = self.session.farm
        late = math.inf if farm is None else farm.limits.value("response_time", math.inf)
        taken = f" Your crew takes {late:g} min." if late < math.inf else ""
        some = "Full rate from the start, no crew, no embers flying." if len(reached) else "Nothing near is reached."
        self.words.setText(some + taken)
        self.table.setVisible(len(reached) > 0)
        self.table.show_rows([
            (str(r.name if r.what == "asset" else f"{r.name}, land"), f"{'stop' if r.minutes <= late else 'todo'}|"
             f"{r.minutes:.0f} min") for r in reached.itertuples(index=False)
        ], most=6)  # fmt: skip

    def _show(self, row: int) -> None:
        farm, found = self.session.farm, self._window.escapes.found
        if farm is None or found is None:
            return
        reached = found[0].reached.iloc[row]
        layer, key = (farm.assets, "asset") if reached["what"] == "asset" else (farm.neighbours, "neighbour")
        self._window.show_place(layer.loc[layer[key] == reached["id"]].geometry.iloc[0])


class Escapes:
    """Works an escape out off the GUI thread and hands it to map and panels."""

    def __init__(self, window: "MainWindow") -> None:
        self._window, self.session = window, window.session
        self.found: tuple[Any, Any] | None = None
        self._job = 0

    def try_at(self, x: float, y: float) -> None:
        """Follow a fire from a place (farm metres) at the hour shown."""
        s = self.session
        if s.farm is None or s.hour is None:
            s.said.emit("An escape needs a forecast: its wind decides where it goes.")
            return
        farm, hour = s.farm, s.hour
        changes = () if self._window.evening is None else self._window.evening.changes

        def work(progress: Any, cancelled: Any) -> Any:
            from mapper.plan.arrival import escape_from
            from mapper.plan.fireground import fire_ground

            ground = fire_ground(farm, hour, HORIZON_MIN * 60.0, changes)
            escape = escape_from(ground, x, y, HORIZON_MIN)
            return escape, escape.lines(LINES_MIN)

        s.said.emit("Following the fire ...")
        self._window.jobs.stop(self._job)
        step = s.step
        self._job = self._window.jobs.start(
            "escape", work, lambda made: self._take(made, hour), lambda e: s.fail(step, e)
        )

    def _take(self, made: Any, hour: Any) -> None:
        escape, lines = made
        self.found = (escape, hour)
        self._window.map.escape = lines
        soonest = f"{escape.reached['name'].iloc[0]} in {escape.reached['minutes'].iloc[0]:.0f} min" if len(
            escape.reached) else "nothing near"  # fmt: skip
        self.session.said.emit(f"An escape here would reach {soonest}.")
        self._window.refresh()

    def clear(self) -> None:
        """Take it off the map."""
        self.found, self._window.map.escape = None, None
        self._window.canvas.tools["Try an escape"].at = None  # type: ignore[attr-defined]
        self._window.refresh()
