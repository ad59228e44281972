"""Fitting a harvester's settings to row ends marked on the map."""

from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QVBoxLayout

from mapper.farm.errors import MapperError
from mapper.window import rowedits
from mapper.window.controls import PushButton, Words
from mapper.window.section import Section

if TYPE_CHECKING:
    from mapper.window.rowtools import RowEndsTool
    from mapper.window.window import MainWindow

FEWEST = 3


class Calibrate(Section):
    """Marks ends with the map's tool, fits in a job, shows what came of it, and sets it when asked to."""

    def __init__(self, into: QVBoxLayout, window: "MainWindow") -> None:
        super().__init__(into)
        self._window, self.session = window, window.session
        self._found: Any = None
        self.words = Words("", "small")
        self.mark = PushButton("Mark row ends on the map")
        self.fit = PushButton("Fit settings to the ends")
        self.use = PushButton("Use the fitted settings", act=True)
        self.mark.clicked.connect(self._mark)
        self.fit.clicked.connect(self._fit)
        self.use.clicked.connect(self._use)
        for widget in (self.words, self.mark, self.fit, self.use):
            self.add(widget)

    def _tool(self) -> "RowEndsTool":
        return self._window.canvas.tools["Mark row ends"]  # type: ignore[return-value]

    def refresh(self, machine: str) -> None:
        """Show how far it is with a machine."""
        ends, found = len(self._tool().ends), self._found
        if found is not None and found.harvester.machine != machine:
            found = self._found = None
        self.fit.setVisible(ends > 0)
        self.fit.set_words(f"Fit settings to {ends} end{'s' * (ends != 1)}")
        self.fit.setEnabled(ends >= FEWEST and bool(self.session.paddock))
        self.use.setVisible(found is not None)
        if found is not None:
            left = f" {len(found.left_out)} ends met no row and were left out." if found.left_out else ""
            self.words.setText(found.text + left)
        elif ends:
            self.words.setText("Three ends at least, ten are good. Pick the paddock they are in, then fit.")
        else:
            self.words.setText("Rows end too early or too late? Mark where they really end.")

    def _mark(self) -> None:
        self._window.canvas.take_tool("Mark row ends")
        self._window.canvas.setFocus()

    def _fit(self) -> None:
        farm, name = self.session.farm, self.session.paddock
        if farm is None or not name:
            return
        machine = self._window.panels["rows"].machine.currentText()  # type: ignore[attr-defined]
        harvester = next(h for h in farm.harvesters if h.machine == machine)
        ends, paddock, tracks, crs = list(self._tool().ends), farm.paddock(name), farm.tracks, farm.grid.crs

        def work(progress: Any, cancelled: Any) -> Any:
            import numpy as np

            from mapper.plan.rows import track_in
            from mapper.rows.calibrate import calibrate_harvester

            track = track_in(tracks, paddock)
            if track is None:
                raise MapperError("no log lies in it", f"paddock {name}", "Bring in a harvester log")
            return calibrate_harvester(track, harvester, paddock, crs, np.array(ends), cancelled=cancelled)

        self.session.said.emit("Fitting the settings to the ends ...")
        self._window.jobs.start("fit", work, self._take, lambda e: self.session.fail("rows", e))

    def _take(self, found: Any) -> None:
        self._found = found
        self.session.clear_error("rows")
        self.session.said.emit("Fitted. Look at the figures, then use them or leave them.")
        self._window.refresh()

    def _use(self) -> None:
        found, farm = self._found, self.session.farm
        if found is None or farm is None:
            return
        self._found = None
        self._tool().ends.clear()
        machine = found.harvester
        self.session.edit(f"Fit settings of {machine.machine}", rowedits.set_harvester(farm, machine))
        self._window.work.work_out(("rows",))
