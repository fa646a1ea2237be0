"""Conformance probabilities against scipy and published examples. Test ids are row ids."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import multivariate_normal, norm

from companion.uncertainty.bivariate import box_probability
from companion.uncertainty.conformity import (
    best_possible_probability,
    can_ever_pass,
    decide,
    probability_inside,
)

ANY = math.inf


# CON-1. JCGM 106:2012, 7.3 Table 1, read second hand; entries recomputed.
@pytest.mark.parametrize(
    ("level", "z"),
    [(0.80, 0.8416), (0.90, 1.2816), (0.95, 1.6449), (0.99, 2.3263), (0.999, 3.0902)],
)
def test_con_1_one_sided_level(level: float, z: float) -> None:
    assert probability_inside(-z, 1.0, -ANY, 0.0) == pytest.approx(level, abs=1e-5)


@pytest.mark.parametrize(
    ("value", "u", "low", "high", "probability"),
    [
        # JCGM 106 clause 7 examples, from memory.
        pytest.param(-5.47, 0.05, -ANY, -5.40, 0.919243, id="CON-2"),
        pytest.param(13.6, 1.8, 12.5, 16.3, 0.662630, id="CON-3"),
        # JCGM 106 clause 8 example, from memory (printed 107).
        pytest.param(106.5876, 0.02 * 106.5876, 100.0, ANY, 0.999, id="CON-4"),
        # suncal test_risk.py: read (there as the probability of being out, .01242 and .10574; the
        # further digits by definition).
        pytest.param(10.0, 0.4, 9.0, 11.0, 1.0 - 0.012419, id="CON-9a"),
        pytest.param(10.5, 0.4, 9.0, 11.0, 1.0 - 0.105738, id="CON-9b"),
        # ILAC-G8:09/2019, from memory; the number is by definition.
        pytest.param(0.8 - 2.0 * 0.1, 0.1, -ANY, 0.8, 0.977250, id="CON-10"),
        # Definition.
        pytest.param(0.5, 0.1, -0.8, 0.8, 0.998650, id="CON-12-0.5"),
        pytest.param(0.6, 0.1, -0.8, 0.8, 0.977250, id="CON-12-0.6"),
        pytest.param(0.7, 0.1, -0.8, 0.8, 0.841345, id="CON-12-0.7"),
        pytest.param(0.8, 0.1, -0.8, 0.8, 0.500000, id="CON-12-0.8"),
        pytest.param(0.9, 0.1, -0.8, 0.8, 0.158655, id="CON-12-0.9"),
        pytest.param(1.0, 0.1, -0.8, 0.8, 0.022750, id="CON-12-1.0"),
    ],
)
def test_probability(value: float, u: float, low: float, high: float, probability: float) -> None:
    assert probability_inside(value, u, low, high) == pytest.approx(probability, abs=1e-6)


# scipy.stats.norm as oracle.
@given(
    value=st.floats(-10.0, 10.0),
    u=st.floats(0.01, 10.0),
    limits=st.tuples(*[st.floats(-5.0, 5.0)] * 2),
)
def test_any_probability_as_scipy_has_it(
    value: float, u: float, limits: tuple[float, float]
) -> None:
    low, high = sorted(limits)
    expected = norm.cdf((high - value) / u) - norm.cdf((low - value) / u)
    assert probability_inside(value, u, low, high) == pytest.approx(expected, abs=1e-12)


# CON-11. ISO 14253-1:2017, from memory; the number is by definition.
def test_con_11_accepted_up_to() -> None:
    assert decide(0.6354, 0.1, -0.8, 0.8).answer == "inside"
    assert decide(0.6356, 0.1, -0.8, 0.8).answer == "too_close"


# CON-13. Definition: exact two-sided limit, and the one-sided short cut that is not used.
@pytest.mark.parametrize(
    ("u", "exact_limit", "short_cut"),
    [(0.2, 0.471029, 0.471020), (0.3, 0.306214, 0.306530), (0.4, 0.081515, 0.142040)],
)
def test_con_13_two_sided_limit(u: float, exact_limit: float, short_cut: float) -> None:
    for side in (1.0, -1.0):
        assert decide(side * (exact_limit - 2e-6), u, -0.8, 0.8).answer == "inside"
        assert decide(side * (exact_limit + 2e-6), u, -0.8, 0.8).answer == "too_close"
    # At u = 0.25 T the short cut agrees to 1e-5; beyond, it passes what it should not.
    assert exact_limit == pytest.approx(short_cut, abs=2e-5) or exact_limit < short_cut
    assert decide(0.14, 0.4, -0.8, 0.8).answer == "too_close"


# CON-14. Definition.
def test_con_14_a_tolerance_no_result_can_meet() -> None:
    assert best_possible_probability(0.6, -1.0, 1.0) == pytest.approx(0.904419, abs=1e-6)
    assert not can_ever_pass(0.6, -1.0, 1.0)
    assert 1.0 - 1.6449 * 0.6 > 0.0
    assert decide(0.0, 0.6, -1.0, 1.0).answer == "too_close"


# W. F. Sheppard's theorem of the orthants (Phil. Trans. A 192 (1899) 101-167; the formula as in
# general texts, from memory): with both means at a corner of a box that reaches far the other way,
# 1/4 + asin(rho) / (2 pi) of the distribution lies inside.
@pytest.mark.parametrize("rho", [-0.9, -0.5, 0.0, 0.3, 0.5, 0.95])
def test_the_box_of_two_values_has_sheppards_orthants(rho: float) -> None:
    sd, limits = np.array([0.02, 0.03]), np.array([1.0, 1.0])
    covariance = np.diag(sd) @ np.array([[1.0, rho], [rho, 1.0]]) @ np.diag(sd)
    found = box_probability(limits[None], covariance[None], limits)[0]
    assert found == pytest.approx(0.25 + math.asin(rho) / (2.0 * math.pi), abs=2e-6)


def test_the_box_of_two_values_is_scipys() -> None:
    random, limits = np.random.default_rng(8), np.array([0.4, 0.4])
    for _ in range(40):
        mean, sd = random.uniform(-0.5, 0.5, 2), random.uniform(0.01, 0.3, 2)
        rho = random.uniform(-0.95, 0.95)
        covariance = np.outer(sd, sd) * np.array([[1.0, rho], [rho, 1.0]])
        theirs = multivariate_normal(mean, covariance).cdf(limits, lower_limit=-limits)
        ours = box_probability(mean[None], covariance[None], limits)[0]
        assert ours == pytest.approx(theirs, abs=2e-5)
