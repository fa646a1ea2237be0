"""Has a level changed, and when? Ranks, the permutation test, many charts together."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.statistics.change_point import change_point, holm, mid_ranks

SERIES = st.lists(st.integers(-20, 20), min_size=2, max_size=30)


def test_equal_values_share_the_mean_of_their_ranks() -> None:
    assert mid_ranks([3.0, 1.0, 3.0, 2.0]).tolist() == [3.5, 1.0, 3.5, 2.0]


def test_a_step_is_dated_to_its_first_value() -> None:
    values = [0.1, -0.2, 0.0, 0.2, -0.1, 0.15, -0.05, 0.05] * 3
    found = change_point([*values, *(value + 1.0 for value in values)])
    assert found.place == len(values)
    assert found.p_value < 0.001


def test_values_that_never_vary_show_no_change() -> None:
    assert change_point([5.0] * 30).p_value == 1.0


def test_one_value_cannot_have_changed() -> None:
    with pytest.raises(ValueError, match="two or more"):
        change_point([1.0])


def test_the_same_values_give_the_same_answer() -> None:
    values = np.random.default_rng(3).normal(size=40).tolist()
    assert change_point(values) == change_point(list(values))


@settings(deadline=None)
@given(SERIES, st.sampled_from([-8, -1, 2, 0.5]))
def test_neither_unit_nor_sign_changes_the_answer(values: list[int], factor: float) -> None:
    plain = change_point([float(value) for value in values])
    scaled = change_point([value * factor for value in values])
    assert scaled.place == plain.place
    assert scaled.statistic == pytest.approx(plain.statistic, abs=1e-9)
    if factor > 0:
        assert plain.p_value == scaled.p_value


@settings(deadline=None)
@given(SERIES)
def test_read_backwards_the_change_is_as_clear(values: list[int]) -> None:
    forwards = change_point([float(value) for value in values])
    backwards = change_point([float(value) for value in reversed(values)])
    assert forwards.statistic == pytest.approx(backwards.statistic, abs=1e-9)
    assert forwards.p_value == backwards.p_value


@given(st.lists(st.floats(0, 1), min_size=1, max_size=20))
def test_holm_never_makes_a_p_value_smaller_and_keeps_their_order(p_values: list[float]) -> None:
    adjusted = holm(p_values)
    assert all(a >= p for a, p in zip(adjusted, p_values, strict=True))
    in_order = [adjusted[n] for n in sorted(range(len(p_values)), key=p_values.__getitem__)]
    assert in_order == sorted(in_order)
    assert max(adjusted) <= 1.0


def test_where_it_matters_the_p_value_is_told_well() -> None:
    """Near the value in doubt 400 shuffles reach the statistic, five in a hundred either way."""
    values = np.random.default_rng(9).normal(size=60)
    values[40:] += 0.8
    found = change_point(values.tolist(), doubtful=0.0001)
    assert change_point(values.tolist(), doubtful=found.p_value).p_value == pytest.approx(
        found.p_value, rel=0.25
    )
