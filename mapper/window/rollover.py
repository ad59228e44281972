"""The farm rolled over to the next season from the window: a new file, the old one stays as it is."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QFileDialog

from mapper.farm.errors import FileError

if TYPE_CHECKING:
    from mapper.window.window import MainWindow


def ask_next_season(window: "MainWindow") -> None:
    """Ask for the next season's file, leave the farm there as that season finds it, and open it."""
    farm = window.session.farm
    if farm is None or not window.files.may_leave():
        return
    name = farm.name.replace("/", "-")
    path, _ = QFileDialog.getSaveFileName(
        window, "The next season's farm", f"{window.files.folder()}/{name} next season.gpkg", "Farms (*.gpkg)"
    )
    if path:
        roll_over(window, path if path.endswith(".gpkg") else f"{path}.gpkg")


def roll_over(window: "MainWindow", path: str) -> None:
    """Leave the farm in a new file as the next season finds it, and open that."""
    from mapper.window import bring

    s = window.session
    farm, rows, today = s.farm, s.layer("windrows"), s.now().date()
    assert farm is not None

    def work(progress: Any, cancelled: Any) -> Any:
        from mapper.files.project import save_project
        from mapper.plan.rows import rows_of_farm
        from mapper.record.nextseason import next_season
        from mapper.record.season import season_name

        if Path(path).exists():
            what = "there is a file already, and a season is never written over"
            raise FileError(what, Path(path).name, "Name a new one")
        mine = rows if rows is not None else rows_of_farm(farm, {}, progress, cancelled)[0]
        dates = mine["dropped_at"].dropna()
        season = season_name(dates.max().date() if len(dates) else today)
        save_project(next_season(farm, mine, season), Path(path))
        return bring.open_farm(path)(progress, cancelled)

    def done(brought: Any) -> None:
        window.files.take(brought)
        window.keeping.remember(path)
        kept = "" if brought.farm.rows_before is None else f" {len(brought.farm.rows_before)} rows are last season's."
        s.said.emit(f"{Path(path).name} begins the next season.{kept} The old file stays as it is.")

    s.said.emit("Beginning the next season ...")
    window.jobs.start("read", work, done, lambda e: s.fail(s.step, e))
