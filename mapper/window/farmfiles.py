"""Opening, bringing in and saving: every file goes through here."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QSettings, Qt
from PySide6.QtWidgets import QFileDialog

from mapper.farm.errors import CrsError, MapperError
from mapper.window import bring
from mapper.window.ask import ask_to_save, pick_one, say_read

if TYPE_CHECKING:
    from mapper.window.bring import Brought
    from mapper.window.window import MainWindow


class FarmFiles:
    """Reads off the GUI thread; the farm changes only when all of a file was read."""

    def __init__(self, window: "MainWindow") -> None:
        self._window, self.session, self.jobs = window, window.session, window.jobs
        # The dialog that shows what a file would bring, and the files that wait behind it.
        self.shown: Any = None
        self._waiting: list[str] = []

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
        self._read(work, step, lambda brought: self._brought(brought, step), lambda e: self._not_read(step, e))

    def _read(self, work: Any, step: str, done: Any, failed: Any) -> None:
        self.session.said.emit("Reading ...")
        self.session.clear_error(step)
        self.jobs.start(
            "read", work, done, failed,
            lambda done, total: self.session.said.emit(f"Reading, {done / max(total, 1):.0%}"),
        )  # fmt: skip

    def show_first(self, make: Any, step: str, has_grid: bool = False, crs: str = "") -> None:
        """Read a file, show what it would bring, and bring it in once that is agreed to.

        make(farm, crs) returns the work. has_grid: another grid may be typed in for it.
        """
        before = self.session.farm
        anew = (lambda grid: self.show_first(make, step, has_grid, grid)) if has_grid else None

        def agreed(brought: "Brought") -> None:
            if self.session.farm is not before:
                self.session.said.emit("The farm has changed meanwhile: look at the file once more.")
                self.show_first(make, step, has_grid, crs)
                return
            self._brought(brought._replace(shown=True), step)
            self.open_next()

        def show(brought: "Brought") -> None:
            from mapper.window.preview import Preview

            dialog = Preview(self._window, before, brought, anew)
            self._show(dialog, lambda: agreed(brought))

        def failed(error: MapperError) -> None:
            if anew is None or not isinstance(error, CrsError):
                self._not_read(step, error)
                return
            from mapper.window.preview import AskGrid

            known = "" if before is None else f"EPSG:{before.grid.crs.to_epsg() or ''}"
            self._show(AskGrid(self._window, error, known, anew), lambda: None)

        self._read(make(before, crs or None), step, show, failed)

    def _show(self, dialog: Any, accepted: Any) -> None:
        """Show a dialog over the window; the program goes on meanwhile."""
        self.shown = dialog
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.accepted.connect(accepted)
        dialog.finished.connect(lambda _: setattr(self, "shown", None))
        dialog.rejected.connect(self._left)
        dialog.open()

    def _left(self) -> None:
        self.shown = None
        self.session.said.emit("Left; the farm is as it was.")
        self.open_next()

    def open_paths(self, paths: list[str]) -> None:
        """Open several files one after another, as when they are dropped on the window together."""
        self._waiting += paths
        if self.shown is None and not self.jobs.running("read"):
            self.open_next()

    def open_next(self) -> None:
        """Open the next of the files that wait."""
        if self._waiting:
            self.open_path(self._waiting.pop(0))

    def _brought(self, brought: "Brought", step: str) -> None:
        self.take(brought)
        if brought.path:
            self._window.keeping.remember(brought.path)
            nights = len(self.session.book.beside(brought.path))
            if nights:
                self.session.said.emit(f"{nights} nights are kept beside this farm: the Record step lists them.")

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
        if brought.name and not brought.shown and any(r.repaired or r.refused for r in brought.reports):
            say_read(self._window, lines)
        if self.session.farm is not None and self.session.farm.forecast is not None:
            self._window.work.work_out(("hours",))

    def _not_read(self, step: str, error: MapperError) -> None:
        self.session.said.emit("Nothing was read; the farm is as it was.")
        self.session.fail(step, error)
        self.open_next()

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
                self._show_vectors(path, layer)
        elif farm is None or farm.paddocks.empty:
            wrong = MapperError("a boundary comes first", Path(path).name, "Open a boundary file, then this one")
            self.session.fail("paddock", wrong)
        elif kind == "raster":
            what = pick_one(self._window, "What does this file hold?", {"image": "A picture", "elevation": "Elevation"})
            if what:
                self._show_raster(path, what)
        elif kind == "forecast":
            self._show_forecast(path)
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

    def open_sample(self, then: Callable[[], None] = lambda: None) -> None:
        """Open the invented sample farm; `then` is called once it is open."""
        from mapper.carried import carried

        if self.may_leave():

            def opened(brought: "Brought") -> None:
                self._brought(brought, "paddock")
                then()

            work = bring.open_farm(str(carried("sample_data", "farm.toml")))
            self._read(work, "paddock", opened, lambda e: self._not_read("paddock", e))

    def open_boundary(self) -> None:
        """Ask for a boundary file."""
        self.open_layer("paddocks")

    def open_layer(self, kind: str) -> None:
        """Ask for a file of shapes and bring a layer in."""
        for path in self._ask_file("Bring in", bring.VECTORS):
            self._show_vectors(path, kind)

    def open_logs(self) -> None:
        """Ask for harvester logs."""
        if self.session.farm is not None:
            paths = self._ask_file("Bring in a harvester log", bring.TABLES, several=True)
            if paths:
                self.bring_in_logs(paths)

    def bring_in_logs(self, paths: list[str]) -> None:
        """Look at the first log off the GUI thread, show how its columns are taken; read once that is agreed to."""
        from mapper.window.columns import ColumnsDialog, look_at_columns

        farm = self.session.farm
        assert farm is not None

        def show(seen: Any) -> None:
            if seen is None:
                self.bring_in(bring.open_tracks(paths, farm), "rows")
                return
            dialog = ColumnsDialog(self._window, paths, farm, seen)

            def agreed() -> None:
                columns, crs = dialog.agreed or (None, None)
                self.bring_in(bring.open_tracks(paths, farm, columns, crs), "rows")

            self._show(dialog, agreed)

        self._read(look_at_columns(paths[0], farm.zone), "rows", show, lambda e: self._not_read("rows", e))

    def _show_vectors(self, path: str, layer: str) -> None:
        self.show_first(lambda farm, crs: bring.open_vectors(path, layer, farm, crs), "paddock", has_grid=True)

    def _show_raster(self, path: str, what: str) -> None:
        self.show_first(lambda farm, crs: bring.open_raster(path, what, farm), "paddock")

    def _show_forecast(self, path: str) -> None:
        now = self.session.now()
        self.show_first(lambda farm, crs: bring.open_forecast(path, farm, now), "evening")

    def open_forecast(self) -> None:
        """Ask for a forecast."""
        farm = self.session.farm
        if farm is None or farm.paddocks.empty:
            self.session.fail("evening", MapperError("a boundary comes first", "forecast", "Open or draw a paddock"))
            return
        for path in self._ask_file("Open a forecast", bring.TABLES):
            self._show_forecast(path)

    def open_raster(self, kind: str) -> None:
        """Ask for a picture or an elevation model."""
        if self.session.farm is not None:
            for path in self._ask_file("Bring in", bring.RASTERS):
                self._show_raster(path, kind)

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
        farm, nights = s.farm, dict(s.nights)
        self.jobs.start(
            "save", bring.save_farm(farm, path, s.plan, tuple(nights.values())),
            lambda path: self._saved(path, farm, nights),
            lambda e: self.session.fail(self.session.step, e),
        )  # fmt: skip
        return True

    def _saved(self, path: str, farm: Any, nights: Any) -> None:
        self.session.mark_saved(path, farm, nights)
        self._window.keeping.saved(path)
        self.session.said.emit(f"Saved as {Path(path).name}.")

    def may_leave(self) -> bool:
        """Return False where the user would rather save or stay."""
        leave = not self.session.dirty or ask_to_save(self._window, self.save)
        if leave and not self.jobs.running("save"):
            self._window.keeping.forget()
        return leave
