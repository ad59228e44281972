"""The solver against an exact one on small tasks, and against a lower bound on larger ones; closed forms elsewhere."""

import numpy as np
import pytest
import shapely

from mapper.order.sequence import solve
from tests.order.test_sequence import rows, task_of


def exact_s(task):
    """The earliest finish of one crew by dynamic programming over sets lit, the last piece and its way round.

    Held against precedence of one wind only; exact, for up to some thirty pieces whose precedence leaves few sets.
    """
    n = len(task.ends)
    pairs = task.pairs[0]
    needs = [0] * n
    for first, then in zip(pairs.first, pairs.then, strict=True):
        needs[then] |= 1 << int(first)
    speed = float(task.travel_m_s[0])
    light = task.lighting_s[0]
    now = {}
    for p in range(n):
        if needs[p] == 0:
            for way in range(2):
                now[(1 << p, p, way)] = float(light[p])
    for _ in range(n - 1):
        then = {}
        for (lit, p, way), t in now.items():
            for q in range(n):
                if lit >> q & 1 or needs[q] & ~lit:
                    continue
                for w in range(2):
                    drive = np.hypot(*(task.ends[q, w] - task.ends[p, 1 - way])) / speed
                    key, at = (lit | 1 << q, q, w), t + drive + float(light[q])
                    if at < then.get(key, np.inf):
                        then[key] = at
        now = then
    return min(t + float(task.out_s[p]) for (_, p, _), t in now.items())


def bound_s(task):
    """No crew can finish sooner: all lighting, and into each piece but one the shortest drive from any other's end."""
    ends = task.ends
    away = np.hypot(*(ends[:, None, :, None, :] - ends[None, :, None, :, :]).transpose(4, 0, 1, 2, 3)).min(axis=(2, 3))
    np.fill_diagonal(away, np.inf)
    drives = np.sort(away.min(axis=1))[:-1]
    return task.lighting_s[0].sum() + drives.sum() / float(task.travel_m_s[0]) + task.out_s.min()


def two_columns(count, seed, gap=20.0):
    """Rows of uneven length in two columns end to end, lighting times by their length."""
    random = np.random.default_rng(seed)
    found = []
    for column in range(2):
        for k in range(count):
            low, high = column * 420.0 + random.uniform(0, 30), column * 420.0 + 400 - gap - random.uniform(0, 120)
            found.append(shapely.LineString([(12.0 * k, low), (12.0 * k, high)]))
    light = np.array([[g.length / (12 / 3.6) + 5.0 * (int(g.length / 100) + 1) for g in found]])
    return found, light


@pytest.mark.parametrize(("count", "seed", "to_deg"), [(5, 1, 90.0), (7, 2, 60.0), (10, 3, 90.0), (15, 4, 75.0)])
def test_within_one_per_cent_of_the_exact_finish(count, seed, to_deg):
    found, light = two_columns(count, seed)
    task = task_of(found, to_deg, lighting_s=light)
    best = exact_s(task)
    assert best - 1e-6 <= solve(task).out_s.max() <= 1.01 * best


@pytest.mark.parametrize(("count", "to_deg"), [(30, 70.0), (100, 110.0), (300, 70.0)])
def test_larger_plans_are_within_one_per_cent_of_the_bound(count, to_deg):
    # Even rows, as a harvester leaves them: 800 m, 12 m apart. The bound counts every drive as the shortest there is.
    task = task_of(rows(count), to_deg)
    assert solve(task).out_s.max() <= 1.01 * bound_s(task)


def test_the_oracle_knows_a_case_worked_by_hand():
    # Two rows of 100 m, 12 m apart, 36 s each at 20 km/h between: 36 + 12 / 5.56 + 36.
    task = task_of(rows(2, 100.0), 90.0, lighting_s=36.0)
    assert exact_s(task) == pytest.approx(72 + 12 / (20 / 3.6))
