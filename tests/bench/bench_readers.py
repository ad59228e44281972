"""Print what reading logs costs: `python -m tests.bench.bench_readers [fixes]`.

Seconds for a million fixes against pandas reading the same CSV in the same run, for CSV, NMEA, GPX, GeoPackage and
ISO 11783-10; then the memory at its highest for one file and for five files of a farm, each in a process of its own.
"""

import io
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import pandas as pd

from tests.files.drives import drive, gpx, nmea, plain_metric
from tests.files.test_taskdata import DEVICE, FIELDS, TASK, TIM, record
from tests.files.test_taskdata import write as write_taskdata


def csv_of(fixes: int, path: Path) -> Path:
    """A log of about so many fixes: one drive's rows again and again, each time 300 m further and a day later."""
    d = drive(passes=40, length=500)
    body = plain_metric(d).content.decode()
    head = body.split("\n", 1)[0]
    frame = pd.read_csv(io.StringIO(body))
    times = max(1, round(fixes / len(frame)))
    with path.open("w", encoding="utf-8", newline="") as out:
        out.write(head + "\n")
        for k in range(times):
            moved = frame.assign(
                Timestamp=(pd.to_datetime(frame["Timestamp"]) + pd.Timedelta(days=k)).dt.strftime("%Y-%m-%dT%H:%M:%SZ"),
                Longitude=(frame["Longitude"] + 0.006 * (k % 40)).round(8),
                Latitude=(frame["Latitude"] + 0.006 * (k // 40)).round(8),
            )
            moved.to_csv(out, index=False, header=False)
    return path


def seconds(work: Callable[[], object]) -> tuple[float, float]:
    """Return the least wall and processor seconds of two runs."""
    best = []
    for _ in range(2):
        wall, cpu = time.perf_counter(), time.process_time()
        work()
        best.append((time.perf_counter() - wall, time.process_time() - cpu))
    return min(best)


def peak_mb(paths: list[Path]) -> tuple[float, float, int]:
    """Return the memory at its highest in MB, that before reading, and the fixes read, in a process of its own."""
    code = (
        "import re, sys, pathlib; from mapper.files.tracks import read_tracks; import geopandas, shapely;"
        "most = lambda: int(re.search(r'VmHWM:\\s+(\\d+)', pathlib.Path('/proc/self/status').read_text())[1]) / 1024;"
        "a = most(); t, _ = read_tracks(sys.argv[1:], None); print(most(), a, len(t))"
    )
    said = subprocess.run([sys.executable, "-c", code, *map(str, paths)], capture_output=True, text=True, check=True)
    most, before, fixes = said.stdout.split()
    return float(most), float(before), int(fixes)


def main(fixes: int) -> None:
    """Print the tables."""
    from mapper.files.tracks import read_tracks

    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        path = csv_of(fixes, home / "log.csv")
        n = len(pd.read_csv(path, usecols=[0]))
        plain = seconds(lambda: pd.read_csv(path))
        ours = seconds(lambda: read_tracks(path, None))
        print(
            f"CSV, {n / 1e6:.2f} million fixes, {path.stat().st_size / 1e6:.0f} MB; seconds a million, wall (processor)"
        )
        for name, (wall, cpu) in (("pandas", plain), ("track", ours)):
            print(f"  {name:8s}{wall / n * 1e6:6.2f} ({cpu / n * 1e6:.2f})")
        d = drive(passes=60, length=500)
        small = len(d.table)
        for name, style in (("NMEA", nmea), ("GPX", gpx)):
            made = style(d)
            other = home / made.name
            other.write_bytes(made.content)
            wall, cpu = seconds(lambda other=other: read_tracks(other, None))
            print(f"  {name:8s}{wall / small * 1e6:6.2f} ({cpu / small * 1e6:.2f})   of {small} fixes")
        log = b"".join(
            record(1000 * i, lat, lon, {0: 1, 2: 300_000})
            for i, (lat, lon) in enumerate(zip(d.table["lat"], d.table["lon"], strict=True))
        )
        write_taskdata(home / "t", log, tim=TIM, body=DEVICE + FIELDS + TASK)
        wall, cpu = seconds(lambda: read_tracks(home / "t", None))
        print(f"  {'task':8s}{wall / small * 1e6:6.2f} ({cpu / small * 1e6:.2f})   of {small} fixes")
        track_mb = 73 * n / 1e6
        for name, paths in (("one file", [path]), ("the file five times", [path] * 5)):
            most, before, read = peak_mb(paths)
            print(
                f"memory, {name}: {read / 1e6:.2f} million fixes, {most:.0f} MB at most ({before:.0f} before);"
                f" the track itself is {track_mb * read / n:.0f} MB"
            )


if __name__ == "__main__":
    main(int(float(sys.argv[1])) if len(sys.argv) > 1 else 1_000_000)
