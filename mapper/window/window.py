"""The desktop program's one window: bar, map, panel, strip and foot, and what joins them."""

from itertools import pairwise
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QRectF, QSettings, QTimer
from PySide6.QtGui import (
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QResizeEvent,
    QShowEvent,
)
from PySide6.QtWidgets import QHBoxLayout, QMainWindow, QStackedWidget, QVBoxLayout, QWidget

from mapper.window import looks
from mapper.window.canvas import MapCanvas
from mapper.window.cards import KeyCard, ScaleCard, ToolBar, ZoomBar
from mapper.window.divider import Divider
from mapper.window.escape import Escapes
from mapper.window.evening import Evening, evening_of
from mapper.window.farmfiles import FarmFiles
from mapper.window.jobs import Jobs
from mapper.window.keeping import Keeping
from mapper.window.mainmenu import FarmMenu, bind_keys
from mapper.window.mapframes import MapFrames
from mapper.window.pages import PageView
from mapper.window.panel import StepPanel
from mapper.window.panel_breaks import BreaksPanel
from mapper.window.panel_evening import EveningPanel
from mapper.window.panel_order import OrderPanel
from mapper.window.panel_paddock import PaddockPanel
from mapper.window.panel_record import RecordPanel
from mapper.window.panel_rows import RowsPanel
from mapper.window.panel_sheets import SheetsPanel
from mapper.window.paper import Paper
from mapper.window.rowchart import RowChart
from mapper.window.state import STEPS, Session
from mapper.window.status import StatusLine
from mapper.window.strip import EveningStrip
from mapper.window.walk import TopBar
from mapper.window.welcome import Welcome
from mapper.window.work import Working

if TYPE_CHECKING:
    from mapper.window.tour import Tour


