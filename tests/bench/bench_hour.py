"""How many pictures a second follow the hour while it is dragged over the sample's evening.

python tests/bench/bench_hour.py
"""

import os
import time
from datetime import timedelta

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


def main() -> None:
    """Open the sample, work it out, drag the hour for five seconds, print what came."""
    import numpy as np
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QApplication

    from mapper.window.app import prepare
    from mapper.window.window import MainWindow

    app = QApplication([])
    prepare(app, dark=False)
    window = MainWindow()
    window.resize(1440, 900)
    window.show()

    def idle() -> None:
        QTest.qWait(200)
        while window.jobs.running():
            QTest.qWait(50)

    window.files.open_sample()
    idle()
    window.work.work_out()
    idle()
    window.session.go_to("evening")
    window.show_all()
    idle()
    came: list[float] = []
    take = window.canvas.take_moving
    window.canvas.take_moving = lambda view, image: (came.append(time.perf_counter()), take(view, image))  # type: ignore
    at = min(b.starts_at for b in window.evening.blocks)  # type: ignore[union-attr]
    slots, began, cpu = [], time.perf_counter(), time.process_time()
    while time.perf_counter() - began < 5.0:
        at += timedelta(minutes=1)
        start = time.perf_counter()
        window.session.show_hour(at)
        slots.append(1000 * (time.perf_counter() - start))
        QTest.qWait(16)
    cpu_ms = 1000 * (time.process_time() - cpu) / max(1, len(came))
    gaps = 1000 * np.diff(came)
    middle, late = np.median(gaps), np.percentile(gaps, 95)
    print(f"{len(came) / 5:.0f} pictures a second; gap median {middle:.0f} ms, p95 {late:.0f} ms")
    print(f"{cpu_ms:.0f} ms of CPU a picture, all threads")
    middle, late = np.median(slots), np.percentile(slots, 95)
    print(f"one step in the GUI thread: median {middle:.1f} ms, p95 {late:.1f} ms")
    window._closing = True
    window.close()


if __name__ == "__main__":
    main()
