"""Conformance probabilities against scipy and published examples. Test ids are row ids."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import binomtest, norm

from companion.uncertainty.conformity import (
    acceptance_limits,
    best_possible_probability,
    can_ever_pass,
    decide,
    probability_inside,
)
from companion.uncertainty.risk import (
    global_risk,
    rate_at_most,
    rate_between,
    rate_between_wilson,
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
        # suncal test_risk.py: read (there as the probability of being out).
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
    limits = acceptance_limits(0.1, -0.8, 0.8)
    assert limits is not None
    assert limits[1] == pytest.approx(0.6355, abs=1e-4)


# CON-13. Definition: exact two-sided limit, and the one-sided short cut that is not used.
@pytest.mark.parametrize(
    ("u", "exact_limit", "short_cut"),
    [(0.2, 0.471029, 0.471020), (0.3, 0.306214, 0.306530), (0.4, 0.081515, 0.142040)],
)
def test_con_13_two_sided_limit(u: float, exact_limit: float, short_cut: float) -> None:
    limits = acceptance_limits(u, -0.8, 0.8)
    assert limits is not None
    assert limits[1] == pytest.approx(exact_limit, abs=2e-6)
    # At u = 0.25 T the short cut agrees to 1e-5; beyond, it passes what it should not.
    assert limits[1] == pytest.approx(short_cut, abs=2e-5) or limits[1] < short_cut
    assert decide(0.14, 0.4, -0.8, 0.8).answer == "too_close"


# CON-14. Definition.
def test_con_14_a_tolerance_no_result_can_meet() -> None:
    assert best_possible_probability(0.6, -1.0, 1.0) == pytest.approx(0.904419, abs=1e-6)
    assert not can_ever_pass(0.6, -1.0, 1.0)
    assert acceptance_limits(0.6, -1.0, 1.0) is None
    assert 1.0 - 1.6449 * 0.6 > 0.0
    assert decide(0.0, 0.6, -1.0, 1.0).answer == "too_close"


# CON-5. JCGM 106:2012, 9.5 example: inputs read second hand (an independent Octave script), printed
# results from memory; recomputed and equal to suncal 1.7.1. CON-6. scipy.integrate.
@pytest.mark.parametrize(
    ("acceptance", "consumers", "producers"),
    [
        pytest.param((-0.18, 0.18), 0.009878, 0.069027, id="CON-5"),
        pytest.param((-0.20, 0.20), 0.018942, 0.037208, id="CON-6"),
    ],
)
def test_risk_of_a_batch(
    acceptance: tuple[float, float], consumers: float, producers: float
) -> None:
    found = global_risk(0.0, 0.12, 0.04, (-0.20, 0.20), acceptance)
    assert found.inside == pytest.approx(0.904419, abs=1e-6)
    assert found.false_accept == pytest.approx(consumers, abs=1e-6)
    assert found.false_reject == pytest.approx(producers, abs=1e-6)
    shifted = global_risk(
        1500.0, 0.12, 0.04, (1499.8, 1500.2), (1500 + acceptance[0], 1500 + acceptance[1])
    )
    assert shifted.false_accept == pytest.approx(consumers, abs=1e-6)


# CON-7. suncal's test_risk.py, which cites a draft of NCSLI RP-19: read.
@pytest.mark.parametrize(
    ("in_tolerance", "false_accept_percent"),
    [
        (0.60, 4.83860326),
        (0.70, 3.92234109),
        (0.80, 2.85583037),
        (0.90, 1.59995312),
        (0.95, 0.87100925),
        (0.99, 0.19991684),
    ],
)
def test_con_7_false_accepts_at_four_to_one(
    in_tolerance: float, false_accept_percent: float
) -> None:
    # There the ratio is of tolerance to twice u; the process is known by its part in tolerance.
    sd = 1.0 / float(norm.ppf((1.0 + in_tolerance) / 2.0))
    found = global_risk(0.0, sd, sd / 4.0, (-1.0, 1.0))
    assert found.inside == pytest.approx(in_tolerance, abs=1e-9)
    assert 100.0 * found.false_accept == pytest.approx(false_accept_percent, abs=2e-6)


# CON-8. suncal's test_risk.py citing Deaver: read (0.008 and 0.015, within 0.0005).
def test_con_8_two_sigma_limits() -> None:
    found = global_risk(0.0, 1.0, 0.25, (-2.0, 2.0))
    assert (found.false_accept, found.false_reject) == pytest.approx((0.008006, 0.014851), abs=1e-6)
    assert (found.false_accept, found.false_reject) == pytest.approx((0.008, 0.015), abs=5e-4)


# CON-15. scipy.stats.binomtest.
@pytest.mark.parametrize(("trials", "bound"), [(59, 0.049508), (299, 0.009969), (300, 0.009936)])
def test_con_15_no_error_in_so_many(trials: int, bound: float) -> None:
    assert rate_at_most(0, trials) == pytest.approx(bound, abs=1e-6)


# CON-16. scipy.stats.binomtest.
def test_con_16_two_in_two_hundred() -> None:
    assert rate_between(2, 200) == pytest.approx((0.001213, 0.035655), abs=1e-6)
    assert rate_between_wilson(2, 200) == pytest.approx((0.002747, 0.035722), abs=1e-6)


# scipy.stats.binomtest as oracle.
@given(trials=st.integers(1, 2000), share=st.floats(0.0, 1.0), level=st.floats(0.5, 0.999))
@settings(max_examples=50, deadline=None)
def test_any_count_as_scipy_bounds_it(trials: int, share: float, level: float) -> None:
    count = round(share * trials)
    test = binomtest(count, trials)
    for method, ours in (("exact", rate_between), ("wilson", rate_between_wilson)):
        theirs = test.proportion_ci(level, method)
        assert ours(count, trials, level) == pytest.approx((theirs.low, theirs.high), abs=1e-7)


# scipy.integrate as oracle.
@given(mean=st.floats(-0.5, 0.5), sd=st.floats(0.1, 1.0), u=st.floats(0.02, 0.5))
@settings(max_examples=25, deadline=None)
def test_any_risk_as_scipy_integrates_it(mean: float, sd: float, u: float) -> None:
    def bad_and_accepted(true: float) -> float:
        accepted = norm.cdf(0.6, true, u) - norm.cdf(-0.6, true, u)
        return float(norm.pdf(true, mean, sd) * accepted)

    reach = 9.0 * sd
    theirs = (
        quad(bad_and_accepted, mean - reach - 1.0, -0.8, points=[-1.0], limit=200)[0]
        + quad(bad_and_accepted, 0.8, mean + reach + 1.0, points=[1.0], limit=200)[0]
    )
    found = global_risk(mean, sd, u, (-0.8, 0.8), (-0.6, 0.6))
    assert found.false_accept == pytest.approx(theirs, abs=1e-7)
