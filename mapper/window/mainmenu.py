"""The farm's menu under the paddock switch, and the keys that hold everywhere in the window."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtGui import QAction, QKeySequence, QShortcut
from PySide6.QtWidgets import QMenu

from mapper.window.rollover import ask_next_season
from mapper.window.seasondialog import SeasonDialog
from mapper.window.state import STEPS
from mapper.window.words import LANGUAGES, said

if TYPE_CHECKING:
    from mapper.window.window import MainWindow


class FarmMenu(QMenu):
    """Paddocks to go to, then what to do with the farm; filled anew each time it opens."""

    def __init__(self, window: "MainWindow") -> None:
        super().__init__(window)
        self._window = window
        self.aboutToShow.connect(self.fill)

    def fill(self) -> None:
        """Fill it with what can be done now."""
        self.clear()
        w, files, farm = self._window, self._window.files, self._window.session.farm
        if farm is not None and len(farm.paddocks):
            self._act(self, "All paddocks", "", lambda: w.session.pick(""))
            for name in farm.paddocks["paddock"]:
                self._act(self, str(name), "", lambda n=str(name): w.show_paddock(n))
            self.addSeparator()
        self._act(self, "Open a farm ...", "Ctrl+O", files.open_farm)
        self._sub("Recent farms", [(Path(p).stem, lambda p=p: files.open_recent(p)) for p in w.keeping.recent()])
        self._act(self, "Open the sample farm (invented)", "", files.open_sample)
        has = farm is not None
        self._act(self, "Save", "Ctrl+S", files.save, has)
        self._act(self, "Save as ...", "Ctrl+Shift+S", files.save_as, has)
        versions = [(_when(at), lambda f=f, at=at: w.keeping.go_back(f, at)) for f, at in w.keeping.versions()]
        self._sub("Go back to a version saved", versions)
        self._act(self, "History ...", "Ctrl+H", w.show_history, has)
        self.addSeparator()
        for words, keys, call, on in (
            ("Bring in boundaries ...", "Ctrl+B", files.open_boundary, True),
            ("Bring in a harvester log ...", "Ctrl+L", files.open_logs, has),
            ("Bring in a forecast ...", "Ctrl+F", files.open_forecast, has),
            ("Bring in houses, lines, trees ...", "", lambda: files.open_layer("assets"), has),
            ("Bring in neighbours ...", "", lambda: files.open_layer("neighbours"), has),
            ("Bring in breaks ...", "", lambda: files.open_layer("breaks_there"), has),
            ("Bring in local limits ...", "", files.open_limits, has),
            ("Bring in a picture ...", "", lambda: files.open_raster("image"), has),
            ("Bring in elevation ...", "", lambda: files.open_raster("elevation"), has),
        ):
            self._act(self, words, keys, call, on)
        self.addSeparator()
        self._act(self, "The season ...", "", lambda: SeasonDialog(w).exec(), has)
        self._act(self, "Begin the next season ...", "", lambda: ask_next_season(w), has)
        self.addSeparator()
        self._act(self, "Where the figures come from ...", "F1", w.show_figures, w.session.plan is not None)
        self._act(self, "Show me round", "", w.show_round)
        self._act(self, "Light or dark", "", w.turn_looks)
        self._sub("Language", [(words, lambda c=code: w.take_language(c)) for code, words in LANGUAGES.items()])

    def _sub(self, words: str, entries: list[tuple[str, Any]]) -> None:
        menu = self.addMenu(said(words))
        menu.setEnabled(bool(entries))
        for entry, call in entries:
            self._act(menu, entry, "", call)

    def _act(self, menu: QMenu, words: str, keys: str, call: Any, on: bool = True) -> None:
        action = QAction(said(words) + (f"\t{keys}" if keys else ""), menu)
        action.triggered.connect(lambda _=False: call())
        action.setEnabled(on)
        menu.addAction(action)


def _when(at: datetime) -> str:
    local = at.astimezone()
    return f"{local:%a} {local.day} {local:%b, %H:%M}"


def bind_keys(window: "MainWindow") -> None:
    """Give the window its keys, each with the name of what it does."""
    undo, files = window.session.undo, window.files
    for keys, name, call in (
        ("Ctrl+Z", "Take back", undo.undo), ("Ctrl+Shift+Z", "Do again", undo.redo), ("Ctrl+Y", "Do again", undo.redo),
        ("Ctrl+O", "Open a farm", files.open_farm), ("Ctrl+S", "Save", files.save),
        ("Ctrl+Shift+S", "Save as", files.save_as), ("Ctrl+P", "Print sheets", window.paper.print_sheets),
        ("Ctrl+B", "Open a boundary file", files.open_boundary),
        ("Ctrl+L", "Bring in a harvester log", files.open_logs), ("Ctrl+F", "Open a forecast", files.open_forecast),
        ("Ctrl+Return", "Work out", window.work.work_out), ("Ctrl+H", "History", window.show_history),
        ("F1", "Where the figures come from", window.show_figures),
        ("Ctrl+Space", "Play the night", window.strip.play.toggle), ("F", "Show all of it", window.show_all),
        ("L", "What the map shows", window.zoom_bar.open_layers),
        ("K", "Key to the marks", window.zoom_bar.key.toggle),
    ):  # fmt: skip
        _bind(window, keys, name, call)
    for name, tool in window.canvas.tools.items():
        _bind(window, tool.key, name, lambda n=name: take_tool(window, n))


def take_tool(window: "MainWindow", name: str) -> None:
    """Take up a tool; where the step in hand does not offer it, go to the first step that does."""
    steps = window.canvas.tools[name].steps
    if window.session.step not in steps:
        window.session.go_to(next(step for step in STEPS if step in steps))
    window.canvas.take_tool(name)


def _bind(window: "MainWindow", keys: str, name: str, call: Any) -> None:
    shortcut = QShortcut(QKeySequence(keys), window)
    shortcut.setObjectName(name)
    shortcut.setWhatsThis(name)
    shortcut.activated.connect(call)
