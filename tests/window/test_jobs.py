"""Work off the GUI thread."""

import threading
import time

import pytest

from mapper.farm.errors import FileError, Stopped
from mapper.window.jobs import Jobs


@pytest.fixture
def jobs(qapp):
    made = Jobs()
    yield made
    made.stop_all()


def test_result_and_progress_come_back_in_the_gui_thread(qtbot, jobs):
    heard, here = [], threading.get_ident()

    def work(progress, cancelled):
        progress(1, 2)
        return threading.get_ident()

    jobs.start("a", work, lambda r: heard.append(("done", r, threading.get_ident())),
               progress=lambda n, of: heard.append(("progress", (n, of), threading.get_ident())))  # fmt: skip
    qtbot.waitUntil(lambda: len(heard) == 2)
    assert heard[0] == ("progress", (1, 2), here)
    assert heard[1][0] == "done" and heard[1][1] != here and heard[1][2] == here
    assert not jobs.running()


def test_a_failure_is_told_once_and_an_unforeseen_one_says_so(qtbot, jobs):
    told = []

    def wrong(progress, cancelled):
        raise FileError("it is not there", "a.csv", "Open another")

    jobs.start("a", wrong, told.append, told.append)
    jobs.start("b", lambda p, c: 1 / 0, told.append, told.append)
    qtbot.waitUntil(lambda: len(told) == 2)
    assert str(told[0]) == "a.csv: it is not there. Open another"
    assert "ZeroDivisionError" in str(told[1])


def test_stop(qtbot, jobs):
    ended = []

    def work(progress, cancelled):
        while not cancelled():
            time.sleep(0.002)
        raise Stopped

    number = jobs.start("a", work, ended.append, stopped=lambda: ended.append("stopped"))
    jobs.stop(number)
    qtbot.waitUntil(lambda: ended == ["stopped"])


def test_nothing_is_told_after_stop_all(qtbot, jobs):
    told, began = [], threading.Event()

    def work(progress, cancelled):
        began.set()
        while not cancelled():
            progress(1, 2)
            time.sleep(0.001)
        return 1

    jobs.start("a", work, told.append, told.append, lambda *a: None)
    began.wait(5)
    jobs.stop_all()
    qtbot.wait(30)
    assert told == [] and not jobs.running()


def test_a_grid_made_in_one_job_serves_the_next(qtbot, jobs):
    # pyproj keeps its context with the Python thread; with Qt's pool this crashed the process.
    from mapper.farm.crs import Grid, metric_crs

    made, read = [], []
    jobs.start("a", lambda p, c: Grid(metric_crs(141.6, -36.2)), made.append)
    qtbot.waitUntil(lambda: bool(made))
    for urgent in (False, True, False):
        jobs.start("b", lambda p, c: made[0].from_lonlat(141.6, -36.2), read.append, urgent=urgent)
    qtbot.waitUntil(lambda: len(read) == 3)
    assert read[0] == read[1] == read[2]
