"""Starts the desktop program. Nothing heavy is imported before the window shows."""

import sys

import shiboken6
from PySide6.QtCore import QSettings, Qt, QTimer
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication

from mapper.draw.lettering import load_fonts
from mapper.window import looks
from mapper.window.tour import wanted
from mapper.window.window import MainWindow
from mapper.window.words import speak


def prepare(app: QApplication, dark: bool | None = None) -> None:
    """Give the program its name, font and colours; dark None follows the computer's setting."""
    app.setApplicationName("mapper")
    app.setStyle("Fusion")
    font = QFont(load_fonts())
    # A larger system text stays larger: 13 px at the usual 9 to 10 points.
    points = app.font().pointSizeF()
    font.setPixelSize(round(looks.BODY * max(1.0, points / 11.0)) if points > 0 else looks.BODY)
    app.setFont(font)
    if dark is None:
        kept = QSettings("mapper", "mapper").value("dark")
        dark = (
            str(kept).lower() == "true" if kept is not None else app.styleHints().colorScheme() == Qt.ColorScheme.Dark
        )
    looks.dress(app, dark)
    speak(app)
    # Painting in workers must not starve the GUI thread (measured: 5 ms slices make panning stutter).
    sys.setswitchinterval(0.0005)


def run(path: str | None = None) -> int:
    """Open the window, perhaps with a file, and return the exit code once it is closed."""
    held = QApplication.instance()
    app = held if isinstance(held, QApplication) else QApplication(sys.argv[:1])
    prepare(app)
    window = MainWindow()
    window.show()
    QTimer.singleShot(0, window.warm_up)
    QTimer.singleShot(300, window.keeping.offer)
    if path is None and wanted() and not window.keeping.left():
        QTimer.singleShot(300, window.show_round)
    if path is not None:
        QTimer.singleShot(0, lambda: window.files.open_path(path))
    code = app.exec()
    # The window goes before the program does: at the interpreter's end Qt took it down in the wrong order (seen).
    shiboken6.delete(window)
    return code
