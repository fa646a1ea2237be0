"""Inside, outside, too close: what may be said, and how to get an answer."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.errors import MeasureError
from companion.uncertainty.conformity import (
    best_possible_probability,
    can_ever_pass,
    decide,
    probability_inside,
    repeats_to_settle,
)

U = st.floats(1e-4, 5.0)
VALUE = st.floats(-5.0, 5.0)


def test_the_three_answers() -> None:
    assert decide(0.10, 0.05, -0.3, 0.3).answer == "inside"
    assert decide(0.28, 0.05, -0.3, 0.3).answer == "too_close"
    assert decide(0.50, 0.05, -0.3, 0.3).answer == "outside"


def test_without_doubt_the_limit_itself_is_inside() -> None:
    assert decide(0.3, 0.0, -0.3, 0.3).answer == "inside"
    assert decide(0.3000001, 0.0, -0.3, 0.3).answer == "outside"


@given(value=VALUE, u=U, limit=st.floats(0.01, 3.0))
def test_left_and_right_are_judged_alike(value: float, u: float, limit: float) -> None:
    here = probability_inside(value, u, -limit, limit)
    there = probability_inside(-value, u, -limit, limit)
    assert 0.0 <= here <= 1.0
    assert there == pytest.approx(here, abs=1e-12)
    assert here <= best_possible_probability(u, -limit, limit) + 1e-12


def test_averaging_settles_a_close_call() -> None:
    count = repeats_to_settle(0.2, 0.1, 0.02, -0.3, 0.3)
    assert count is not None
    assert count > 1
    settled = math.hypot(0.02, 0.1 / math.sqrt(count))
    not_yet = math.hypot(0.02, 0.1 / math.sqrt(count - 1))
    assert decide(0.2, settled, -0.3, 0.3).answer == "inside"
    assert decide(0.2, not_yet, -0.3, 0.3).answer == "too_close"


def test_averaging_settles_outside_too() -> None:
    count = repeats_to_settle(0.38, 0.1, 0.02, -0.3, 0.3)
    assert count is not None
    assert decide(0.38, math.hypot(0.02, 0.1 / math.sqrt(count)), -0.3, 0.3).answer == "outside"


def test_no_averaging_helps_against_what_does_not_average_out() -> None:
    assert repeats_to_settle(0.28, 0.1, 0.05, -0.3, 0.3) is None
    assert repeats_to_settle(0.2999, 0.1, 0.0, -0.3, 0.3) is None


def test_a_limit_on_one_side_alone_can_always_be_met() -> None:
    """However large the doubt: a value can lie as far within as it takes."""
    for low, high in ((-math.inf, 0.3), (-0.3, math.inf), (-math.inf, math.inf)):
        assert best_possible_probability(5.0, low, high) == 1.0
        assert can_ever_pass(5.0, low, high, 0.99)


def test_the_far_tail_keeps_its_digits() -> None:
    assert probability_inside(1.0, 0.1, -0.3, 0.3) == pytest.approx(1.2798e-12, rel=1e-4)
    assert probability_inside(-1.0, 0.1, -0.3, 0.3) == pytest.approx(1.2798e-12, rel=1e-4)


@pytest.mark.parametrize(
    ("value", "u", "low", "high", "level"),
    [
        (math.nan, 0.1, -1.0, 1.0, 0.95),
        (0.0, -0.1, -1.0, 1.0, 0.95),
        (0.0, math.nan, -1.0, 1.0, 0.95),
        (0.0, 0.1, 1.0, -1.0, 0.95),
        (0.0, 0.1, -1.0, 1.0, 0.4),
    ],
)
def test_nonsense_is_never_an_answer(
    value: float, u: float, low: float, high: float, level: float
) -> None:
    with pytest.raises(MeasureError, match="wanted:"):
        decide(value, u, low, high, level)
