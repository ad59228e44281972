"""The desktop program's one window: bar, map, panel, strip and foot, and what joins them."""

from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QRectF, QSettings, QTimer
from PySide6.QtGui import (
    QAction,
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QKeySequence,
    QResizeEvent,
    QShortcut,
    QShowEvent,
)
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QMainWindow, QMenu, QStackedWidget, QVBoxLayout, QWidget

from mapper.farm.errors import MapperError
from mapper.window import bring, looks
from mapper.window.ask import ask_to_save, pick_one, say_read
from mapper.window.canvas import MapCanvas
from mapper.window.cards import KeyCard, ScaleCard, ToolBar, ZoomBar
from mapper.window.evening import Evening, evening_of
from mapper.window.jobs import Jobs
from mapper.window.pages import PageView, sheet_names
from mapper.window.panel import StepPanel
from mapper.window.panel_breaks import BreaksPanel
from mapper.window.panel_evening import EveningPanel
from mapper.window.panel_order import OrderPanel
from mapper.window.panel_paddock import PaddockPanel
from mapper.window.panel_rows import RowsPanel
from mapper.window.panel_sheets import SheetsPanel
from mapper.window.state import STEPS, Session
from mapper.window.status import StatusLine
from mapper.window.strip import EveningStrip
from mapper.window.walk import TopBar
from mapper.window.welcome import Welcome

if TYPE_CHECKING:
    from mapper.window.bring import Brought

# Parts of the map that can be switched off, with their words (draw/scene.py, PARTS).
SWITCHES = {
    "image": "Picture behind the map", "names": "Names", "track": "Log points", "neighbours": "Neighbours",
    "buffers": "Care distances", "smoke": "Smoke", "breaks": "Breaks", "edges": "Exposed edges", "blocks": "Blocks",
    "windrows": "Rows", "pieces": "Rows in order", "lighting": "Where to light", "ways_out": "Ways out",
    "power_lines": "Power lines", "symbols": "Houses, gates, water",
}  # fmt: skip
STAGE_WORDS = {
    "rows": "Finding rows", "hours": "Judging the hours", "ground": "Checking breaks", "order": "Working out the order",
    "smoke": "Following the smoke",
}  # fmt: skip


