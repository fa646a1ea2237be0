"""Statistics across sessions against published worked examples and general libraries."""

from __future__ import annotations

import math

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from companion.statistics.proportion import Z_95, wilson_interval
from companion.statistics.variance_components import variance_components


def test_silicon_resistivity() -> None:
    """NIST Statistical Reference Datasets, analysis of variance, SiRstv: data and certified values
    (from memory; that data and values fit each other to nine digits bears the memory out)."""
    instruments = {
        "1": [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
        "2": [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
        "3": [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
        "4": [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
        "5": [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
    }
    found = variance_components(instruments)
    assert found is not None
    assert (found.between_df, found.within_df) == (4, 20)
    assert found.mean_square_between == pytest.approx(1.27865654e-2, rel=1e-8)
    assert found.mean_square_within == pytest.approx(1.0831828e-2, rel=1e-8)
    assert found.f_ratio == pytest.approx(1.18046237440255, rel=1e-8)
    assert math.sqrt(found.within) == pytest.approx(0.104076068334656, rel=1e-8)


def test_calcium_of_turnip_leaves() -> None:
    """G. W. Snedecor and W. G. Cochran, Statistical Methods: four leaves, four determinations each;
    components 0.0066 within and 0.0724 between leaves (from memory)."""
    leaves = {
        "1": [3.28, 3.09, 3.03, 3.03],
        "2": [3.52, 3.48, 3.38, 3.38],
        "3": [2.88, 2.80, 2.81, 2.76],
        "4": [3.34, 3.38, 3.23, 3.26],
    }
    found = variance_components(leaves)
    assert found is not None
    assert found.within == pytest.approx(0.0066, abs=5e-5)
    assert found.between == pytest.approx(0.0724, abs=5e-5)


def test_f_of_unequal_groups_is_scipys() -> None:
    random = np.random.default_rng(3)
    groups = {str(n): random.normal(n / 3, 1.0, 3 + 2 * n).tolist() for n in range(5)}
    found = variance_components(groups)
    assert found is not None
    expected = stats.f_oneway(*groups.values())
    assert found.f_ratio == pytest.approx(float(expected.statistic), rel=1e-12)


def test_components_of_equal_groups_are_those_of_a_mixed_model() -> None:
    """For equal groups, and a component above zero, moments and REML agree (statsmodels)."""
    random = np.random.default_rng(4)
    offsets = random.normal(0.0, 2.0, 12)
    groups = {str(n): (offsets[n] + random.normal(0.0, 1.0, 8)).tolist() for n in range(12)}
    found = variance_components(groups)
    assert found is not None
    values = np.concatenate([np.array(group) for group in groups.values()])
    labels = np.repeat(list(groups), 8)
    fitted = sm.MixedLM(values, np.ones((len(values), 1)), labels).fit(reml=True)
    assert found.within == pytest.approx(fitted.scale, rel=1e-3)
    assert found.between == pytest.approx(float(np.ravel(fitted.cov_re)[0]), rel=1e-3)


def test_components_of_unequal_groups_are_right_on_the_average() -> None:
    """A simulation with known components: 2 between and 1 within (derived)."""
    random = np.random.default_rng(5)
    sizes = (2, 3, 5, 8, 13, 4)
    between, within = [], []
    for _ in range(1500):
        groups = {
            str(n): (random.normal(0, math.sqrt(2)) + random.normal(0, 1, size)).tolist()
            for n, size in enumerate(sizes)
        }
        found = variance_components(groups)
        assert found is not None
        between.append(found.between_raw)
        within.append(found.within)
    for values, expected in ((between, 2.0), (within, 1.0)):
        error = np.std(values) / math.sqrt(len(values))
        assert abs(np.mean(values) - expected) < 4 * error


@pytest.mark.parametrize(("hits", "trials"), [(0, 10), (1, 10), (10, 10), (3, 158), (40, 400)])
def test_wilsons_interval_is_that_of_statsmodels(hits: int, trials: int) -> None:
    low, high = proportion_confint(hits, trials, method="wilson")
    assert wilson_interval(hits, trials) == pytest.approx((low, high), abs=1e-12)
    assert pytest.approx(float(stats.norm.ppf(0.975)), abs=1e-14) == Z_95
