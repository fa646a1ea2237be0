"""Control charts: limits, and each rule broken by values made to break it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.review.statistics import control_chart as charts
from companion.review.statistics.control_chart import Signal, control_chart

# Mean 0 and a mean moving range of 1.128: one sigma is 1, so that values read as sigmas.
STEADY = [0.564, -0.564] * 10


def signals(*later: float, side: int = 1) -> set[tuple[int, str]]:
    """What later values signal, after a baseline with sigma 1; places count from the first one.

    On side -1 everything is mirrored.
    """
    values = [side * value for value in (*STEADY, *later)]
    chart = control_chart(values, baseline=len(STEADY))
    assert chart.sigma == pytest.approx(1.0)
    return {(s.place - len(STEADY), s.rule) for s in chart.signals if s.place >= len(STEADY)}


def test_a_steady_bay_signals_nothing() -> None:
    assert control_chart(STEADY).signals == ()


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize(
    ("later", "place", "rule"),
    [
        ((3.1,), 0, charts.BEYOND_3),
        ((2.1, 0.5, 2.1), 2, charts.TWO_OF_THREE),
        ((1.1, 1.2, -0.1, 1.1, 1.2), 4, charts.FOUR_OF_FIVE),
        ((0.1, 0.2, 0.1, 0.3, 0.1, 0.2, 0.1, 0.2), 7, charts.EIGHT_ON_A_SIDE),
        ((-0.6, -0.4, -0.1, 0.1, 0.3, 0.4), 5, charts.SIX_TREND),
    ],
)
def test_each_rule_on_either_side(
    side: int, later: tuple[float, ...], place: int, rule: str
) -> None:
    assert (place, rule) in signals(*later, side=side)
    shorter = signals(*later[:-1], side=side)
    assert rule not in {told for _, told in shorter}


def test_a_jump_signals_by_its_range_before_any_value_lies_far_out() -> None:
    assert (1, charts.RANGE_TOO_LARGE) in signals(-2.0, 2.0)
    assert charts.BEYOND_3 not in {rule for _, rule in signals(-2.0, 2.0)}


def test_two_of_three_on_different_sides_are_no_signal() -> None:
    assert charts.TWO_OF_THREE not in {rule for _, rule in signals(2.1, 0.0, -2.1)}


def test_a_drift_does_not_widen_its_own_limits() -> None:
    creeping = [*STEADY, *(0.3 * n for n in range(1, 15))]
    assert control_chart(creeping, baseline=20).high == pytest.approx(3.0)
    assert control_chart(creeping, baseline=20).signals


def test_values_that_never_vary_signal_the_first_that_does() -> None:
    assert control_chart([5.0] * 8).signals == ()
    moved = control_chart([5.0] * 8 + [5.1], baseline=8)
    assert moved.signals == (Signal(8, charts.BEYOND_3),)


def test_one_value_makes_no_chart() -> None:
    with pytest.raises(ValueError, match="two or more"):
        control_chart([1.0])


@given(
    st.lists(st.integers(-1000, 1000), min_size=2, max_size=60),
    st.sampled_from([2, 4, 8]),
)
def test_signals_depend_on_neither_the_unit_nor_the_sign(values: list[int], scale: int) -> None:
    # Whole numbers times powers of two: no rounding to hide behind.
    plain = {s.rule for s in control_chart([float(v) for v in values]).signals}
    mirrored = {s.rule for s in control_chart([float(-v) for v in values]).signals}
    scaled = {s.rule for s in control_chart([float(v * scale) for v in values]).signals}
    assert plain == mirrored == scaled


@pytest.mark.parametrize("value", [0.010610328568, 0.1, 1e-9, 123.4567])
@pytest.mark.parametrize("count", range(2, 30))
def test_values_that_are_all_the_same_break_no_rule(value: float, count: int) -> None:
    assert control_chart([value] * count).signals == ()
