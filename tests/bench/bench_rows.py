"""Print the table of row derivation on simulated logs: `python -m tests.bench.bench_rows [scene ...]`.

Columns: recall and precision of row length within 0.5 m, row ends p50/p95 (m), load p50/p95 and total (%), false m in
100 km (further than 3 m from any true row), heaps found and their kg, lateral p95; then seconds for a million fixes.
"""

import sys
import time

import pandas as pd
from shapely import affinity

from mapper.farm.limits import LocalLimits
from mapper.rows.derive import derive_rows
from tests.rows.scenes import CRS, SCENES, known_straw, paddock_of, run
from tests.rows.score import score
from tests.rows.simulator import drive, harvesters


def table(names: list[str]) -> None:
    """One line a scene."""
    for name in names:
        found, truth, log = run(SCENES[name])
        print(f"{name:26s}{score(found, truth).line()}  rows {len(found.windrows)}/{len(truth.rows)} fixes {len(log)}")


def seconds_per_million(flag: bool, fixes: int = 1_000_000) -> float:
    """One paddock's log, laid side by side until it has about a million fixes, derived paddock by paddock."""
    scene = known_straw(SCENES["RTK 1 s" if flag else "no flag"])
    log, _ = drive(scene)
    copies = max(1, round(fixes / len(log)))
    shift = [(k % 10 * 700.0, k // 10 * 700.0) for k in range(copies)]
    logs = [log.assign(x=log["x"] + dx, y=log["y"] + dy, t_s=log["t_s"] + 2e4 * k) for k, (dx, dy) in enumerate(shift)]
    farm = pd.concat(logs, ignore_index=True)
    shapes = [affinity.translate(scene.paddock, dx, dy) for dx, dy in shift]
    derive_rows(log, harvesters(scene), paddock_of(scene.paddock), CRS, limits=LocalLimits())  # numba compiled
    start = time.perf_counter()
    for shape in shapes:
        derive_rows(farm, harvesters(scene), paddock_of(shape), CRS, limits=LocalLimits())
    return (time.perf_counter() - start) / len(farm) * 1e6


if __name__ == "__main__":
    table(sys.argv[1:] or list(SCENES))
    times = [seconds_per_million(flag) for flag in (True, False)]
    print(f"seconds per million fixes: with flag {times[0]:.1f}, without {times[1]:.1f}")
