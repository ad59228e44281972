import itertools
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.farm.errors import LayerError
from mapper.order.nights import choose_nights


def best(need, there, worth, allowed):
    """Worth of the best choice, by trying all."""
    p, n = worth.shape
    top = 0.0
    for choice in itertools.product(range(-1, n), repeat=p):
        hours, sum_ = np.zeros(n), 0.0
        for i, k in enumerate(choice):
            if k >= 0:
                if not allowed[i, k]:
                    break
                hours[k] += need[i]
                sum_ += worth[i, k]
        else:
            if (hours <= there + 1e-9).all():
                top = max(top, sum_)
    return top


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**31), st.integers(1, 5), st.integers(1, 4))
def test_the_choice_is_the_best_there_is(seed, p, n):
    chance = np.random.default_rng(seed)
    need, there = chance.uniform(0.2, 4, p), chance.uniform(0, 6, n)
    worth, allowed = chance.uniform(0, 100, (p, n)), chance.random((p, n)) < 0.7
    found = choose_nights(need, there, worth, allowed)
    assert found.worth == pytest.approx(best(need, there, worth, allowed), abs=1e-6)
    assert found.bound >= found.worth - 1e-6
    for k in range(n):
        assert need[found.night == k].sum() <= there[k] + 1e-6
    assert all(allowed[i, k] for i, k in enumerate(found.night) if k >= 0)


def test_ten_paddocks_over_a_week_are_exact_and_quick():
    # Design: 10 x 7 in 0.02 s, exact.
    chance = np.random.default_rng(3)
    need, there, worth = chance.uniform(1, 4, 10), np.full(7, 4.0), chance.uniform(10, 80, (10, 7))
    choose_nights(need, there, worth, np.ones((10, 7), dtype=bool))
    start = time.process_time()
    found = choose_nights(need, there, worth, np.ones((10, 7), dtype=bool))
    assert time.process_time() - start < 1.0
    assert found.bound == pytest.approx(found.worth, rel=1e-4)


def test_a_hundred_paddocks_over_a_month_come_close():
    # Design: 100 x 30 within 3 % at 20 s.
    chance = np.random.default_rng(4)
    need, there = chance.uniform(1, 5, 100), chance.uniform(0, 5, 30)
    found = choose_nights(need, there, chance.uniform(10, 80, (100, 30)), chance.random((100, 30)) < 0.6, 20.0)
    assert found.worth >= 0.97 * found.bound > 0


def test_nothing_allowed_or_nothing_there():
    none = choose_nights(np.ones(2), np.ones(3), np.ones((2, 3)), np.zeros((2, 3), dtype=bool))
    assert (none.night == -1).all() and none.worth == none.bound == 0
    assert choose_nights(np.ones(0), np.ones(0), np.ones((0, 0)), np.ones((0, 0), dtype=bool)).night.size == 0
    with pytest.raises(LayerError):
        choose_nights(np.ones(2), np.ones(3), np.ones((3, 2)), np.ones((3, 2), dtype=bool))
