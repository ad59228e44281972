"""Whether the system libraries that Qt needs on Linux are there, said by name."""

import ctypes
import os
import sys
from importlib.util import find_spec
from pathlib import Path

from mapper.farm.errors import MapperError

# Debian and Ubuntu's packages for the libraries that Qt's wheels leave to the system.
_PACKAGES = {
    "libEGL": "libegl1",
    "libGL": "libgl1",
    "libOpenGL": "libopengl0",
    "libxkbcommon-x11": "libxkbcommon-x11-0",
    "libxkbcommon": "libxkbcommon0",
    "libfontconfig": "libfontconfig1",
    "libdbus-1": "libdbus-1-3",
    "libglib-2": "libglib2.0-0",
    "libxcb-cursor": "libxcb-cursor0",
    "libxcb-icccm": "libxcb-icccm4",
    "libxcb-keysyms": "libxcb-keysyms1",
    "libxcb-image": "libxcb-image0",
    "libxcb-shape": "libxcb-shape0",
    "libxcb-randr": "libxcb-randr0",
    "libxcb-render-util": "libxcb-render-util0",
    "libxcb-xkb": "libxcb-xkb1",
    "libxcb-sync": "libxcb-sync1",
    "libxcb-xfixes": "libxcb-xfixes0",
    "libX11-xcb": "libx11-xcb1",
}


class QtLibraryError(MapperError):
    """A system library that Qt needs is missing."""


def qt_sentence(trouble: str) -> QtLibraryError:
    """Return the error that names the library found missing in a loader's message."""
    library = trouble.split(":", maxsplit=1)[0].strip().split("/")[-1]
    package = next((p for stem, p in sorted(_PACKAGES.items(), reverse=True) if library.startswith(stem)), "")
    install = f"apt install {package}" if package else "your system's package manager"
    return QtLibraryError(
        f"Qt's system library {library} is missing, so neither sheets nor the window can be drawn",
        todo=f"Install it ({install}), then run this again",
    )


def need_qt(window: bool = False) -> None:
    """Raise QtLibraryError where drawing (or, with window, a window on this screen) cannot work on this machine."""
    try:
        from PySide6 import QtGui  # noqa: F401
    except ImportError as exc:
        raise qt_sentence(str(exc)) from exc
    if not window or not sys.platform.startswith("linux") or os.environ.get("QT_QPA_PLATFORM"):
        return
    if not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        raise QtLibraryError(
            "there is no screen to open a window on", todo="Use 'mapper plan' for the sheets, or start it on a desktop"
        )
    if os.environ.get("WAYLAND_DISPLAY"):
        return
    # Qt aborts the process when its screen plugin cannot be loaded; loading it ourselves first gives the name.
    spec = find_spec("PySide6")
    if spec is None or not spec.origin:
        return
    plugin = Path(spec.origin).parent / "Qt" / "plugins" / "platforms" / "libqxcb.so"
    try:
        ctypes.CDLL(str(plugin))
    except OSError as exc:
        raise qt_sentence(str(exc)) from exc
