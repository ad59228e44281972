"""Print the table of row derivation on simulated logs: `python -m tests.bench.bench_rows [scene ...]`.

Columns: recall and precision of row length within 0.5 m, row ends p50/p95 (m), load p50/p95 of length, p95 of rows
and total (%), false m in
100 km (further than 3 m from any true row), heaps found and their kg, lateral p95. Under each scene the two baselines;
then the second simulator, seconds of processor time for a million fixes against pandas reading the same CSV in the
same run, and the memory of five million fixes in one farm (`--memory` runs only that, in a process of its own).
"""

import resource
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import pandas as pd
from shapely import affinity

from mapper.farm.crs import Grid
from mapper.farm.farm import empty_farm
from mapper.farm.layers import make_layer
from mapper.plan.rows import rows_of_farm
from tests.rows.baselines import flag_only, split_on_gaps
from tests.rows.otherdriver import DAYS
from tests.rows.scenes import CRS, SCENES, known_straw, run, run_day
from tests.rows.score import score
from tests.rows.simulator import KITE, Scene, drive, harvesters

MILLION = 1_000_000


def table(names: list[str]) -> None:
    """Ours and the baselines, scene by scene."""
    for name in names:
        if name in DAYS:
            found, truth, log = run_day(DAYS[name])
            print(f"{name:37s}{score(found, truth).line()}  rows {len(found.windrows)}/{len(truth.rows)}", flush=True)
            continue
        scene = SCENES[name]
        found, truth, log = run(scene)
        print(f"{name:37s}{score(found, truth).line()}  rows {len(found.windrows)}/{len(truth.rows)}", flush=True)
        if scene.clock:
            print(f"{'    split on time gaps':37s}{score(split_on_gaps(log, scene), truth).line()}")
            if scene.flag and not scene.only_down:
                print(f"{'    work flag only':37s}{score(flag_only(log, scene), truth).line()}", flush=True)


def farm_of(fixes: int, flag: bool = True):  # type: ignore[no-untyped-def]
    """One paddock's log of about 40,000 fixes laid side by side until the farm has `fixes`."""
    big = affinity.scale(KITE, 2.0, 2.0, origin=(0, 0))
    scene = known_straw(Scene(big, flag=flag))
    log, _ = drive(scene)
    copies = max(1, round(fixes / len(log)))
    shift = [(k % 10 * 1400.0, k // 10 * 1400.0) for k in range(copies)]
    track = pd.concat(
        [log.assign(x=log["x"] + dx, y=log["y"] + dy, t_s=log["t_s"] + 8e4 * k) for k, (dx, dy) in enumerate(shift)],
        ignore_index=True,
    )
    shapes = [affinity.translate(scene.paddock, dx, dy) for dx, dy in shift]
    names = [f"P{k}" for k in range(copies)]
    paddocks = make_layer("paddocks", {"paddock": names, "crop": ["wheat"] * copies}, shapes, CRS)
    farm = empty_farm(Grid(paddocks.crs), "Australia/Adelaide")
    return farm.with_(paddocks=paddocks, tracks={"log": track}, harvesters=tuple(harvesters(scene).values()))


def derive(farm) -> float:  # type: ignore[no-untyped-def]
    """Return the seconds that all rows of a farm take."""
    start = time.process_time()
    rows_of_farm(farm, {}, lambda d, n: None, lambda: False)
    return time.process_time() - start


def speed(flag: bool, fixes: int = MILLION) -> tuple[float, float]:
    """Return seconds per million fixes: deriving the rows, and pandas reading the same fixes from a CSV."""
    farm = farm_of(fixes, flag)
    derive(farm.with_(paddocks=farm.paddocks.iloc[:1]))  # numba compiled
    track = farm.tracks["log"]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        track.to_csv(path, index=False)
        start = time.process_time()
        pd.read_csv(path)
        read = time.process_time() - start
    return derive(farm) / len(track) * MILLION, read / len(track) * MILLION


def memory(fixes: int = 5 * MILLION) -> None:
    """Print the memory of a farm with so many fixes, before and at the most while its rows are derived."""
    farm = farm_of(fixes)
    one = farm.with_(paddocks=farm.paddocks.iloc[:1])
    derive(one)
    held = farm.tracks["log"].memory_usage(deep=False).sum() / 1e6
    before, seen, done = _held_mb(), [0.0], threading.Event()

    def watch() -> None:
        while not done.wait(0.02):
            seen.append(_held_mb())

    watcher = threading.Thread(target=watch)
    watcher.start()
    took = derive(farm)
    done.set()
    watcher.join()
    print(
        f"{len(farm.tracks['log']) / 1e6:.1f} M fixes in {len(farm.paddocks)} paddocks: {took:.0f} s; the log itself "
        f"{held:.0f} MB; memory before {before:.0f} MB, at the most while deriving {max(seen):.0f} MB"
    )


def _held_mb() -> float:
    """Resident memory now (Linux)."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * resource.getpagesize() / 1e6


if __name__ == "__main__":
    if sys.argv[1:] == ["--memory"]:
        memory()
        sys.exit()
    table(sys.argv[1:] or [*SCENES, *DAYS])
    for with_flag in (True, False):
        ours, pandas = speed(with_flag)
        word = "with" if with_flag else "without"
        times = ours / pandas
        print(f"per million fixes, {word} flag: {ours:.1f} s; pandas reads them in {pandas:.2f} s: {times:.1f} times")
    subprocess.run([sys.executable, "-m", "tests.bench.bench_rows", "--memory"], check=True)
