"""Doubts that nothing checks: which they are, which is worst, and what more sets would settle."""

from __future__ import annotations

import pytest

from companion.uncertainty.measured import Measured
from companion.uncertainty.several import Unchecked, judge_several, settles
from companion.uncertainty.unchecked import (
    surely_inside,
    u_if_wrong,
    variances_of,
    worst_of,
)

LINES = (("figure: a", 0.6), ("figure: b", 0.8), ("tape #1", 2.0), ("tape digits 12", 0.3))


def group_of(line: str) -> str | None:
    return None if " digits " in line else line.partition(": ")[0]


def test_what_scatters_or_rounds_is_checked_by_reading_again() -> None:
    """Two lines of one figure are independent errors of it."""
    assert variances_of(Measured(1.0, LINES), group_of) == pytest.approx({"figure": 1.0})


def test_the_worst_is_three_times_as_large() -> None:
    value = Measured(0.0, LINES)
    group, u = worst_of(value, group_of)
    assert group == "figure"
    assert u**2 == pytest.approx(value.u**2 + 8.0)
    assert worst_of(Measured(0.0, LINES[2:]), group_of) == ("", pytest.approx(2.02237484))
    assert u_if_wrong(1.0, 1.0) == pytest.approx(3.0)


def test_inside_as_entered_and_were_one_wrong() -> None:
    figure = (("figure: a", 1.0),)
    assert surely_inside(Measured(0.0, figure), (-6.0, 6.0), 0.99, 0.95, group_of)
    assert not surely_inside(Measured(3.0, figure), (-6.0, 6.0), 0.99, 0.95, group_of)
    # As entered it would be: three standard uncertainties.
    assert surely_inside(Measured(3.0, (("tape #1", 1.0),)), (-6.0, 6.0), 0.99, 0.95, group_of)


def rows(value: float, sets: int, fixed: float, scatter: float) -> list[tuple[Measured]]:
    return [
        (Measured(value, (("figure: a", fixed), (f"tape #{n}", scatter))),) for n in range(sets)
    ]


@pytest.mark.parametrize(
    ("value", "fixed", "scatter", "settled"),
    [(4.0, 0.1, 0.8, True), (4.0, 0.6, 0.1, False), (4.9, 0.1, 0.8, False)],
)
def test_more_sets_settle_scatter_and_no_figure(
    value: float, fixed: float, scatter: float, settled: bool
) -> None:
    unchecked = Unchecked(group_of, 0.95)
    sets = rows(value, 1, fixed, scatter)
    judged = judge_several(sets, [(-5.0, 5.0)], 0.95, 1, 4, unchecked)
    assert judged.answer == "too_close"
    assert settles(judged, [(-5.0, 5.0)], sets, 3, unchecked) is settled
    assert not settles(judged, [(-5.0, 5.0)], sets, 0, unchecked)


def test_two_sets_that_lie_far_apart_by_chance_are_read_once_more() -> None:
    unchecked = Unchecked(group_of, 0.95)
    sets = [(Measured(value, ((f"tape #{n}", 1.0),)),) for n, value in enumerate((-1.9, 1.9))]
    judged = judge_several(sets, [(-5.0, 5.0)], 0.99, 2, 4, unchecked)
    assert judged.answer == "too_close"
    assert settles(judged, [(-5.0, 5.0)], sets, 2, unchecked)


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
