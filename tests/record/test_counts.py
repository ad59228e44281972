"""Weed counts against scipy's own exact tests and a quasi-Poisson model of statsmodels."""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import binomtest, poisson_means_test

from mapper.farm.errors import SettingError
from mapper.record.counts import did_it_work


@pytest.mark.parametrize(
    ("burnt", "other", "a", "b"), [(5, 60, 10.0, 10.0), (0, 12, 4.0, 4.0), (3, 9, 2.0, 5.0), (41, 15, 28.0, 19.0)]
)
def test_one_count_a_side_is_the_exact_interval(burnt, other, a, b):
    """Clopper & Pearson's interval of the share, as scipy.stats.binomtest gives it, turned into a ratio of rates."""
    worked = did_it_work([burnt], [a], [other], [b])
    share = binomtest(burnt, burnt + other).proportion_ci(0.95, "exact")
    low, high = (1 - s / (1 - s) * b / a for s in (share.high, share.low))
    assert (worked.low, worked.high) == pytest.approx((low, high))
    assert worked.kill == pytest.approx(1 - burnt / a / (other / b))


def test_the_interval_agrees_with_the_test_of_two_poisson_means():
    """scipy.stats.poisson_means_test (Krishnamoorthy & Thomson 2004): sure where the interval leaves nothing out."""
    for burnt, other in ((5, 60), (10, 12), (1, 15)):
        worked = did_it_work([burnt], [10.0], [other], [10.0])
        sure = poisson_means_test(burnt, 10.0, other, 10.0).pvalue < 0.05
        assert (worked.low > 0 or worked.high < 0) == sure


def test_counts_that_vary_more_than_chance_leave_less_sure():
    even = did_it_work([2, 2, 2, 2], [1.0] * 4, [10, 10, 10, 10], [1.0] * 4)
    patchy = did_it_work([0, 0, 0, 8], [1.0] * 4, [1, 3, 30, 6], [1.0] * 4)
    assert even.kill == pytest.approx(patchy.kill)
    assert even.spread == 1.0
    assert patchy.spread > 5
    assert patchy.high - patchy.low > 2 * (even.high - even.low)
    assert "Too few counts" in patchy.text


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_estimate_and_spread_are_those_of_a_quasi_poisson_model(seed):
    """statsmodels: Poisson, log link, log area as offset, scale by Pearson's chi-square (McCullagh & Nelder 1989).

    Its interval is Wald's, so with many plants ours, which is exact, lies near it and is no narrower by much.
    """
    rng = np.random.default_rng(seed)
    area = rng.uniform(0.25, 30.0, 24)
    burnt = np.arange(24) % 2 == 0
    plants = rng.negative_binomial(4, 4 / (4 + np.where(burnt, 2.0, 8.0) * area))
    design = sm.add_constant(burnt.astype(float))
    model = sm.GLM(plants, design, family=sm.families.Poisson(), offset=np.log(area)).fit(scale="X2")
    worked = did_it_work(*(list(v) for v in (plants[burnt], area[burnt], plants[~burnt], area[~burnt])))
    assert worked.kill == pytest.approx(1 - np.exp(model.params[1]), rel=1e-6)
    assert worked.spread == pytest.approx(model.pearson_chi2 / model.df_resid, rel=1e-6)
    low, high = 1 - np.exp(model.conf_int()[1][::-1])
    assert (worked.low, worked.high) == (pytest.approx(low, abs=0.08), pytest.approx(high, abs=0.08))


def test_the_true_kill_lies_in_the_interval_as_often_as_it_says():
    rng = np.random.default_rng(7)
    inside = 0
    for _ in range(400):
        burnt, other = rng.poisson(0.3 * 4, 5), rng.poisson(4, 5)
        if other.sum():
            worked = did_it_work(list(burnt), [1.0] * 5, list(other), [1.0] * 5)
            inside += worked.low <= 0.7 <= worked.high
    assert inside / 400 >= 0.95


def test_no_plants_to_hold_it_against_says_nothing():
    worked = did_it_work([0], [1.0], [0], [1.0])
    assert np.isnan(worked.kill)
    assert "nothing can be said" in worked.text


@pytest.mark.parametrize("counts", [([], [], [1], [1.0]), ([1], [0.0], [1], [1.0]), ([-1], [1.0], [1], [1.0])])
def test_counts_that_cannot_be_are_refused(counts):
    with pytest.raises(SettingError):
        did_it_work(*counts)