class MainWindow(QMainWindow):
    """Owns the session, the pool and every view of them."""

    def __init__(self, session: Session | None = None) -> None:
        super().__init__()
        self.session = session or Session(parent=self)
        self.jobs = Jobs(self)
        self.evening: Evening | None = None
        self.tour: Tour | None = None
        self.keeping = Keeping(self)
        self.work, self.files, self.paper = Working(self), FarmFiles(self), Paper(self)
        self._closing = False
        self.setAcceptDrops(True)
        self.resize(1440, 900)
        self.setMinimumSize(1000, 640)
        self.menu = FarmMenu(self)
        self.canvas = MapCanvas(self.session)
        self.map = MapFrames(self)
        self.divider = Divider(self.canvas)
        self.escapes = Escapes(self)
        self.top = TopBar(self.session, self.menu)
        self.strip = EveningStrip()
        self.row_chart = RowChart()
        self.status = StatusLine(self.session)
        self.pages = PageView(self)
        self.welcome = Welcome(self.canvas)
        self.tools = ToolBar(self.canvas)
        self.scale_card = ScaleCard(self.canvas)
        self.key_card = KeyCard(self.canvas)
        self.zoom_bar = ZoomBar(self.canvas, self.map.menu, self.show_all)
        kinds = (PaddockPanel, RowsPanel, BreaksPanel, EveningPanel, OrderPanel, SheetsPanel, RecordPanel)
        self.panels: dict[str, StepPanel] = {kind.step: kind(self) for kind in kinds}
        self._lay_out()
        self._join()
        bind_keys(self)
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
        left.addWidget(self.row_chart)
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
            self.row_chart,
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
        if self.divider.isVisible():
            self.divider.place()
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
        self.top.print_wanted.connect(self.paper.print_sheets)
        s.farm_changed.connect(self.refresh)
        s.plan_changed.connect(self.refresh)
        s.picked.connect(self.refresh)
        s.hour_changed.connect(self._show_hour)
        self.canvas.frame_wanted.connect(self.map.paint)
        self.divider.by_changed.connect(lambda _: self.map.renew())
        self.canvas.pointer.connect(self._show_pointer)
        self.canvas.viewed.connect(self._show_scale)
        self.canvas.tool_taken.connect(lambda _: self._tool_taken())
        self.canvas.drawing_changed.connect(self._drawing_changed)
        self.zoom_bar.key_toggled.connect(lambda _: self.show_key())
        self.strip.table.hour_wanted.connect(s.show_hour)
        self.strip.table.block_picked.connect(lambda p, b: s.pick(p, "", b))
        self.pages.laid_out.connect(self.panels["sheets"].refresh)
        self.row_chart.picked.connect(self._pick_row)
        self.canvas.escape_wanted.connect(self.escapes.try_at)
        self.canvas.rows_edited.connect(lambda: self.work.work_out(("rows",)))
        s.picked.connect(lambda: self.tools.offer(s.step))
        self._placing = QTimer(self)
        self._placing.setSingleShot(True)
        self._placing.timeout.connect(self._place_cards)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self._refresh_now)

    # Showing -------------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the session soon: several changes in a row are shown once."""
        if hasattr(self, "_soon"):
            self._soon.start()
        else:
            self._refresh_now()

    def _refresh_now(self) -> None:
        s = self.session
        self._show_evening()
        self.side.setCurrentWidget(self.panels[s.step])
        self.panels[s.step].update_all()
        self.centre.setCurrentWidget(self.pages if s.step == "sheets" and s.plan is not None else self.canvas)
        if s.step == "sheets" and s.plan is not None:
            self.pages.show_plan(s.plan, self.panels["sheets"].paper.currentText())  # type: ignore[attr-defined]
        self._show_foot()
        has = s.farm is not None and not s.farm.paddocks.empty
        drawing = self.canvas.tool.name == "Draw a paddock"
        self.welcome.setVisible(not has and not drawing)
        self.scale_card.setVisible(has or drawing)
        if s.farm is not None and self.canvas.view is None and has:
            self.show_all()
        self.map.renew()
        self._title()
        self._placing.start()

    def _show_foot(self) -> None:
        """Under the map: the rows by load at the Rows step, else the evening."""
        s, rows, on_map = self.session, self.session.layer("windrows"), self.centre.currentWidget() is self.canvas
        charted = on_map and s.step == "rows" and rows is not None and len(rows) > 0
        if charted and s.farm is not None and rows is not None:
            heaps = s.layer("heaps")
            mine = rows["paddock"] == s.paddock
            some = rows[mine] if mine.any() else rows
            count = 0 if heaps is None else int(heaps["paddock"].isin(set(some["paddock"])).sum())
            title = f"Rows by load, {s.paddock}" if mine.any() else "Rows by load"
            self.row_chart.show_rows(some, count, s.farm.limits, s.row_id, title)
        self.row_chart.setVisible(charted)
        self.strip.setVisible(on_map and not charted)

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
        self.strip.show_hour(s.hour if self.evening is not None else None)
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
            self.strip.show_hour(self.session.hour)
            self._show_wind()
            self.map.move()

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

    def show_key(self) -> None:
        """Show the key to the marks that the map shows now."""
        from mapper.window.keymarks import marks_of

        on = self.zoom_bar.key.isChecked() and self.map.scene is not None
        marks = marks_of(self.map.layers(), self.map.hidden) if on else []
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

    def _pick_row(self, row_id: str) -> None:
        rows = self.session.layer("windrows")
        if rows is not None:
            self.session.pick(str(rows.loc[rows["row_id"] == row_id, "paddock"].iloc[0]), row_id)

    def show_place(self, where: Any) -> None:
        """Go to a geometry and ring it."""
        self.centre.setCurrentWidget(self.canvas)
        self.canvas.show_place(where)

    def _drawing_changed(self) -> None:
        self.panels[self.session.step].refresh()

    def _tool_taken(self) -> None:
        if self.canvas.tool.name == "Draw a paddock" and self.session.step != "paddock":
            self.session.go_to("paddock")
        self.refresh()

    def change_limits(self, key: str = "") -> None:
        """Open the list of local limits."""
        from mapper.window.limits import LimitsDialog

        if self.session.farm is not None:
            LimitsDialog(self, key).exec()

    def show_figures(self) -> None:
        """Show where the plan's figures come from."""
        from mapper.window.helping import Figures

        if self.session.plan is not None:
            Figures(self, self.session.plan.figures).open()

    def show_round(self) -> None:
        """Offer the round of the sample farm."""
        from mapper.window.tour import Tour

        if self.tour is None:
            self.tour = Tour(self)

    def take_language(self, code: str) -> None:
        """Choose the language of the window; it holds from the next start."""
        QSettings("mapper", "mapper").setValue("language", code)
        self.session.said.emit("The language is changed at the next start. / Die Sprache gilt ab dem nächsten Start.")

    def show_history(self) -> None:
        """Show what was changed, in order."""
        from mapper.window.history import History

        History(self).show()

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
        self.files.open_paths([url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()])

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask to save; stop all work and wait for it; then close."""
        if not self._closing and not self.files.may_leave():
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
