"""Work off the GUI thread: progress, stop, and a failure told once."""

import gc
import threading
import traceback
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from typing import Any

from PySide6.QtCore import QObject, Signal

from mapper.farm.errors import MapperError, Stopped

Work = Callable[[Callable[[int, int], None], Callable[[], bool]], Any]


def _run(number: int, work: Work, stop: threading.Event, tell: Callable[..., None]) -> None:
    """Do the work in a worker and tell how it ended. Makes and drops no QObject."""
    try:
        if stop.is_set():
            raise Stopped
        result = work(lambda done, total: tell("progress", number, (done, total)), stop.is_set)
    except Stopped:
        tell("stopped", number, None)
    except MapperError as error:
        tell("failed", number, error)
    except Exception as error:
        lines = [line.strip() for line in traceback.format_exc().strip().splitlines()[-3:-1]]
        wrong = MapperError(
            f"the program itself went wrong ({type(error).__name__}: {error})",
            todo=f"Nothing was changed. The last lines of the report: {' | '.join(lines)}",
        )
        tell("failed", number, wrong)
    else:
        tell("stopped" if stop.is_set() else "done", number, result)


class Jobs(QObject):
    """All work in hand. Each job's callbacks are called in the GUI thread, none after stop_all."""

    changed = Signal()
    _told = Signal(str, int, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        # Python's own threads, not Qt's: pyproj keeps its PROJ context with the Python thread, and one of Qt's pool
        # is a new one to Python at every job, so that a grid made in one job crashed the next (seen, pyproj 3.7).
        # Frames have a thread of their own: the map stays quick while a plan is worked out.
        self._pools = {False: ThreadPoolExecutor(1, "work"), True: ThreadPoolExecutor(1, "frame")}
        self._next, self._closing = 1, False
        self._futures: dict[int, Future[None]] = {}
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
        # A worker must not run the cyclic collector: it could delete a QObject there.
        gc.disable()
        self._futures[number] = self._pools[urgent].submit(_run, number, work, stop, self._tell)
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
        for other, stop, _ in self._live.values():
            if other != name:
                stop.set()
        wait([self._futures[n] for n, live in self._live.items() if live[0] == name])

    def stop_all(self) -> None:
        """Stop everything and wait; nothing is told any more."""
        self._closing = True
        for _, stop, _ in self._live.values():
            stop.set()
        self._live.clear()
        self._futures.clear()
        for pool in self._pools.values():
            pool.shutdown(wait=True, cancel_futures=True)
        gc.enable()

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
            del self._futures[number]
            if not self._live:
                gc.enable()
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
