"""The entered doubt against the scatter seen, with scipy and published examples as judges."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2

from companion.uncertainty.agreement import (
    NO_SCATTER,
    Scatter,
    chi_square_tail,
    held_against,
    scatter_of,
    together,
)
from companion.uncertainty.student import widening


# scipy.stats.chi2 as oracle.
@given(chi_square=st.floats(0.0, 200.0), dof=st.integers(1, 60))
def test_any_tail_as_scipy_has_it(chi_square: float, dof: int) -> None:
    assert chi_square_tail(chi_square, dof) == pytest.approx(
        float(chi2.sf(chi_square, dof)), rel=1e-9, abs=1e-14
    )


# The eleven values of the Newtonian constant in the 2010 adjustment of the constants (CODATA, Rev.
# Mod. Phys. 84, 1527): chi-square 209.6 with 10 degrees of freedom, Birge ratio 4.58. From memory.
def test_the_birge_ratio_of_a_published_adjustment() -> None:
    found = held_against(Scatter(209.6, 10))
    assert found.birge_ratio == pytest.approx(4.58, abs=0.005)
    assert found.answer == "refused"


# Worked by hand: 10, 12, 14 with 1 each: mean 12, chi-square 8, ratio 2.
def test_three_readings_by_hand() -> None:
    found = held_against(scatter_of([10.0, 12.0, 14.0], [1.0] * 3))
    assert (found.birge_ratio, found.degrees_of_freedom) == (pytest.approx(2.0), 2)
    assert found.probability == pytest.approx(math.exp(-4.0))
    assert (found.answer, found.factor) == ("widened", pytest.approx(2.0))


# numpy.average as oracle for unequal doubts.
def test_unequal_doubts_weigh_as_numpy_has_it() -> None:
    values, doubts = [1.0, 1.4, 0.7, 2.0], [0.1, 0.3, 0.2, 0.6]
    weights = [1 / u**2 for u in doubts]
    mean = np.average(values, weights=weights)
    expected = float(np.sum((np.array(values) - mean) ** 2 * weights))
    assert scatter_of(values, doubts).chi_square == pytest.approx(expected)


def test_readings_of_different_quantities_add() -> None:
    a, b = scatter_of([1.0, 2.0], [1.0, 1.0]), scatter_of([5.0, 5.0, 8.0], [1.0] * 3)
    assert together([a, b]) == Scatter(a.chi_square + b.chi_square, 3)
    assert held_against(NO_SCATTER).factor == 1.0


# Counted, with scipy.stats.chi2 for how often it should be: honest readings are refused once in a
# thousand times, eight that scatter three times as far as entered in more than nine of ten.
@pytest.mark.parametrize("true_over_entered", [1.0, 2.0, 3.0])
def test_how_often_sets_are_refused(true_over_entered: float) -> None:
    generator = np.random.default_rng(4)
    trials = 20_000
    chi_square = (generator.normal(0.0, true_over_entered, (trials, 8)) ** 2).sum(axis=1)
    refused = [held_against(Scatter(float(x), 8)).answer == "refused" for x in chi_square]
    expected = float(chi2.sf(chi2.isf(1e-3, 8) / true_over_entered**2, 8))
    assert np.mean(refused) == pytest.approx(
        expected, abs=4.0 * math.sqrt(expected * (1.0 - expected) / trials)
    )


# JCGM 100:2008 Table G.2, read second hand: 2.12 for 95 % and 16 degrees of freedom, where the
# normal distribution has 1.96.
def test_few_repeats_widen_by_students_over_the_normal_quantile() -> None:
    assert widening(0.975, 16) == pytest.approx(2.12 / 1.96, abs=0.003)
    assert widening(0.95, math.inf) == 1.0
    # Counted: a mean of three with its own scatter, against a limit one side.
    generator = np.random.default_rng(5)
    readings = generator.normal(0.0, 1.0, (200_000, 3))
    u = readings.std(axis=1, ddof=1) / math.sqrt(3.0) * widening(0.95, 2)
    false = np.mean(readings.mean(axis=1) > 1.6448536 * u)
    assert false == pytest.approx(0.05, abs=0.002)
