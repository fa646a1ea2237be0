"""Change points and the watch against published examples, tables and general libraries."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import numpy.typing as npt
import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests

from companion.statistics.change_point import (
    change_point,
    holm,
    largest_sum,
    mid_ranks,
    normal_scores,
)
from companion.statistics.summary import MEASURES
from companion.statistics.watching import ALLOWANCE, LEAST_VALUES, LIMIT, watched

PETTITT_TABLE_1 = [
    *(-1.05, 0.96, 1.22, 0.58, -0.98, -0.03, -1.54, -0.71, -0.35, 0.66, 0.44, 0.91, -0.02, -1.42),
    *(1.26, -1.02, -0.81, 1.66, 1.05, 0.97, 2.14, 1.22, -0.24, 1.60, 0.72, -0.12, 0.44, 0.03, 0.66),
    *(0.56, 1.37, 1.66, 0.10, 0.80, 1.29, 0.49, -0.07, 1.18, 3.29, 1.84),
]


def largest_sum_of_signs(values: list[float]) -> tuple[float, int]:
    """K and its place from Pettitt's definition: signs of all differences across the change."""
    x = np.array(values)
    sums = [abs(np.sign(x[:t, None] - x[None, t:]).sum()) for t in range(1, len(x))]
    return float(max(sums)), int(np.argmax(sums)) + 1


