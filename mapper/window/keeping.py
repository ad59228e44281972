"""Keeping work: what is not saved is kept beside once a minute, saves leave versions, farms opened are remembered."""

import hashlib
import json
import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from PySide6.QtCore import QLockFile, QSettings, QTimer

if TYPE_CHECKING:
    from mapper.window.window import MainWindow

EVERY_MS = 60_000
VERSIONS, RECENT = 10, 8


class Left(NamedTuple):
    """Work that an earlier run left unsaved: its file, the farm's name, where it is saved, when it was kept."""

    file: Path
    name: str
    path: str
    at: datetime


def data_folder() -> Path:
    """Return the folder of the person's own data (made where missing); a setting may name another."""
    from platformdirs import user_data_path

    named = QSettings("mapper", "mapper").value("data_folder")
    folder = Path(str(named)) if named else user_data_path("mapper", appauthor=False)
    folder.mkdir(parents=True, exist_ok=True)
    return folder


class Keeping:
    """One window's kept work. A lock tells other runs, and the next one, whether this run still lives."""

    def __init__(self, window: "MainWindow", every_ms: int = EVERY_MS) -> None:
        self._window, self.session, self.jobs = window, window.session, window.jobs
        self._lock: QLockFile | None = None
        self._file: Path | None = None
        self._kept: tuple[int, int] | None = None
        self._timer = QTimer(window)
        self._timer.setInterval(every_ms)
        self._timer.timeout.connect(self.keep)
        self._timer.start()

    # What is not saved -------------------------------------------------------------------------------------------

    def keep(self) -> None:
        """Keep the farm as it is beside its own file, off the GUI thread, where it has changed since."""
        s = self.session
        state = (id(s.farm), s.undo.index())
        if s.farm is None or not s.dirty or state == self._kept or s.farm.paddocks.empty:
            return
        if self._file is None:
            folder = data_folder() / "unsaved"
            folder.mkdir(exist_ok=True)
            self._file = folder / f"{s.now():%Y%m%dT%H%M%S}-{id(self) % 100_000}.gpkg"
            self._lock = QLockFile(f"{self._file}.lock")
            # A lock is stale only when its run is gone, however long that run has lasted.
            self._lock.setStaleLockTime(0)
            self._lock.tryLock(0)
        farm, nights, file = s.farm, tuple(s.nights.values()), self._file
        about = {"name": farm.name, "path": s.path, "at": s.now().isoformat()}

        def work(progress: Any, cancelled: Any) -> None:
            from mapper.files.project import save_project

            save_project(farm, file, None, nights)
            file.with_suffix(".json").write_text(json.dumps(about), encoding="utf-8")

        self._kept = state
        self.jobs.start("keep", work, lambda _: None, lambda e: s.said.emit(f"Not kept beside: {e}"))

    def forget(self) -> None:
        """Everything is saved, or was let go on purpose: nothing is left to recover."""
        self._kept = None
        if self._file is not None:
            _remove(self._file)
            if self._lock is not None:
                self._lock.unlock()
            self._file = self._lock = None

    def left(self) -> list[Left]:
        """Return what runs that ended badly have left, the newest first."""
        folder, found = data_folder() / "unsaved", []
        for about in folder.glob("*.json") if folder.is_dir() else ():
            file = about.with_suffix(".gpkg")
            lock = QLockFile(f"{file}.lock")
            lock.setStaleLockTime(0)
            if not file.exists() or not lock.tryLock(0):
                continue
            lock.unlock()
            try:
                told = json.loads(about.read_text(encoding="utf-8"))
                found.append(Left(file, str(told["name"]), str(told["path"]), datetime.fromisoformat(told["at"])))
            except (ValueError, KeyError):
                continue
        return sorted(found, key=lambda one: one.at, reverse=True)

    def offer(self) -> None:
        """Ask about work that was left unsaved; what is let go is removed."""
        from mapper.window.ask import Question

        for one in self.left()[:1]:
            where = f"It was opened from {Path(one.path).name}." if one.path else "It stood in no file yet."
            lines = [
                f"{one.name}, kept {one.at.astimezone():%d %b %H:%M}, was not saved when the program ended.",
                where,
            ]
            answers = {"drop": "Let it go", "later": "Ask again later", "open": "Open it"}
            question = Question(self._window, "Open the work that was not saved?", lines, answers, "open")
            question.exec()
            if question.answer == "open":
                self.open_left(one)
            elif question.answer == "drop":
                _remove(one.file)

    def open_left(self, one: Left) -> None:
        """Open work left unsaved: it stays unsaved, and knows where it belongs."""
        from mapper.window import bring

        def done(brought: Any) -> None:
            self._window.files.take(brought._replace(path=""))
            self.session.path = one.path
            self.session.edit("Open unsaved work", brought.farm.with_())
            _remove(one.file)
            self.keep()

        self.jobs.start("read", bring.open_farm(str(one.file)), done, lambda e: self.session.fail("paddock", e))

    # Versions ----------------------------------------------------------------------------------------------------

    def saved(self, path: str) -> None:
        """After a save: keep a copy of it as a version, forget what was kept beside, remember the farm."""
        self.forget()
        self.remember(path)
        at = self.session.now()

        def work(progress: Any, cancelled: Any) -> None:
            folder = _versions_of(path)
            folder.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, folder / f"{at.astimezone(UTC):%Y%m%dT%H%M%S}.gpkg")
            for old in sorted(folder.glob("*.gpkg"))[:-VERSIONS]:
                old.unlink()

        self.jobs.start("version", work, lambda _: None, lambda e: self.session.said.emit(f"No version kept: {e}"))

    def versions(self) -> list[tuple[Path, datetime]]:
        """Return the versions of the farm in hand, the newest first."""
        if not self.session.path:
            return []
        found = sorted(_versions_of(self.session.path).glob("*.gpkg"), reverse=True)
        return [(f, datetime.strptime(f.stem, "%Y%m%dT%H%M%S").replace(tzinfo=UTC)) for f in found]

    def go_back(self, version: Path, at: datetime) -> None:
        """Put an older version in the place of the farm; an edit like any other, so it can be taken back."""
        from mapper.window import bring

        name = f"Go back to the version of {at.astimezone():%d %b %H:%M}"
        self.jobs.start(
            "read", bring.open_farm(str(version)), lambda brought: self.session.edit(name, brought.farm),
            lambda e: self.session.fail("paddock", e),
        )  # fmt: skip

    # Recent farms ------------------------------------------------------------------------------------------------

    def remember(self, path: str) -> None:
        """Put a farm at the head of those opened lately."""
        if path:
            others = [p for p in self.recent() if p != path]
            QSettings("mapper", "mapper").setValue("recent", json.dumps([path, *others][:RECENT]))

    def recent(self) -> list[str]:
        """Return the farms opened lately that are still there."""
        told = QSettings("mapper", "mapper").value("recent")
        paths = json.loads(str(told)) if told else []
        return [p for p in paths if Path(p).exists()]


def _versions_of(path: str) -> Path:
    known = hashlib.sha256(str(Path(path).resolve()).encode()).hexdigest()[:16]
    return data_folder() / "versions" / known


def _remove(file: Path) -> None:
    for one in (file, file.with_suffix(".json"), Path(f"{file}.bak")):
        one.unlink(missing_ok=True)
