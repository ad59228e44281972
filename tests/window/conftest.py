"""A real window, with a farm or a plan in it."""

from datetime import UTC, datetime

import pytest

from tests.demo import NIGHT, demo_farm

# rasterio multiplies its own transforms in the old way.
RASTERIO = "ignore:Use .@. matmul:PendingDeprecationWarning"
NOW = datetime(2026, 4, 17, 6, 40, tzinfo=UTC)


def pytest_collection_modifyitems(items):
    """A warning in the window is a failure."""
    for item in items:
        if "tests/window/" in item.path.as_posix():
            item.add_marker(pytest.mark.filterwarnings("error", RASTERIO))


@pytest.fixture
def window(qtbot, qapp, tmp_path):
    from PySide6.QtCore import QSettings

    from mapper.window.app import prepare
    from mapper.window.state import Session
    from mapper.window.window import MainWindow

    QSettings.setPath(QSettings.Format.NativeFormat, QSettings.Scope.UserScope, str(tmp_path))
    QSettings("mapper", "mapper").setValue("data_folder", str(tmp_path / "data"))
    prepare(qapp, dark=False)
    made = MainWindow(Session(now=lambda: NOW))
    qtbot.addWidget(made, before_close_func=lambda w: setattr(w, "_closing", True))
    made.show()
    qtbot.waitExposed(made)
    yield made
    made._closing = True
    made.close()


@pytest.fixture
def idle(qtbot, window):
    """Wait until no work is in hand and the window shows what there is."""

    def still():
        return not (window.jobs.running() or window._soon.isActive() or window.canvas._settle.isActive())

    def wait():
        for _ in range(2):
            qtbot.wait(20)
            qtbot.waitUntil(still, timeout=60_000)

    return wait


@pytest.fixture
def farmed(window, idle):
    window.session.take_farm(demo_farm(("Bottom Dam",)))
    window.session.night = NIGHT
    idle()
    return window


@pytest.fixture(scope="session")
def worked():
    """The demo farm with its plan and workings: worked out once, taken by each window."""
    from mapper.plan.job import run
    from mapper.plan.request import NightRequest

    farm = demo_farm(("Bottom Dam",))
    return farm, *run(farm, NightRequest(NIGHT, NOW))


@pytest.fixture
def planned(window, worked, idle):
    farm, plan, workings = worked
    window.session.take_farm(farm)
    window.session.night = NIGHT
    window.session.take_plan(plan, workings)
    idle()
    assert window.session.errors == {} and window.session.stale == frozenset()
    return window
