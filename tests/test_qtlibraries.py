import builtins
import subprocess
import sys

import pytest

from mapper import cli
from mapper.qtlibraries import QtLibraryError, need_qt, qt_sentence


@pytest.mark.parametrize(
    ("message", "library", "package"),
    [
        ("libEGL.so.1: cannot open shared object file: No such file or directory", "libEGL.so.1", "libegl1"),
        ("libGL.so.1: cannot open shared object file", "libGL.so.1", "libgl1"),
        ("libxcb-cursor.so.0: cannot open shared object file", "libxcb-cursor.so.0", "libxcb-cursor0"),
        ("libxkbcommon-x11.so.0: cannot open", "libxkbcommon-x11.so.0", "libxkbcommon-x11-0"),
        ("libunheard-of.so.7: cannot open", "libunheard-of.so.7", "package manager"),
    ],
)
def test_the_sentence_names_library_and_package(message, library, package):
    said = str(qt_sentence(message))
    assert library in said
    assert package in said


@pytest.fixture
def bare_machine(monkeypatch):
    """Qt as a bare Linux machine meets it: the wheel is there, libEGL is not."""
    real = builtins.__import__

    def without_egl(name, globals=None, locals=None, fromlist=(), level=0):
        if name == "PySide6" and "QtGui" in (fromlist or ()):
            raise ImportError("libEGL.so.1: cannot open shared object file: No such file or directory")
        return real(name, globals, locals, fromlist, level)

    monkeypatch.setattr(builtins, "__import__", without_egl)


def test_a_plan_on_a_bare_machine_ends_in_one_sentence(bare_machine, tmp_path, capsys):
    code = cli.main(["plan", "sample_data/farm.toml", "--night", "2026-04-18", "--out", str(tmp_path / "out")])
    said = capsys.readouterr().err.strip()
    assert code == 1
    assert "libEGL.so.1" in said
    assert "apt install libegl1" in said
    assert "\n" not in said
    assert not (tmp_path / "out").exists()


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="Linux screens")
def test_no_screen_is_said(monkeypatch):
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    with pytest.raises(QtLibraryError, match="no screen"):
        need_qt(window=True)


def test_the_command_line_loads_no_qt_until_it_draws():
    heavy = "('PySide6', 'geopandas', 'matplotlib')"
    code = f"import sys, mapper.cli; sys.exit(any(m.startswith({heavy}) for m in sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
