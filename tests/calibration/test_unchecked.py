"""Doubts that nothing checks: which they are, which is worst, and what more sets would settle."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.uncertainty.measured import Measured
from companion.uncertainty.several import Unchecked, judge_several, sets_to_settle
from companion.uncertainty.unchecked import u_if_wrong, variances_of

LINES = (("figure: a", 0.6), ("figure: b", 0.8), ("tape #1", 2.0), ("tape digits 12", 0.3))


def group_of(line: str) -> str | None:
    return None if " digits " in line else line.partition(": ")[0]


def test_what_scatters_or_rounds_is_checked_by_reading_again() -> None:
    """Two lines of one figure are independent errors of it."""
    assert variances_of(Measured(1.0, LINES), group_of) == pytest.approx({"figure": 1.0})


def test_a_wrong_doubt_is_three_times_as_large() -> None:
    assert u_if_wrong(1.0, 1.0) == pytest.approx(3.0)
    assert u_if_wrong(2.0, 1.0) == pytest.approx(12.0**0.5)


def rows(value: float, sets: int, fixed: float, scatter: float) -> list[tuple[Measured]]:
    return [
        (Measured(value, (("figure: a", fixed), (f"tape #{n}", scatter))),) for n in range(sets)
    ]


LIMITS = [(-5.0, 5.0)]


@pytest.mark.parametrize(
    ("value", "fixed", "scatter", "settled"),
    [(4.0, 0.1, 0.8, 3), (3.6, 0.1, 0.8, 1), (4.0, 0.6, 0.1, None), (4.9, 0.1, 0.8, None)],
)
def test_more_sets_settle_scatter_and_no_figure(
    value: float, fixed: float, scatter: float, settled: int | None
) -> None:
    unchecked = Unchecked(group_of, 0.95)
    sets = rows(value, 1, fixed, scatter)
    judged = judge_several(sets, LIMITS, 0.95, 1, 4, unchecked)
    assert judged.answer == "too_close"
    assert sets_to_settle(sets, LIMITS, 0.95, 1, 4, unchecked) == settled
    assert sets_to_settle(sets, LIMITS, 0.95, 4, 4, unchecked) is None
    if settled is not None:
        assert sets_to_settle(sets, LIMITS, 0.95, 1, settled, unchecked) is None


@settings(max_examples=60, deadline=None)
@given(
    value=st.floats(-5.5, 5.5),
    fixed=st.floats(0.05, 0.9),
    scatter=st.floats(0.05, 1.2),
    had=st.integers(1, 3),
)
def test_as_many_sets_as_were_foretold_settle_it_and_fewer_do_not(
    value: float, fixed: float, scatter: float, had: int
) -> None:
    """The sets that were foretold are then really had, one after another."""
    unchecked, most = Unchecked(group_of, 0.95), 4
    foretold = sets_to_settle(rows(value, had, fixed, scatter), LIMITS, 0.95, had, most, unchecked)
    said = [
        judge_several(rows(value, look, fixed, scatter), LIMITS, 0.95, look, most, unchecked).answer
        for look in range(had + 1, most + 1)
    ]
    first = next((number for number, answer in enumerate(said, 1) if answer == "inside"), None)
    assert foretold == first


def test_two_sets_that_lie_far_apart_by_chance_are_read_once_more() -> None:
    unchecked = Unchecked(group_of, 0.95)
    sets = [(Measured(value, ((f"tape #{n}", 1.0),)),) for n, value in enumerate((-1.9, 1.9))]
    judged = judge_several(sets, LIMITS, 0.99, 2, 4, unchecked)
    assert judged.answer == "too_close"
    assert sets_to_settle(sets, LIMITS, 0.99, 2, 4, unchecked) is not None


def test_the_results_that_keep_it_from_being_inside_are_named() -> None:
    sets = [(Measured(0.0, (("tape #1", 0.5),)), Measured(4.5, (("figure: a", 0.5),)))]
    judged = judge_several(sets, [(-5.0, 5.0)] * 2, 0.95, 1, 4, Unchecked(group_of, 0.95))
    assert judged.not_inside == (1,)
    assert judged.wrong == "figure"


def test_sets_that_agree_far_from_zero_agree() -> None:
    sets = [(Measured(value, ((f"reading #{n}", 0.1),)),) for n, value in enumerate((50.0, 50.1))]
    judged = judge_several(sets, [(49.0, 51.0)], 0.95, 2, 3)
    assert judged.answer == "inside"
    assert judged.means[0].u == pytest.approx(0.1 / 2**0.5)


def test_a_doubt_that_came_with_a_later_set_is_tried_larger_too() -> None:
    first = Measured(0.0, (("arm #1", 0.01),))
    later = Measured(0.0, (("arm #2", 0.01), ("tape", 0.5)))
    unchecked = Unchecked(lambda line: line if line == "tape" else None, 0.95)
    judged = judge_several([(first,), (later,)], [(-1.0, 1.0)], 0.95, 2, 3, unchecked)
    assert judged.wrong == "tape"
    # A quarter of a degree by half of 0.5, three times as large, reaches no 95 % within 1.
    assert judged.answer == "too_close"
