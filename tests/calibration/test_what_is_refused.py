"""What no arithmetic can mean is refused with a sentence; right beside it the answer is finite."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from companion.calibration.fitting import least_squares
from companion.calibration.lever import spot_shift_mm
from companion.calibration.misreading import misread_level
from companion.calibration.reach import miss_at_range_m
from companion.calibration.suspects import suspects
from companion.calibration.target import middle_of_bar_mm
from companion.errors import MeasureError
from companion.uncertainty.agreement import chi_square_tail, scatter_of
from companion.uncertainty.conformity import can_ever_pass, decide, probability_inside
from companion.uncertainty.measured import exact, measured
from companion.uncertainty.repeats import AlwaysZero, scatter_of_levels
from companion.uncertainty.sequential import look_at, spent
from companion.uncertainty.several import judge_several
from companion.uncertainty.student import t_factor, t_upper_tail, widening
from companion.uncertainty.taking import taken

NAN, EVER = math.nan, math.inf
FIVE = {name: (lean, swing) for name, lean, swing in (
    ("a", -5, 0), ("b", 0, 0), ("c", 5, 0), ("d", 0, -5), ("e", 0, 5),
)}  # fmt: skip
LEVELS = dict(zip(FIVE, (54.0, 60.0, 54.0, 54.0, 54.1), strict=True))
FOUR = {name: FIVE[name] for name in "abcd"}


def misread(places: Any = FIVE, lean: float = 10.0, swing: float = 10.0) -> Any:
    return misread_level(places, LEVELS, lean, swing, 0.06, 0.1)


def of_one_cause(slope: float, doubt: float) -> Any:
    disagreement = measured("left", 3.0, doubt)
    return suspects(disagreement, {"left": ("left",)}, {"left": 1.0}, {"left": slope})


ROWS = [[[1.0, 2.0, 3.0], [1.1, 2.0, 2.9]]]
# What is called, what it refuses, and what it takes.
REFUSED: list[tuple[Callable[..., Any], list[tuple[Any, ...]], list[tuple[Any, ...]]]] = [
    (decide, [(0.0, 0.1, -1.0, 1.0, level) for level in (0.5, 1.0, 0.4, 1.1)],
     [(0.0, 0.1, -1.0, 1.0, 0.51), (0.0, 0.1, -1.0, 1.0, 0.99)]),
    (can_ever_pass, [(0.1, -1.0, 1.0, 0.5), (0.1, -1.0, 1.0, 1.0), (-0.1, -1.0, 1.0)],
     [(0.0, -1.0, 1.0), (0.1, 1.0, 1.0, 0.6)]),
    (probability_inside,
     [(NAN, 0.1, -1.0, 1.0), (EVER, 0.1, -1.0, 1.0), (0.0, -1e-9, -1.0, 1.0), (0.0, NAN, -1.0, 1.0),
      (0.0, EVER, -1.0, 1.0), (0.0, 0.1, NAN, 1.0), (0.0, 0.1, -1.0, NAN), (0.0, 0.1, 1.0, 0.9)],
     [(0.0, 0.0, -1.0, 1.0), (0.0, 0.1, 1.0, 1.0), (0.0, 0.1, -EVER, 1.0)]),
    (look_at, [(0.95, 0, 3), (0.95, 4, 3), (0.5, 1, 3), (1.0, 1, 3), (1.2, 1, 3)],
     [(0.95, 1, 3), (0.95, 3, 3), (0.51, 1, 1), (0.99, 1, 1)]),
    (spent, [("pocock", 0.0, 0.5), ("pocock", 0.5, 0.5), ("pocock", 0.05, -0.1)],
     [("pocock", 0.05, 0.0), ("pocock", 0.49, 0.5), ("obrien_fleming", 0.05, 1.0)]),
    (t_factor, [(0.0, 5.0), (1.0, 5.0), (0.95, 0.0)], [(0.01, 5.0), (0.99, 0.5)]),
    (t_upper_tail, [(-0.1, 5.0), (1.0, 0.0), (1.0, -1.0)], [(0.0, 5.0), (1.0, 0.1), (1.0, EVER)]),
    (widening, [(0.5, 5.0), (1.0, 5.0)], [(0.51, 5.0), (0.99, 5.0), (0.95, EVER)]),
    (chi_square_tail, [(-0.1, 3), (1.0, 0)], [(0.0, 3), (1.0, 1)]),
    (scatter_of, [([1.0, 2.0], [0.1]), ([1.0, 2.0], [0.1, 0.0]), ([1.0, 2.0], [0.1, -1.0])],
     [([1.0, 2.0], [0.1, 0.1]), ([1.0], [0.1])]),
    (scatter_of_levels,
     [(ROWS, 0.0, []), ([[[1.0, 2.0], [1.0]]], 0.1, []),
      (ROWS, 0.1, [AlwaysZero((1.0, -1.0, 0.0)), AlwaysZero((2.0, -2.0, 0.0))])],
     [(ROWS, 0.1, []), (ROWS, 0.1, [AlwaysZero((1.0, -1.0, 0.0))])]),
    (judge_several, [([], [(-1.0, 1.0)], 0.95, 1, 3), ([(exact(0.0),)], [], 0.95, 1, 3)],
     [([(exact(0.0),)], [(-1.0, 1.0)], 0.95, 1, 3)]),
    (measured, [("x", NAN, 0.1), ("x", EVER, 0.1), ("x", 1.0, -0.1), ("x", 1.0, NAN)],
     [("x", 1.0, 0.0), ("x", -1.0, 0.1)]),
    (lambda *parts: taken("x", parts[0], 1, resolution=parts[1], scatters=parts[2], stays=parts[3]),
     [(NAN, 1, 0, 0), (1, -1, 0, 0), (1, 1, -1, 0), (1, 1, 0, -1), (1, EVER, 0, 0)],
     [(1, 0, 0, 0), (1, 1, 1, 1)]),
    (lambda degrees, range_m: miss_at_range_m(exact(degrees), range_m),
     [(0.1, -1.0), (0.1, EVER), (90.0, 50.0), (-90.0, 50.0)], [(0.1, 0.0), (89.0, 50.0)]),
    (spot_shift_mm, [(45.0, 4700.0), (-45.0, 4700.0), (1.0, 0.0), (1.0, -1.0)],
     [(44.0, 4700.0), (-44.0, 1.0)]),
    (least_squares,
     [([[1.0], [1.0]], [1.0]), ([[1.0, 2.0]], [1.0]), ([[1.0, 0.0], [1.0, 0.0]], [1.0, 2.0]),
      ([[1.0, 1.0], [1.0, 1.0]], [1.0, 2.0])],
     [([[1.0], [1.0]], [1.0, 2.0]), ([[1.0, 0.0], [1.0, 1.0]], [1.0, 2.0])]),
    (misread,
     [(FOUR,), (FIVE, 0.0), (FIVE, 10.0, 0.0), (FIVE, -1.0), (FIVE, 10.0, -1.0)],
     [(FIVE,), (FIVE, 0.9, 0.9)]),
    (lambda left, right, bar: middle_of_bar_mm(left_end_mm=left, right_end_mm=right, bar_mm=bar),
     [(500.0, 500.0, 1000.0), (500.0, 500.0, 0.0)], [(501.0, 501.0, 1000.0)]),
    (of_one_cause, [(0.0, 1.0)], [(1.0, 1.0), (1.0, 0.0)]),
]  # fmt: skip


@pytest.mark.parametrize(("call", "refused", "taken_as_it_is"), REFUSED)
def test_what_means_nothing_is_refused_and_its_neighbour_is_not(
    call: Callable[..., Any], refused: list[tuple[Any, ...]], taken_as_it_is: list[tuple[Any, ...]]
) -> None:
    for arguments in refused:
        with pytest.raises(MeasureError):
            call(*arguments)
    for arguments in taken_as_it_is:
        call(*arguments)


def test_the_last_of_all_looks_spends_all_of_the_risk_and_no_look_none() -> None:
    for spending in ("pocock", "obrien_fleming"):
        assert spent(spending, 0.05, 0.0) == 0.0
        assert spent(spending, 0.05, 1.0) == pytest.approx(0.05)
        assert spent(spending, 0.05, 2.0) == pytest.approx(0.05)
