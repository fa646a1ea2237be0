"""Least squares, and the reading that is blamed where two ways disagree."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.calibration.fitting import least_squares
from companion.calibration.formulas import evaluate
from companion.calibration.suspects import suspects, suspects_together
from companion.errors import MeasureError
from companion.uncertainty.measured import Measured, measured


@given(st.lists(st.floats(-100, 100), min_size=4, max_size=8))
def test_a_line_is_fitted_as_numpy_fits_it(readings: list[float]) -> None:
    design = [[1.0, float(x)] for x in range(len(readings))]
    fit = least_squares(design, readings)
    slope, level = np.polyfit(range(len(readings)), readings, 1)
    assert fit.coefficients == pytest.approx((level, slope), abs=1e-9)
    assert math.fsum(fit.residuals) == pytest.approx(0.0, abs=1e-9)


def test_readings_that_say_nothing_are_refused() -> None:
    with pytest.raises(MeasureError, match="one reading a row"):
        least_squares([[1.0, 0.0]], [1.0])
    with pytest.raises(MeasureError, match="different places"):
        least_squares([[1.0, 2.0], [1.0, 2.0], [1.0, 2.0]], [1.0, 2.0, 3.0])


def disagreement(misread_mm: float, toe_off_deg: float = 0.0) -> tuple[str, ...]:
    """Order of the suspects when a spot is misread or the sheet's toe is off."""
    result = evaluate(
        "stand_turn",
        {
            "spot_left_mm": measured("spot left", misread_mm, 0.42),
            "spot_right_mm": measured("spot right", 0.0, 0.42),
            "path_mm": measured("path", 4700.0, 10.0),
            "run_out_left_deg": measured("run-out left", 0.0, 0.004),
            "run_out_right_deg": measured("run-out right", 0.0, 0.004),
            "total_toe_deg": measured("toe", toe_off_deg, 0.014),
        },
    )["beam_disagreement_deg"]
    found = suspects(
        result,
        {"spots": ("spot left", "spot right"), "toe": ("toe",), "run-out": ("run-out left",)},
        {"spots": 20.0, "toe": 0.1, "run-out": 0.03},
        {"spots": math.degrees(0.5 / 4700.0), "toe": 1.0, "run-out": 1.0},
    )
    assert math.fsum(item.percent for item in found) == pytest.approx(100.0)
    return tuple(item.cause for item in found)


def test_beams_that_disagree_a_little_a_run_out_and_a_lot_a_spot() -> None:
    assert disagreement(0.0, 0.05)[0] == "run-out"
    assert disagreement(60.0)[0] == "spots"
    assert disagreement(0.0, 0.09)[0] == "toe"
    assert disagreement(9000.0)[0] == "spots"


def test_the_suspect_says_how_far_off_its_reading_would_be() -> None:
    (found,) = suspects(measured("d", 0.1, 0.01), {"toe": ()}, {"toe": 0.1}, {"toe": 1.0})
    assert found.error == pytest.approx(0.1)
    with pytest.raises(MeasureError, match="leave it out"):
        suspects(measured("d", 0.1, 0.01), {"toe": ()}, {"toe": 0.1}, {"toe": 0.0})


@given(off=st.floats(-60, 60), likely=st.floats(1, 30))
def test_one_result_weighed_together_with_none_is_that_result(off: float, likely: float) -> None:
    result = Measured(off, (("left", 0.4), ("right", 1.2)))
    alone = suspects(
        result,
        {"left": ("left",), "right": ("right",)},
        {"left": likely, "right": 10.0},
        {"left": 1.0, "right": -2.0},
        {"left": [10.0, -10.0], "right": [-20.0]},
    )
    together = suspects_together(
        [result],
        [0.0],
        {"left": likely, "right": 10.0},
        {"left": [1.0], "right": [-2.0]},
        {"left": [[10.0], [-10.0]], "right": [[-20.0]]},
    )
    for one, other in zip(alone, together, strict=True):
        assert (one.cause, one.error) == (other.cause, pytest.approx(other.error))
        assert one.percent == pytest.approx(other.percent, rel=1e-6, abs=1e-9)


def test_what_one_result_cannot_tell_apart_several_can() -> None:
    """Four corners bend the twist alike, but each another plane."""
    first = Measured(5.0, (("a", 0.1), ("b", 0.1)))
    second = Measured(5.0, (("a", 0.1), ("b", -0.1)))
    found = suspects_together(
        [first, second], [0.5, 0.5], {"a": 5.0, "b": 5.0}, {"a": [1.0, 1.0], "b": [1.0, -1.0]}
    )
    assert (found[0].cause, found[0].error) == ("a", pytest.approx(5.0))
    assert found[0].percent > 99
    with pytest.raises(MeasureError, match="slack"):
        suspects_together([first, first], [0.0, 0.0], {"a": 5.0}, {"a": [1.0, 1.0]})
    with pytest.raises(MeasureError, match="leave it out"):
        suspects_together([first], [0.5], {"a": 5.0}, {"a": [0.0]})
