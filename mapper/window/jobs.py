"""Work off the GUI thread: one pool, progress, stop, and a failure told once."""

import threading
import traceback
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal

from mapper.farm.errors import MapperError, Stopped

Work = Callable[[Callable[[int, int], None], Callable[[], bool]], Any]


class _Run(QRunnable):
    """Carries one piece of work into the pool. Holds no QObject of its own (none may die in a worker)."""

    def __init__(self, number: int, work: Work, stop: threading.Event, tell: Callable[..., None]) -> None:
        super().__init__()
        self._number, self._work, self._stop, self._tell = number, work, stop, tell

    def run(self) -> None:
        """Do the work and tell how it ended."""
        try:
            result = self._work(
                lambda done, total: self._tell("progress", self._number, (done, total)), self._stop.is_set
            )
        except Stopped:
            self._tell("stopped", self._number, None)
        except MapperError as error:
            self._tell("failed", self._number, error)
        except Exception as error:
            wrong = MapperError(
                f"the program itself went wrong ({type(error).__name__}: {error})",
                todo="Nothing was changed. The last lines of the report: "
                + " | ".join(line.strip() for line in traceback.format_exc().strip().splitlines()[-3:-1]),
            )
            self._tell("failed", self._number, wrong)
        else:
            self._tell("stopped" if self._stop.is_set() else "done", self._number, result)


class Jobs(QObject):
    """All work in hand. Each job's callbacks are called in the GUI thread, none after stop_all."""

    changed = Signal()
    _told = Signal(str, int, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(2)
        self._next, self._closing = 1, False
        self._live: dict[int, tuple[str, threading.Event, dict[str, Callable[..., None] | None]]] = {}
        self._told.connect(self._hear)

    def start(
        self,
        name: str,
        work: Work,
        done: Callable[[Any], None],
        failed: Callable[[MapperError], None] | None = None,
        progress: Callable[[int, int], None] | None = None,
        stopped: Callable[[], None] | None = None,
        urgent: bool = False,
    ) -> int:
        """Start work(progress, cancelled) and return its number."""
        if self._closing:
            return 0
        number, stop = self._next, threading.Event()
        self._next += 1
        self._live[number] = (name, stop, {"done": done, "failed": failed, "progress": progress, "stopped": stopped})
        self._pool.start(_Run(number, work, stop, self._tell), 5 if urgent else 0)
        self.changed.emit()
        return number

    def stop(self, number: int) -> None:
        """Ask a job to stop; its stopped callback follows."""
        if number in self._live:
            self._live[number][1].set()

    def running(self, name: str = "") -> bool:
        """Return True while a job of that name (or any) is in hand."""
        return any(not name or live[0] == name for live in self._live.values())

    def finish(self, name: str) -> None:
        """Wait for the jobs of a name (a save must not be cut off); stop the others."""
        if self.running(name):
            for other, stop, _ in self._live.values():
                if other != name:
                    stop.set()
            self._pool.waitForDone()

    def stop_all(self) -> None:
        """Stop everything and wait; nothing is told any more."""
        self._closing = True
        for _, stop, _ in self._live.values():
            stop.set()
        self._live.clear()
        self._pool.clear()
        self._pool.waitForDone()

    def _tell(self, what: str, number: int, value: Any) -> None:
        # Called in the worker; the signal is queued into the GUI thread.
        if not self._closing:
            self._told.emit(what, number, value)

    def _hear(self, what: str, number: int, value: Any) -> None:
        if number not in self._live:
            return
        callbacks = self._live[number][2]
        if what != "progress":
            del self._live[number]
        call = callbacks[what]
        if call is not None:
            if what == "progress":
                call(*value)
            elif what == "stopped":
                call()
            else:
                call(value)
        if what != "progress":
            self.changed.emit()
