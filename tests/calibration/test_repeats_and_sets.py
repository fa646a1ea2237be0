"""What sets tell of their own noise, and what may be said at each look."""

from __future__ import annotations

import math

import numpy as np
import pytest

from companion.errors import MeasureError
from companion.uncertainty.agreement import Scatter, held_against
from companion.uncertainty.measured import Measured, resolution_u
from companion.uncertainty.repeats import AlwaysZero, scatter_of_levels
from companion.uncertainty.sets import judge_sets, mean_of_sets
from companion.uncertainty.taking import taken

SAME_PLACE = AlwaysZero((0.0, 1.0, 0.0, 0.0, -1.0, 0.0))
BENDS = ((1.0, -2.0, 1.0, 0.0, 0.0, 0.0), (0.0, 0.0, 0.0, 1.0, -2.0, 1.0))
LIMITS = (0.4, 0.4)


def pair(
    value: float, take: int, scatters: float = 0.04, stays: float = 0.02
) -> tuple[Measured, Measured]:
    return (
        taken("yaw", value, take, scatters=scatters, stays=stays),
        taken("elevation", 0.0, take, scatters=scatters, stays=stays),
    )


def level_rows(
    generator: np.random.Generator, aim: float, sets: int, noise: float
) -> list[list[float]]:
    leans = np.array([3.0, 0.0, -3.0, 3.0, 0.0, -3.0])
    aims = np.array([aim] * 3 + [0.2] * 3)
    true = 50.0 - 24.0 * ((leans - aims) / 10.0) ** 2
    true -= np.array([24.0 * 0.04 / 100.0] * 3 + [24.0 * (aim / 10.0) ** 2] * 3)
    drift = generator.normal(0.0, 1.0, (sets, 1))
    return (true + drift + generator.normal(0.0, noise, (sets, 6))).tolist()


def test_levels_that_scatter_as_entered_make_a_chi_square_of_their_degrees_of_freedom() -> None:
    generator = np.random.default_rng(3)
    found = [
        scatter_of_levels(
            [level_rows(generator, 1.5, 1, 0.05), level_rows(generator, 0.1, 2, 0.05)],
            0.05,
            [SAME_PLACE],
            BENDS,
        )
        for _ in range(2000)
    ]
    # Same place once a round, five between the two sets, two bends between the rounds.
    assert {item.degrees_of_freedom for item in found} == {2 + 5 + 2}
    values = [item.chi_square for item in found]
    assert np.mean(values) == pytest.approx(9.0, abs=0.4)
    assert np.var(values) == pytest.approx(18.0, rel=0.15)


def test_the_radars_display_may_drift_between_sets() -> None:
    rows = [[50.0, 51.0, 50.0, 49.0, 51.0, 49.0], [53.0, 54.0, 53.0, 52.0, 54.0, 52.0]]
    assert scatter_of_levels([rows], 0.05, [SAME_PLACE], BENDS).chi_square == pytest.approx(0.0)


def test_bad_rows_are_refused() -> None:
    with pytest.raises(MeasureError, match="one length"):
        scatter_of_levels([[[1.0, 2.0], [1.0]]], 0.1, [])
    with pytest.raises(MeasureError, match="more than 0"):
        scatter_of_levels([[[1.0, 2.0]]], 0.0, [])
    with pytest.raises(MeasureError, match="follows"):
        scatter_of_levels([[[1.0, 2.0]]], 0.1, [AlwaysZero((1, -1)), AlwaysZero((2, -2))])


def test_what_repeats_identically_is_not_averaged_away() -> None:
    """Identical sets in half decibel steps: the doubt of their mean stays what it was."""
    sets = [
        (
            taken("yaw", 0.3, take, resolution=0.5, scatters=0.01),
            taken("elevation", 0.1, take, resolution=0.5, scatters=0.01),
        )
        for take in range(1, 7)
    ]
    assert mean_of_sets(sets)[0].u == pytest.approx(resolution_u(0.5), rel=1e-3)
    other = [taken("yaw", 0.3 + 0.5 * take, take, resolution=0.5) for take in range(4)]
    mean = mean_of_sets([(item, item) for item in other])[0]
    assert mean.u == pytest.approx(resolution_u(0.5) / 2.0)


def test_a_doubt_of_which_nobody_says_whether_it_scatters_is_not_averaged_away() -> None:
    """It may be the method's own, the same in every set; so may a scale's."""
    for part in ("unsaid", "stays"):
        sets = [
            (
                taken("yaw", 0.3, take, scatters=0.01, **{part: 0.05}),
                taken("elevation", 0.1, take, scatters=0.01, **{part: 0.05}),
            )
            for take in range(1, 9)
        ]
        assert mean_of_sets(sets)[0].u == pytest.approx(math.hypot(0.05, 0.01 / math.sqrt(8)))


def test_the_level_rises_with_looks_and_the_risk_is_spent_at_the_last() -> None:
    looked = [
        judge_sets([pair(0.30, n + 1) for n in range(count)], LIMITS, 0.95, count, 3)
        for count in (1, 2, 3)
    ]
    assert looked[0].level > 0.95
    assert [item.spent for item in looked] == sorted(item.spent for item in looked)
    assert looked[-1].spent == pytest.approx(0.05)
    with pytest.raises(MeasureError, match="at most 3"):
        judge_sets([pair(0.30, 1)], LIMITS, 0.95, 4, 3)


def test_sets_that_scatter_widen_the_doubt_and_far_too_much_is_refused() -> None:
    near = judge_sets([pair(0.10, 1), pair(0.14, 2)], LIMITS, 0.95, 2, 3)
    wide = judge_sets([pair(0.10, 1), pair(0.20, 2)], LIMITS, 0.95, 2, 3)
    assert near.agreement.answer == "as_entered"
    assert wide.agreement.answer == "widened"
    assert wide.aim[0].u > near.aim[0].u
    stays = dict(wide.aim[0].contributions)["yaw scale and method"]
    assert stays == pytest.approx(0.02)
    far = judge_sets([pair(0.0, 1), pair(0.35, 2)], LIMITS, 0.95, 2, 3)
    assert far.answer == "refused"


def test_a_doubt_from_three_repeats_counts_for_more() -> None:
    line = {"yaw scale and method": 2.0}
    sure = judge_sets([pair(0.25, 1, 0.01, 0.06)], LIMITS, 0.95, 1, 1)
    few = judge_sets([pair(0.25, 1, 0.01, 0.06)], LIMITS, 0.95, 1, 1, degrees_of_freedom=line)
    assert sure.answer == "inside"
    assert few.answer == "too_close"
    assert few.student > 1.5
    assert math.isinf(sure.degrees_of_freedom[0])


def test_readings_own_scatter_comes_before_that_of_two_sets() -> None:
    found = judge_sets([pair(0.10, 1)], LIMITS, 0.95, 1, 3, scatter=Scatter(8.0, 4))
    assert found.agreement == held_against(Scatter(8.0, 4))
