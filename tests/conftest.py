"""What every test stands on: Qt without a screen, settings that are nobody's, no stopwatch on property tests."""

import os

# Before anything imports Qt.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.pop("QT_SCALE_FACTOR", None)

import hypothesis
import pytest

# A first call that loads a library, or a busy machine, is no failure.
hypothesis.settings.register_profile("mapper", deadline=None, suppress_health_check=[hypothesis.HealthCheck.too_slow])
hypothesis.settings.load_profile("mapper")


@pytest.fixture(autouse=True, scope="session")
def nobodys_settings(tmp_path_factory):
    """No test reads or writes the settings of whoever runs it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CONFIG_HOME", str(tmp_path_factory.mktemp("config")))
        yield


@pytest.fixture(scope="session", autouse=True)
def one_application(nobodys_settings, qapp):
    """A process has one Qt application: sheets alone would make one without widgets, and the window needs them."""
    return qapp
