"""Pictures of the window's states, light and dark, for eyes and for the README.

python tests/bench/window_states.py FOLDER [1440x900 ...]
"""

import os
import sys
from datetime import UTC, datetime
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

STEPS = ("paddock", "rows", "breaks", "evening", "order", "sheets")


def main(folder: Path, sizes: list[str]) -> None:
    """Work the sample farm out once, then picture every step at every size in both looks."""
    from PySide6.QtCore import QSettings
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QApplication

    from mapper.window.app import prepare
    from mapper.window.state import Session
    from mapper.window.window import MainWindow

    folder.mkdir(parents=True, exist_ok=True)
    QSettings.setPath(QSettings.Format.NativeFormat, QSettings.Scope.UserScope, str(folder / "settings"))
    QSettings("mapper", "mapper").setValue("data_folder", str(folder / "data"))
    app = QApplication([])
    prepare(app, dark=False)
    window = MainWindow(Session(now=lambda: datetime(2026, 4, 17, 6, 40, tzinfo=UTC)))
    window.show()

    def picture(name: str) -> None:
        QTest.qWait(300)
        while window.jobs.running():
            QTest.qWait(50)
        QTest.qWait(200)
        for looks in ("light", "dark"):
            window.grab().save(str(folder / f"{name}_{window.width()}_{looks}.png"))
            window.turn_looks()
            QTest.qWait(400)
            while window.jobs.running():
                QTest.qWait(50)

    for size in sizes:
        window.resize(*map(int, size.split("x")))
        if window.session.farm is None:
            picture("empty")
            window.files.open_sample()
            QTest.qWait(300)
            while window.jobs.running():
                QTest.qWait(50)
            picture("farm")
            window.work.work_out()
            while window.jobs.running():
                QTest.qWait(50)
        name = window.session.plan.paddocks[0] if window.session.plan is not None else ""
        for step in STEPS:
            window.session.go_to(step)
            window.show_paddock(name)
            picture(step)
    window.keeping.forget()
    window.session.undo.setClean()
    window._closing = True
    window.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:] or ["1440x900", "1920x1080"])
