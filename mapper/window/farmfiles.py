"""Opening, bringing in and saving: every file goes through here."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QFileDialog

from mapper.farm.errors import MapperError
from mapper.window import bring
from mapper.window.ask import ask_to_save, pick_one, say_read

if TYPE_CHECKING:
    from mapper.window.bring import Brought
    from mapper.window.window import MainWindow


class FarmFiles:
    """Reads off the GUI thread; the farm changes only when all of a file was read."""

    def __init__(self, window: "MainWindow") -> None:
        self._window, self.session, self.jobs = window, window.session, window.jobs

    def folder(self) -> str:
        """Return the folder last used."""
        return str(QSettings("mapper", "mapper").value("folder", str(Path.home())))

    def _ask_file(self, words: str, kinds: str, several: bool = False) -> list[str]:
        if several:
            paths, _ = QFileDialog.getOpenFileNames(self._window, words, self.folder(), kinds)
        else:
            path, _ = QFileDialog.getOpenFileName(self._window, words, self.folder(), kinds)
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
        self.take(brought)
        if brought.path:
            self._window.keeping.remember(brought.path)

    def take(self, brought: "Brought") -> None:
        """Take what was brought in: a change of the farm in hand, or another farm."""
        first = self.session.farm is None or self.session.farm.paddocks.empty
        if brought.name and self.session.farm is not None:
            self.session.edit(brought.name, brought.farm)
        else:
            self.session.take_farm(brought.farm, brought.path, brought.nights)
            self._window.canvas.view = None
            self._window.canvas.forget_frame()
        if first or self._window.canvas.view is None:
            self._window._refresh_now()
            self._window.show_all()
        lines = [line for report in brought.reports for line in report.lines()]
        self.session.said.emit(lines[0] if lines else "Read.")
        if any(r.repaired or r.refused for r in brought.reports) and brought.name:
            say_read(self._window, lines)
        if self.session.farm is not None and self.session.farm.forecast is not None:
            self._window.work.work_out(("hours",))

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
                layer = pick_one(self._window, "What does this file hold?", {
                    "paddocks": "Paddocks", "assets": "Houses, lines, trees", "neighbours": "Neighbours",
                    "breaks_there": "Breaks",
                })  # fmt: skip
            if layer:
                self.bring_in(bring.open_vectors(path, layer, farm), "paddock")
        elif farm is None or farm.paddocks.empty:
            wrong = MapperError("a boundary comes first", Path(path).name, "Open a boundary file, then this one")
            self.session.fail("paddock", wrong)
        elif kind == "raster":
            what = pick_one(self._window, "What does this file hold?", {"image": "A picture", "elevation": "Elevation"})
            if what:
                self.bring_in(bring.open_raster(path, what, farm), "paddock")
        elif kind == "forecast":
            self.bring_in(bring.open_forecast(path, farm, self.session.now()), "evening")
        elif kind in {"log", "taskdata"}:
            self.bring_in_logs([path])
        else:
            self.session.fail("paddock", MapperError("this kind of file is not known", Path(path).name, "Open another"))

    def open_farm(self) -> None:
        """Ask for a farm and open it."""
        if self.may_leave():
            for path in self._ask_file("Open a farm", bring.FARMS):
                self.bring_in(bring.open_farm(path), "paddock")

    def open_recent(self, path: str) -> None:
        """Open a farm opened lately."""
        if self.may_leave():
            self.bring_in(bring.open_farm(path), "paddock")

    def open_sample(self) -> None:
        """Open the invented sample farm."""
        from mapper.carried import carried

        if self.may_leave():
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
            agreed = ask_columns(self._window, paths, self.session.farm)
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
            self.bring_in(bring.open_forecast(path, farm, self.session.now()), "evening")

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

    def save(self) -> bool:
        """Save where the farm came from, or ask."""
        if self.session.farm is None:
            return False
        if not self.session.path:
            return self.save_as()
        return self.save_to(self.session.path)

    def save_as(self) -> bool:
        """Ask where to save."""
        if self.session.farm is None:
            return False
        name = self.session.farm.name.replace("/", "-")
        path, _ = QFileDialog.getSaveFileName(
            self._window, "Save the farm", f"{self.folder()}/{name}.gpkg", "Farms (*.gpkg)"
        )
        if not path:
            return False
        return self.save_to(path if path.endswith(".gpkg") else f"{path}.gpkg")

    def save_to(self, path: str) -> bool:
        """Save off the GUI thread; closing waits for it."""
        s = self.session
        assert s.farm is not None
        self.jobs.start(
            "save", bring.save_farm(s.farm, path, s.plan, tuple(s.nights.values())), self._saved,
            lambda e: self.session.fail(self.session.step, e),
        )  # fmt: skip
        return True

    def _saved(self, path: str) -> None:
        self.session.mark_saved(path)
        self._window.keeping.saved(path)
        self.session.said.emit(f"Saved as {Path(path).name}.")

    def may_leave(self) -> bool:
        """Return False where the user would rather save or stay."""
        leave = not self.session.dirty or ask_to_save(self._window, self.save)
        if leave and not self.jobs.running("save"):
            self._window.keeping.forget()
        return leave