def quantiles_of_scipys_ranks(values: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Normal scores by scipy."""
    scores = stats.norm.ppf((stats.rankdata(values) - 0.5) / np.size(values))
    return np.asarray(scores - scores.mean(), float)


def largest_difference_of_means(values: npt.ArrayLike) -> float:
    """The statistic anew: t (n - t) / n times the difference of the means of scores across t."""
    scores = quantiles_of_scipys_ranks(values)
    n = len(scores)
    return max(t * (n - t) / n * abs(scores[:t].mean() - scores[t:].mean()) for t in range(1, n))


def test_pettitts_own_example() -> None:
    """A. N. Pettitt, Applied Statistics 28 (1979), table 1 (data of E. S. Page, 1955): K = 232,
    change after the 17th value, approximate p 0.0146. Data and results as given in the reference
    pages of the R package wq 0.4.8, function pett (the page read). With his ranks the sums are his;
    with normal scores the change stands at the same value. What shuffling shows lies below the
    limit for long series, that of A. N. Kolmogorov for the largest excursion of a bridge, on which
    Pettitt's approximation rests (from memory)."""
    ranks = mid_ranks(PETTITT_TABLE_1)
    n = len(ranks)
    assert largest_sum(2 * ranks - (n + 1)) == (17, 232.0)
    approximate = 2 * math.exp(-6 * 232.0**2 / (n**3 + n**2))
    assert approximate == pytest.approx(0.0146, abs=5e-5)
    found = change_point(PETTITT_TABLE_1, 0.005)
    assert found.place == 17
    scatter = float(np.var(quantiles_of_scipys_ranks(PETTITT_TABLE_1)))
    limit = 2 * math.exp(-2 * found.statistic**2 / (n * scatter))
    assert 0.3 * limit < found.p_value < limit


def test_the_place_is_that_of_pettitts_definition_ties_or_not() -> None:
    """The sum of signs that Pettitt begins with, and scipy's ranks."""
    random = np.random.default_rng(1)
    for rounding in (0.001, 1.0, 2.0):
        for count in (2, 7, 40):
            values = (np.round(random.normal(size=count) / rounding) * rounding).tolist()
            ranks = mid_ranks(values)
            assert ranks.tolist() == stats.rankdata(values).tolist()
            statistic, place = largest_sum_of_signs(values)
            assert largest_sum(2 * ranks - (count + 1)) == (place, statistic)


def test_the_scores_and_their_largest_sum_are_those_of_scipys_ranks() -> None:
    random = np.random.default_rng(2)
    for rounding in (0.001, 1.0, 2.0):
        values = np.round(random.normal(size=33) / rounding) * rounding
        expected = quantiles_of_scipys_ranks(values)
        assert normal_scores(values.tolist()) == pytest.approx(expected, abs=1e-12)
        found = change_point(values.tolist(), 0.1)
        assert found.statistic == pytest.approx(largest_difference_of_means(values), abs=1e-9)


def test_of_few_values_the_p_value_is_the_exact_one() -> None:
    """Two kinds of values only: every arrangement is counted (derived)."""
    values = [0.0] * 8 + [1.0, 0.0] + [1.0] * 6
    ones = int(sum(values))
    statistic = largest_difference_of_means(values)
    kept = []
    for where in combinations(range(len(values)), ones):
        arranged = [0.0] * len(values)
        for place in where:
            arranged[place] = 1.0
        kept.append(largest_difference_of_means(arranged) >= statistic - 1e-9)
    exact = sum(kept) / len(kept)
    found = change_point(values, 1e-4).p_value
    assert found == pytest.approx(exact, abs=4 * math.sqrt(exact / 100_000) + 1e-5)


def test_the_p_value_is_that_of_scipys_permutation_test() -> None:
    values = np.random.default_rng(4).normal(size=40)
    values[25:] += 0.8

    def statistic(sample: npt.NDArray[np.float64]) -> float:
        return float(np.abs(np.cumsum(quantiles_of_scipys_ranks(sample))).max())

    outside = stats.permutation_test(
        (values,),
        statistic,
        permutation_type="pairings",
        n_resamples=20_000,
        alternative="greater",
        rng=np.random.default_rng(5),
        vectorized=False,
    )
    found = change_point(values.tolist(), 1e-3).p_value
    assert found == pytest.approx(float(outside.pvalue), rel=0.35)


def test_holms_adjustment_is_that_of_statsmodels() -> None:
    for seed in range(20):
        p_values = np.random.default_rng(seed).uniform(size=12) ** 3
        expected = multipletests(p_values, method="holm")[1]
        assert holm(p_values.tolist()) == pytest.approx(expected.tolist(), abs=1e-14)


def one_sided_run_length(limit: float, shift: float = 0.0, cells: int = 400) -> float:
    """Mean run length of a CUSUM of normal values with allowance 1/2, as a Markov chain.

    D. Brook and D. A. Evans, Biometrika 59 (1972) (the method, from memory).
    """
    width = 2 * limit / (2 * cells - 1)
    middles = width * np.arange(cells)
    edges = middles[None, :] + width / 2 - middles[:, None] + ALLOWANCE - shift
    below = stats.norm.cdf(edges)
    steps = np.diff(below, axis=1, prepend=0.0)
    lengths = np.linalg.solve(np.eye(cells) - steps, np.ones(cells))
    return float(lengths[0])


def two_sided_run_length(limit: float, shift: float = 0.0) -> float:
    up, down = one_sided_run_length(limit, shift), one_sided_run_length(limit, -shift)
    return 1 / (1 / up + 1 / down)


@pytest.mark.parametrize(
    ("shift", "at_4", "at_5"),
    [(0.0, 168, 465), (0.5, 26.6, 38.0), (1.0, 8.38, 10.4), (2.0, 3.34, 4.01)],
)
def test_the_chain_gives_the_published_run_lengths(shift: float, at_4: float, at_5: float) -> None:
    """Average run lengths of a CUSUM with k = 1/2: table 16-9 of D. C. Montgomery and G. C. Runger,
    Applied Statistics and Probability for Engineers (its figures read in an exercise that quotes
    the table). It bears out the chain that the next check leans on."""
    assert two_sided_run_length(4.0, shift) == pytest.approx(at_4, rel=4e-3)
    assert two_sided_run_length(5.0, shift) == pytest.approx(at_5, rel=4e-3)


def test_the_limit_makes_one_false_alarm_a_bay_in_a_thousand_jobs() -> None:
    """Charts that know their level and scatter (Markov chain): the self-starting one comes
    near that, as its ranks become normal scores while it learns them."""
    of_a_job = set(MEASURES) - {"heads_out_left_deg", "turn_error_deg"}  # a stand check's
    assert two_sided_run_length(LIMIT) / len(of_a_job) == pytest.approx(1000, rel=0.1)


def test_the_watch_is_the_cusum_of_scipys_ranks() -> None:
    """Each step made anew with scipy, rounded readings too."""
    for seed in range(40):
        random = np.random.default_rng(seed)
        values = random.normal(size=90)
        values[50:] += 1.5
        if seed % 2:
            values = np.round(values)
        up = down = 0.0
        place = None
        for n in range(1, len(values) + 1):
            score = stats.norm.ppf((stats.rankdata(values[:n])[-1] - 0.5) / n)
            up, down = max(0.0, up + score - 0.5), max(0.0, down - score - 0.5)
            if n > LEAST_VALUES and max(up, down) > LIMIT:
                place = n - 1
                break
        found = watched(values.tolist())
        assert (found[0].place if found else None) == place


def test_a_bay_at_rest_signals_once_in_a_thousand_jobs() -> None:
    """An independent simulation: while nothing changes, sequential ranks are independent and
    evenly spread (A. Renyi, 1962; from memory), so no values need be made. 500 bays."""
    random = np.random.default_rng(8)
    bays, alarms, watched_jobs = 500, 0, 0
    up = np.zeros((bays, len(MEASURES)))
    down, alive = up.copy(), np.ones(bays, bool)
    for n in range(1, 1500 + LEAST_VALUES):
        ranks = random.integers(1, n + 1, size=up.shape)
        scores = stats.norm.ppf((ranks - 0.5) / n)
        up, down = np.maximum(0, up + scores - 0.5), np.maximum(0, down - scores - 0.5)
        if n > LEAST_VALUES:
            watched_jobs += int(alive.sum())
            signals = alive & (np.maximum(up, down) > LIMIT).any(axis=1)
            alarms += int(signals.sum())
            alive &= ~signals
    assert watched_jobs / alarms == pytest.approx(1000, rel=4 / math.sqrt(alarms))
