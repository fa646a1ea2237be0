"""The watch after each job: when it signals, from when on, and that it goes on afterwards."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from companion.statistics.watching import LEAST_VALUES, watched


def steady(seed: int, count: int) -> list[float]:
    return np.random.default_rng(seed).normal(size=count).tolist()


def test_a_steady_series_is_quiet_and_a_step_is_dated() -> None:
    before, after = steady(1, 60), [value + 2.0 for value in steady(2, 40)]
    assert watched(before) == ()
    first = watched([*before, *after])[0]
    assert 60 <= first.place < 72
    assert 57 <= first.since <= 62


def test_a_fall_is_seen_as_a_rise_is() -> None:
    values = [*steady(1, 60), *(value + 2.0 for value in steady(2, 40))]
    assert watched(values) == watched([-value for value in values])


def test_after_a_signal_the_new_level_is_what_is_watched() -> None:
    values = [*steady(1, 60), *(value + 3.0 for value in steady(2, 80)), *steady(3, 40)]
    found = watched(values)
    assert len(found) == 2
    assert 60 <= found[0].place < 75
    assert 140 <= found[1].place < 160


def test_nothing_is_believed_of_few_values() -> None:
    rising = [float(value) for value in range(LEAST_VALUES)]
    assert watched(rising) == ()


def test_equal_values_are_quiet_for_ever() -> None:
    assert watched([5.0] * 2000) == ()


@given(st.lists(st.integers(-3, 3), max_size=120), st.sampled_from([0.5, 4.0]))
def test_the_unit_does_not_matter(values: list[int], factor: float) -> None:
    assert watched([float(v) for v in values]) == watched([v * factor for v in values])


@given(st.lists(st.floats(-1e6, 1e6), max_size=200))
def test_what_was_told_is_not_taken_back_by_what_follows(values: list[float]) -> None:
    whole = watched(values)
    for end in range(0, len(values), 20):
        assert watched(values[:end]) == tuple(s for s in whole if s.place < end)
