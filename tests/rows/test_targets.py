"""The design's targets at their thresholds (shared design, rows, "Targets"): fixed scenes, both simulators.

Slow: `pytest -m slow tests/rows/test_targets.py`. With the baselines: `python -m tests.bench.bench_rows`.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

from tests.bench.bench_rows import speed
from tests.rows.baselines import flag_only, split_on_gaps
from tests.rows.otherdriver import DAYS
from tests.rows.scenes import SCENES, run, run_day
from tests.rows.score import score

pytestmark = pytest.mark.slow


@dataclass(frozen=True)
class Target:
    """Least and most of each column of the table; the design's thresholds unless a scene says why not."""

    length: float = 99.5
    within_m: float = 0.5
    ends_p50_m: float = 0.5
    ends_p95_m: float = 5.0
    load_p50: float = 1.0
    load_p95: float = 5.0
    total: float = 0.5
    false_m: float = 100.0
    heaps: float = 97.0
    heap_kg: float = 7.0
    lateral_p95_m: float = 0.10


TARGETS = {
    "RTK 1 s": Target(),
    "dam and tree": Target(),
    "two machines": Target(),
    "RTK 5 s": Target(length=98.5, false_m=350),
    "drift 0.5 m, straight only": Target(length=96.0, lateral_p95_m=0.40),
    "faults": Target(),
    # 3 s, drift of 0.2 m, noise of 0.1 m, late flag, gaps, two machines: the design's prototype reached 95.
    "everything bad, 3 s": Target(length=95.0, false_m=350, lateral_p95_m=0.40, ends_p50_m=1.1, ends_p95_m=7.0),
    "no flag": Target(),
    # The straw of a pass's last seconds is not in the log: its tail is a guess, its end too.
    "only header-down fixes": Target(length=97.5, ends_p50_m=2.5, ends_p95_m=10.0, load_p50=1.5, false_m=350),
}


driven = cache(lambda name: run(SCENES[name]))


@pytest.mark.parametrize("name", TARGETS)
def test_target(name):
    want = TARGETS[name]
    found, truth, _ = driven(name)
    s = score(found, truth, want.within_m)
    missed = [
        text
        for text, good in (
            ("recall", s.recall >= want.length),
            ("precision", s.precision >= want.length),
            ("ends p50", s.ends_p50_m <= want.ends_p50_m),
            ("ends p95", s.ends_p95_m <= want.ends_p95_m),
            ("load p50", s.load_p50 <= want.load_p50),
            ("load p95", s.load_p95 <= want.load_p95),
            ("total load", abs(s.total_load) <= want.total),
            ("false metres", s.false_m_per_100_km <= want.false_m),
            ("heaps found", s.heaps_found >= want.heaps),
            ("heap kg", s.heap_kg_p50 <= want.heap_kg),
            ("lateral p95", s.lateral_p95_m <= want.lateral_p95_m),
        )
        if not good
    ]
    assert not missed, f"{name} misses {', '.join(missed)}: {s.line()}"


def test_contour_rows_of_a_drifting_receiver_lie_within_a_metre():
    # Nothing corrects them: a drift of 0.5 m leaves 95.4 % within a metre. One season's drift varies, so five.
    scores = []
    for seed in range(1, 6):
        found, truth, _ = run(replace(SCENES["drift 0.5 m, contour"], seed=seed))
        scores.append(score(found, truth, within_m=1.0))
    assert np.mean([s.recall for s in scores]) >= 95 and np.mean([s.precision for s in scores]) >= 95
    # A drift moves ends along the row as well.
    assert max(s.ends_p50_m for s in scores) <= 1.5 and max(s.ends_p95_m for s in scores) <= 6.0
    assert max(abs(s.total_load) for s in scores) <= 0.5 and min(s.heaps_found for s in scores) >= 97


@pytest.mark.parametrize("name", ["RTK 1 s", "dam and tree", "faults"])
def test_better_than_the_baselines(name):
    found, truth, log = driven(name)
    ours, gaps, flag = (
        score(r, truth) for r in (found, split_on_gaps(log, SCENES[name]), flag_only(log, SCENES[name]))
    )
    for other in (gaps, flag):
        assert ours.precision > other.precision and ours.recall >= other.recall
        assert ours.false_m_per_100_km < other.false_m_per_100_km and ours.ends_p50_m < other.ends_p50_m


# Another mind's machine, whose mixing (0.8 and 1.5 s) the settings do not know: measured, not tuned for.
DAY_LENGTH = {name: 98.0 for name in DAYS} | {"other, drift 0.5 m": 85.0}


@pytest.mark.parametrize("name", DAYS)
def test_other_drivers_day(name):
    found, truth, _ = run_day(DAYS[name])
    s = score(found, truth)
    assert min(s.recall, s.precision) >= DAY_LENGTH[name], s.line()
    assert s.ends_p50_m <= 2.5 and s.ends_p95_m <= 8.0, s.line()
    assert s.load_p50 <= 2.5 and abs(s.total_load) <= 1.0 and s.heaps_found >= 97, s.line()
    assert s.false_m_per_100_km <= 350, s.line()


def test_speed_against_reading_the_same_csv():
    # The design: 4 s a million with a flag and 6 without, where reading took 0.45 s; on this program's reader 0.3 s.
    for flag, most in ((True, 20.0), (False, 25.0)):
        ours, read = speed(flag, 200_000)
        assert ours <= most * read, f"{ours:.1f} s a million, pandas reads them in {read:.2f} s"