class MainWindow(QMainWindow):
    """Owns the session, the pool and every view of them."""

    def __init__(self, session: Session | None = None) -> None:
        super().__init__()
        self.session = session or Session(parent=self)
        self.jobs = Jobs(self)
        self.evening: Evening | None = None
        self._scene: Any = None
        self._hidden: set[str] = {"track"}
        self._work = 0
        self._closing = False
        self.setAcceptDrops(True)
        self.resize(1440, 900)
        self.setMinimumSize(1000, 640)
        self.menu = QMenu(self)
        self.menu.aboutToShow.connect(self._fill_menu)
        self.layer_menu = QMenu(self)
        self._fill_layers()
        self.canvas = MapCanvas(self.session)
        self.top = TopBar(self.session, self.menu)
        self.strip = EveningStrip()
        self.status = StatusLine(self.session)
        self.pages = PageView(self)
        self.welcome = Welcome(self.canvas)
        self.tools = ToolBar(self.canvas)
        self.scale_card = ScaleCard(self.canvas)
        self.key_card = KeyCard(self.canvas)
        self.zoom_bar = ZoomBar(self.canvas, self.layer_menu, self.show_all)
        kinds = (PaddockPanel, RowsPanel, BreaksPanel, EveningPanel, OrderPanel, SheetsPanel)
        self.panels: dict[str, StepPanel] = {kind.step: kind(self) for kind in kinds}
        self._lay_out()
        self._join()
        self._keys()
        self.refresh()

    # Layout --------------------------------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        self.side = QStackedWidget()
        self.side.setFixedWidth(looks.PANEL_PX)
        for step in STEPS:
            self.side.addWidget(self.panels[step])
        self.centre = QStackedWidget()
        self.centre.addWidget(self.canvas)
        self.centre.addWidget(self.pages)
        left = QVBoxLayout()
        left.setSpacing(0)
        left.addWidget(self.centre, 1)
        left.addWidget(self.strip)
        middle = QHBoxLayout()
        middle.setSpacing(0)
        middle.addLayout(left, 1)
        edge = QWidget()
        edge.setFixedWidth(1)
        edge.setAutoFillBackground(True)
        edge.setBackgroundRole(edge.backgroundRole().Mid)
        middle.addWidget(edge)
        middle.addWidget(self.side)
        whole = QVBoxLayout()
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addWidget(self.top)
        whole.addLayout(middle, 1)
        whole.addWidget(self.status)
        holder = QWidget()
        holder.setLayout(whole)
        self.setCentralWidget(holder)
        self._tab_order()

    def _tab_order(self) -> None:
        """Let Tab follow the eye: bar, tools, map, zoom, strip, panel."""
        order: list[QWidget] = [
            self.top.switch, *self.top.steps.values(), self.top.undo, self.top.redo, self.top.print,
            *self.tools.buttons.values(), self.canvas, *self.zoom_bar.buttons, self.strip.table,
        ]  # fmt: skip
        for a, b in pairwise(order):
            QWidget.setTabOrder(a, b)

    def _place_cards(self) -> None:
        """Put the cards on the map's corners and tell the map which part stays free."""
        w, h, gap = self.canvas.width(), self.canvas.height(), looks.GAP_L
        self.tools.move(gap, gap)
        self.zoom_bar.move(w - self.zoom_bar.width() - gap, h - self.zoom_bar.height() - gap)
        self.scale_card.move(gap, h - self.scale_card.height() - gap)
        left = self.scale_card.x() + self.scale_card.width() + 10
        room = self.zoom_bar.x() - 10 - left
        self.key_card.setFixedWidth(max(100, room))
        self.key_card.move(left, h - self.key_card.height() - gap)
        self.welcome.setGeometry(self.canvas.rect())
        foot = max(self.scale_card.height(), self.key_card.height() if self.key_card.isVisible() else 0) + gap + 8
        left_edge = self.tools.x() + self.tools.width() + 8
        free = QRectF(left_edge, 8, self.zoom_bar.x() - 8 - left_edge, h - foot - 8)
        if free != self.canvas.free:
            self.canvas.free = free
            self.canvas.fit_again()

    def showEvent(self, event: QShowEvent) -> None:
        """Begin on the map."""
        super().showEvent(event)
        self.canvas.setFocus()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the cards in their corners."""
        super().resizeEvent(event)
        self._placing.start()

    # Joining -------------------------------------------------------------------------------------------------------

    def _join(self) -> None:
        s = self.session
        self.top.step.connect(s.go_to)
        self.top.print_wanted.connect(self.print_sheets)
        s.farm_changed.connect(self.refresh)
        s.plan_changed.connect(self.refresh)
        s.picked.connect(self.refresh)
        s.hour_changed.connect(self._show_hour)
        self.canvas.frame_wanted.connect(self._paint_frame)
        self.canvas.pointer.connect(self._show_pointer)
        self.canvas.viewed.connect(self._show_scale)
        self.canvas.tool_taken.connect(lambda _: self._tool_taken())
        self.canvas.drawing_changed.connect(self.panels["paddock"].refresh)
        self.zoom_bar.key_toggled.connect(lambda _: self._show_key())
        self.strip.table.hour_wanted.connect(s.show_hour)
        self.strip.table.block_picked.connect(lambda p, b: s.pick(p, "", b))
        s.undo.cleanChanged.connect(lambda _: self._title())
        self._placing = QTimer(self)
        self._placing.setSingleShot(True)
        self._placing.timeout.connect(self._place_cards)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self._refresh_now)

    def _keys(self) -> None:
        s = self.session
        for keys, name, call in (
            ("Ctrl+Z", "Take back", s.undo.undo), ("Ctrl+Shift+Z", "Do again", s.undo.redo),
            ("Ctrl+Y", "Do again", s.undo.redo), ("Ctrl+O", "Open a farm", self.open_farm),
            ("Ctrl+S", "Save", self.save), ("Ctrl+Shift+S", "Save as", self.save_as),
            ("Ctrl+P", "Print sheets", self.print_sheets), ("Ctrl+B", "Open a boundary file", self.open_boundary),
            ("Ctrl+L", "Bring in a harvester log", self.open_logs), ("Ctrl+F", "Open a forecast", self.open_forecast),
            ("Ctrl+Return", "Work out", self.work_out), ("F", "Show all of it", self.show_all),
            ("L", "What the map shows", self.zoom_bar.open_layers), ("K", "Key to the marks", self.zoom_bar.key.toggle),
        ):  # fmt: skip
            self._shortcut(keys, name, call)
        for name, tool in self.canvas.tools.items():
            self._shortcut(tool.key, name, lambda n=name: self.canvas.take_tool(n))

    def _shortcut(self, keys: str, name: str, call: Any) -> None:
        shortcut = QShortcut(QKeySequence(keys), self)
        shortcut.setObjectName(name)
        shortcut.setWhatsThis(name)
        shortcut.activated.connect(call)

    def _fill_menu(self) -> None:
        """Fill the paddock switch's menu: paddocks, then the farm's files."""
        self.menu.clear()
        farm = self.session.farm
        if farm is not None and len(farm.paddocks):
            self._action("All paddocks", "", lambda: self.session.pick(""))
            for name in farm.paddocks["paddock"]:
                self._action(str(name), "", lambda n=str(name): self.show_paddock(n))
            self.menu.addSeparator()
        for words, keys, call, on in (
            ("Open a farm ...", "Ctrl+O", self.open_farm, True),
            ("Open the sample farm (invented)", "", self.open_sample, True),
            ("Save", "Ctrl+S", self.save, farm is not None),
            ("Save as ...", "Ctrl+Shift+S", self.save_as, farm is not None),
            ("", "", None, True),
            ("Bring in boundaries ...", "Ctrl+B", self.open_boundary, True),
            ("Bring in a harvester log ...", "Ctrl+L", self.open_logs, farm is not None),
            ("Bring in a forecast ...", "Ctrl+F", self.open_forecast, farm is not None),
            ("Bring in houses, lines, trees ...", "", lambda: self.open_layer("assets"), farm is not None),
            ("Bring in neighbours ...", "", lambda: self.open_layer("neighbours"), farm is not None),
            ("Bring in breaks ...", "", lambda: self.open_layer("breaks_there"), farm is not None),
            ("Bring in local limits ...", "", self.open_limits, farm is not None),
            ("Bring in a picture ...", "", lambda: self.open_raster("image"), farm is not None),
            ("Bring in elevation ...", "", lambda: self.open_raster("elevation"), farm is not None),
            ("", "", None, True),
            ("Light or dark", "", self.turn_looks, True),
        ):
            if not words:
                self.menu.addSeparator()
                continue
            self._action(words, keys, call).setEnabled(on)

    def _action(self, words: str, keys: str, call: Any) -> QAction:
        action = QAction(words + (f"\t{keys}" if keys else ""), self.menu)
        action.triggered.connect(lambda _=False: call())
        self.menu.addAction(action)
        return action

    def _fill_layers(self) -> None:
        for part, words in SWITCHES.items():
            action = QAction(words, self.layer_menu, checkable=True)
            action.setChecked(part not in self._hidden)
            action.toggled.connect(lambda on, p=part: self._switch(p, on))
            self.layer_menu.addAction(action)

    def _switch(self, part: str, on: bool) -> None:
        (self._hidden.discard if on else self._hidden.add)(part)
        self._new_scene()

    # Showing -------------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the session soon: several changes in a row are shown once."""
        if hasattr(self, "_soon"):
            self._soon.start()
        else:
            self._refresh_now()

    def _refresh_now(self) -> None:
        s = self.session
        self.side.setCurrentWidget(self.panels[s.step])
        self.panels[s.step].update_all()
        self.centre.setCurrentWidget(self.pages if s.step == "sheets" and s.plan is not None else self.canvas)
        if s.step == "sheets" and s.plan is not None:
            self.pages.show_plan(s.plan, self.panels["sheets"].paper.currentText())  # type: ignore[attr-defined]
        self.strip.setVisible(self.centre.currentWidget() is self.canvas)
        has = s.farm is not None and not s.farm.paddocks.empty
        drawing = self.canvas.tool.name == "Draw a paddock"
        self.welcome.setVisible(not has and not drawing)
        self.scale_card.setVisible(has or drawing)
        if s.farm is not None and self.canvas.view is None and has:
            self.show_all()
        self._show_evening()
        self._new_scene()
        self._title()
        self._placing.start()

    def _title(self) -> None:
        s = self.session
        name = "mapper" if s.farm is None else s.farm.name
        self.setWindowTitle(f"{name}[*]" if s.farm is None else f"{name}[*] - mapper")
        self.setWindowModified(s.dirty)

    def _show_evening(self) -> None:
        s = self.session
        self.evening = None
        if s.farm is not None and s.night is not None:
            self.evening = evening_of(s.plan, s.workings, s.farm, s.night)
        stale = s.plan is not None and "order" in s.stale
        self.strip.show_evening(self.evening, stale)
        self.strip.table.block = (s.paddock, s.block)
        if s.hour is None and self.evening is not None:
            windows = self.evening.windows
            s.hour = windows[0].starts_at if windows else self.evening.sunset
        self.strip.table.show_shown(s.hour if self.evening is not None else None)
        self._show_wind()

    def _show_wind(self) -> None:
        wind = None
        if self.evening is not None and self.session.hour is not None:
            row = self.evening.at(self.session.hour)
            if row["wind_from_deg"] == row["wind_from_deg"]:
                wind = (float(row["wind_from_deg"]), float(row["wind_km_h"]))
        self.scale_card.show_wind(wind)

    def _show_hour(self) -> None:
        if self.evening is not None:
            self.strip.table.show_shown(self.session.hour)
            self._show_wind()
            self._new_scene()

    def _new_scene(self) -> None:
        """Gather the layers anew and ask for a frame; levels already made are kept."""
        if self.session.farm is None:
            return
        from mapper.draw.scene import Scene
        from mapper.window.frames import map_layers

        layers = map_layers(self.session, self.evening, "track" not in self._hidden)
        kept = {} if self._scene is None else dict(self._scene._kept)
        self._scene = Scene(layers, kept)
        self._show_key()
        self.canvas.refresh()

    def _paint_frame(self, view: Any, stop: Any) -> None:
        if self._scene is None or self.session.farm is None:
            return
        from mapper.window.frames import Ask, paint_frame
        from mapper.window.signs import signs_of

        farm = self.session.farm
        ask = Ask(
            view, self._scene, looks.colours(self), frozenset(self._hidden), signs_of(self.session, self.clock),
            farm.image, farm.grid.crs, self._picked_shape(),
        )  # fmt: skip
        self.jobs.start(
            "frame", lambda progress, cancelled: paint_frame(ask, lambda: cancelled() or stop.is_set()),
            lambda image: self.canvas.take_frame(image, view), failed=self._frame_failed, urgent=True,
        )  # fmt: skip

    def _picked_shape(self) -> Any:
        farm, name = self.session.farm, self.session.paddock
        if farm is None or not name:
            return None
        return farm.paddock(name).geometry

    def _frame_failed(self, error: MapperError) -> None:
        self.session.said.emit(str(error))

    def clock(self, at: Any) -> str:
        """Return a time as on a clock in the farm's zone."""
        import pandas as pd

        zone = self.session.farm.zone if self.session.farm is not None else "UTC"
        return f"{pd.Timestamp(at).tz_convert(zone):%H:%M}"

    def _show_pointer(self, x: float, y: float) -> None:
        self.status.show_place(x, y, self.canvas.metres_per_px(), self._px_per_inch())

    def _show_scale(self) -> None:
        self.status.show_scale(self.canvas.metres_per_px(), self._px_per_inch())

    def _px_per_inch(self) -> float:
        return float(self.screen().logicalDotsPerInch()) if self.screen() is not None else 96.0

    def _show_key(self) -> None:
        from mapper.window.keymarks import marks_of

        on = self.zoom_bar.key.isChecked() and self._scene is not None
        marks = marks_of(self._scene, self._hidden) if on else []
        self.key_card.setVisible(bool(marks))
        if marks:
            room = max(100, self.key_card.width())
            self.key_card.show_marks(marks, max(1, min(5, (room - 28) // 150)))
        self._place_cards()

    def show_all(self) -> None:
        """Fit the picked paddock, or all of them, into the free part of the map."""
        farm = self.session.farm
        if farm is None or farm.paddocks.empty:
            return
        self._place_cards()
        some = farm.paddocks
        if self.session.paddock:
            some = some[some["paddock"] == self.session.paddock]
        self.canvas.show_bounds(tuple(some.total_bounds))

    def show_paddock(self, name: str) -> None:
        """Pick a paddock and go there."""
        self.session.pick(name)
        self.show_all()

    def show_place(self, where: Any) -> None:
        """Go to a geometry and ring it."""
        self.centre.setCurrentWidget(self.canvas)
        self.canvas.show_place(where)

    def _tool_taken(self) -> None:
        if self.canvas.tool.name == "Draw a paddock" and self.session.step != "paddock":
            self.session.go_to("paddock")
        self.refresh()

    # Working -------------------------------------------------------------------------------------------------------

    def work_out(self, stages: tuple[str, ...] = ()) -> None:
        """Work out some stages, or the whole plan, off the GUI thread."""
        s = self.session
        if s.farm is None or s.working:
            return
        step = {"rows": "rows", "hours": "evening", "ground": "breaks"}.get(stages[-1] if stages else "", "order")
        try:
            request = s.request()
        except MapperError as error:
            if stages != ("rows",):
                s.fail("evening", error)
                return
            from mapper.plan.request import NightRequest

            request = NightRequest(s.now().date(), s.now())
        farm, workings = s.farm, s.workings
        s.working = True
        s.clear_error(step)
        words = {"now": ""}

        def work(progress: Any, cancelled: Any) -> Any:
            from mapper.plan.job import run
            from mapper.plan.job import work as part

            def tell(stage: str, done: int, total: int) -> None:
                words["now"] = STAGE_WORDS[stage]
                progress(done, total)

            if not stages:
                return run(farm, request, workings, tell, cancelled)
            return None, part(farm, request, workings, stages, tell, cancelled)

        self._work = self.jobs.start(
            "plan", work, self._worked, lambda e: self._not_worked(step, e),
            lambda done, total: self.panels[s.step].progress.show_done(words["now"], done, total), self._stopped,
        )  # fmt: skip
        s.said.emit("Working. You can go on drawing; the last good plan stays on the map.")
        s.plan_changed.emit()

    def _worked(self, result: Any) -> None:
        plan, workings = result
        self.session.working = False
        if plan is not None:
            self.session.take_plan(plan, workings)
            self.session.said.emit(f"Plan {plan.number} is worked out.")
        else:
            self.session.take_workings(workings)
            self.session.said.emit("Done.")

    def _not_worked(self, step: str, error: MapperError) -> None:
        self.session.working = False
        self.session.fail(step, error)

    def _stopped(self) -> None:
        self.session.working = False
        self.session.said.emit("Stopped. Nothing was changed.")
        self.session.plan_changed.emit()

    def stop_working(self) -> None:
        """Ask the work in hand to stop."""
        self.jobs.stop(self._work)
        self.session.said.emit("Stopping ...")

    # Files ---------------------------------------------------------------------------------------------------------

    def _folder(self) -> str:
        return str(QSettings("mapper", "mapper").value("folder", str(Path.home())))

    def _ask_file(self, words: str, kinds: str, several: bool = False) -> list[str]:
        if several:
            paths, _ = QFileDialog.getOpenFileNames(self, words, self._folder(), kinds)
        else:
            path, _ = QFileDialog.getOpenFileName(self, words, self._folder(), kinds)
            paths = [path] if path else []
        if paths:
            QSettings("mapper", "mapper").setValue("folder", str(Path(paths[0]).parent))
        return paths

    def bring_in(self, work: Any, step: str) -> None:
        """Read a file off the GUI thread; the farm changes only when all of it was read."""
        self.session.said.emit("Reading ...")
        self.session.clear_error(step)
        self.jobs.start(
            "read", work, lambda brought: self._brought(brought, step), lambda e: self._not_read(step, e),
            lambda done, total: self.session.said.emit(f"Reading, {done / max(total, 1):.0%}"),
        )  # fmt: skip

    def _brought(self, brought: "Brought", step: str) -> None:
        first = self.session.farm is None or self.session.farm.paddocks.empty
        if brought.name and self.session.farm is not None:
            self.session.edit(brought.name, brought.farm)
        else:
            self.session.take_farm(brought.farm, brought.path)
            self.canvas.view = None
            self.canvas.forget_frame()
        if first or self.canvas.view is None:
            self._refresh_now()
            self.show_all()
        lines = [line for report in brought.reports for line in report.lines()]
        self.session.said.emit(lines[0] if lines else "Read.")
        if any(r.repaired or r.refused for r in brought.reports) and brought.name:
            say_read(self, lines)
        if self.session.farm is not None and self.session.farm.forecast is not None:
            self.work_out(("hours",))

    def _not_read(self, step: str, error: MapperError) -> None:
        self.session.said.emit("Nothing was read; the farm is as it was.")
        self.session.fail(step, error)

    def open_path(self, path: str) -> None:
        """Open a file by what it is, as when it is dropped on the window."""
        kind, farm = bring.kind_of(path), self.session.farm
        if kind == "farm":
            self.bring_in(bring.open_farm(path), "paddock")
        elif kind == "vectors":
            layer = "paddocks"
            if farm is not None and len(farm.paddocks):
                layer = pick_one(self, "What does this file hold?", {
                    "paddocks": "Paddocks", "assets": "Houses, lines, trees", "neighbours": "Neighbours",
                    "breaks_there": "Breaks",
                })  # fmt: skip
            if layer:
                self.bring_in(bring.open_vectors(path, layer, farm), "paddock")
        elif farm is None or farm.paddocks.empty:
            wrong = MapperError("a boundary comes first", Path(path).name, "Open a boundary file, then this one")
            self.session.fail("paddock", wrong)
        elif kind == "raster":
            what = pick_one(self, "What does this file hold?", {"image": "A picture", "elevation": "Elevation"})
            if what:
                self.bring_in(bring.open_raster(path, what, farm), "paddock")
        elif kind == "forecast":
            self.bring_in(bring.open_forecast(path, farm), "evening")
        elif kind in {"log", "taskdata"}:
            self.bring_in_logs([path])
        else:
            self.session.fail("paddock", MapperError("this kind of file is not known", Path(path).name, "Open another"))

    def open_farm(self) -> None:
        """Ask for a farm and open it."""
        if self._may_leave():
            for path in self._ask_file("Open a farm", bring.FARMS):
                self.bring_in(bring.open_farm(path), "paddock")

    def open_sample(self) -> None:
        """Open the invented sample farm."""
        from mapper.carried import carried

        if self._may_leave():
            self.bring_in(bring.open_farm(str(carried("sample_data", "farm.toml"))), "paddock")

    def open_boundary(self) -> None:
        """Ask for a boundary file."""
        self.open_layer("paddocks")

    def open_layer(self, kind: str) -> None:
        """Ask for a file of shapes and bring a layer in."""
        for path in self._ask_file("Bring in", bring.VECTORS):
            self.bring_in(bring.open_vectors(path, kind, self.session.farm), "paddock")

    def open_logs(self) -> None:
        """Ask for harvester logs."""
        if self.session.farm is not None:
            paths = self._ask_file("Bring in a harvester log", bring.TABLES, several=True)
            if paths:
                self.bring_in_logs(paths)

    def bring_in_logs(self, paths: list[str]) -> None:
        """Show how the columns are taken; read once that is agreed to."""
        from mapper.window.columns import ask_columns

        assert self.session.farm is not None
        try:
            agreed = ask_columns(self, paths, self.session.farm)
        except MapperError as error:
            self._not_read("rows", error)
            return
        if agreed is not None:
            self.bring_in(bring.open_tracks(paths, self.session.farm, *agreed), "rows")

    def open_forecast(self) -> None:
        """Ask for a forecast."""
        farm = self.session.farm
        if farm is None or farm.paddocks.empty:
            self.session.fail("evening", MapperError("a boundary comes first", "forecast", "Open or draw a paddock"))
            return
        for path in self._ask_file("Open a forecast", bring.TABLES):
            self.bring_in(bring.open_forecast(path, farm), "evening")

    def open_raster(self, kind: str) -> None:
        """Ask for a picture or an elevation model."""
        if self.session.farm is not None:
            for path in self._ask_file("Bring in", bring.RASTERS):
                self.bring_in(bring.open_raster(path, kind, self.session.farm), "paddock")

    def open_limits(self) -> None:
        """Ask for a file of local limits."""
        from mapper.files.limits import read_limits

        farm = self.session.farm
        for path in self._ask_file("Bring in local limits", "Local limits (*.toml)"):
            try:
                assert farm is not None
                self.session.edit(f"Bring in {Path(path).name}", farm.with_(limits=read_limits(path)))
            except MapperError as error:
                self._not_read("evening", error)

    def change_limits(self, key: str = "") -> None:
        """Open the list of local limits."""
        from mapper.window.limits import LimitsDialog

        if self.session.farm is not None:
            LimitsDialog(self, key).exec()

    def draw_paddock(self) -> None:
        """Begin to draw; without a farm the place must be known first."""
        if self.session.farm is None:
            from mapper.window.newfarm import ask_new_farm

            farm = ask_new_farm(self)
            if farm is None:
                return
            made, centre = farm
            self.session.take_farm(made)
            self._refresh_now()
            self.canvas.show_bounds((centre[0] - 900, centre[1] - 700, centre[0] + 900, centre[1] + 700))
        self.canvas.take_tool("Draw a paddock")
        self.canvas.setFocus()

    def save(self) -> bool:
        """Save where the farm came from, or ask."""
        if self.session.farm is None:
            return False
        if not self.session.path:
            return self.save_as()
        return self._save_to(self.session.path)

    def save_as(self) -> bool:
        """Ask where to save."""
        if self.session.farm is None:
            return False
        name = self.session.farm.name.replace("/", "-")
        path, _ = QFileDialog.getSaveFileName(self, "Save the farm", f"{self._folder()}/{name}.gpkg", "Farms (*.gpkg)")
        if not path:
            return False
        return self._save_to(path if path.endswith(".gpkg") else f"{path}.gpkg")

    def _save_to(self, path: str) -> bool:
        assert self.session.farm is not None
        self.jobs.start(
            "save", bring.save_farm(self.session.farm, path, self.session.plan), self._saved,
            lambda e: self.session.fail(self.session.step, e),
        )  # fmt: skip
        return True

    def _saved(self, path: str) -> None:
        self.session.mark_saved(path)
        self.session.said.emit(f"Saved as {Path(path).name}.")

    # Paper ---------------------------------------------------------------------------------------------------------

    def sheet_list(self) -> list[tuple[str, str]]:
        """Return the sheets of the plan, name and purpose."""
        return [] if self.session.plan is None else sheet_names(self.session.plan)

    def show_sheet(self, k: int = -1) -> None:
        """Show a sheet in the middle (the one shown, on other paper, where none is named)."""
        if self.session.plan is not None:
            self.pages.show_plan(self.session.plan, self.panels["sheets"].paper.currentText(), k)  # type: ignore[attr-defined]

    def save_pdf(self) -> None:
        """Ask for a folder and write the sheets into it."""
        if self.session.may_print:
            folder = QFileDialog.getExistingDirectory(self, "Save the sheets in", self._folder())
            if folder:
                self.write_sheets(folder)

    def print_sheets(self) -> None:
        """Write the sheets beside the farm (or in the documents) and open them with the computer's PDF program."""
        if not self.session.may_print or self.session.plan is None:
            return
        base = Path(self.session.path).parent if self.session.path else Path(self._folder())
        self.write_sheets(
            str(base / f"sheets {self.session.plan.night:%Y-%m-%d} plan {self.session.plan.number}"), show=True
        )

    def write_sheets(self, folder: str, show: bool = False) -> None:
        """Write the sheets as PDF off the GUI thread."""
        plan, paper = self.session.plan, self.panels["sheets"].paper.currentText()  # type: ignore[attr-defined]
        if plan is None or not self.session.may_print:
            return

        def work(progress: Any, cancelled: Any) -> list[Path]:
            from mapper.sheets.book import print_plan

            return list(print_plan(plan, Path(folder), paper))

        self.session.said.emit("Writing the sheets ...")
        self.jobs.start(
            "sheets", work, lambda paths: self._written(paths, show), lambda e: self.session.fail("sheets", e)
        )

    def _written(self, paths: list[Path], show: bool) -> None:
        self.session.printed = True
        self.session.said.emit(f"{len(paths)} files in {paths[0].parent}." if paths else "Nothing to print.")
        self.session.plan_changed.emit()
        if show and paths:
            from PySide6.QtCore import QUrl
            from PySide6.QtGui import QDesktopServices

            QDesktopServices.openUrl(QUrl.fromLocalFile(str(paths[0])))

    def warm_up(self) -> None:
        """Import what the first file will need, while nobody waits for it."""

        def work(progress: Any, cancelled: Any) -> None:
            import mapper.plan.job

            assert mapper.plan.job.run is not None

        self.jobs.start("warm up", work, lambda _: None, lambda _: None)

    # Window --------------------------------------------------------------------------------------------------------

    def turn_looks(self) -> None:
        """Change between light and dark."""
        from PySide6.QtWidgets import QApplication

        app = QApplication.instance()
        assert isinstance(app, QApplication)
        dark = not looks.colours(self).dark
        looks.dress(app, dark)
        QSettings("mapper", "mapper").setValue("dark", dark)

    def changeEvent(self, event: QEvent) -> None:
        """Repaint everything in the new colours."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and hasattr(self, "_soon"):
            self.canvas.forget_frame()
            self.refresh()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files."""
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open what was dropped."""
        for url in event.mimeData().urls():
            if url.isLocalFile():
                self.open_path(url.toLocalFile())

    def _may_leave(self) -> bool:
        return not self.session.dirty or ask_to_save(self, self.save)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask to save; stop all work and wait for it; then close."""
        if not self._closing and not self._may_leave():
            event.ignore()
            return
        self._closing = True
        self._soon.stop()
        self._placing.stop()
        self.jobs.finish("save")
        self.jobs.stop_all()
        # The history tells of its own end when Qt takes it down; nobody is left to hear it.
        self.session.undo.blockSignals(True)
        event.accept()
