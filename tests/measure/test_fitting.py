"""Least squares, the reading that does not belong, and run-out from any stops of the wheel."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from companion.errors import MeasureError
from companion.measure.doubt import exact, measured
from companion.measure.fitting import least_squares, worst_outlier
from companion.measure.formulas import evaluate
from companion.measure.run_out_fit import fit_run_out, suspects

PATH = measured("path", 4700.0, 6.0)


def spots(turned_deg: Sequence[float], middle: float, a: float, b: float) -> list[float]:
    return [
        middle + a * math.cos(math.radians(t)) + b * math.sin(math.radians(t)) for t in turned_deg
    ]


@given(
    turned=st.lists(st.integers(0, 359), min_size=4, max_size=9, unique=True),
    a=st.floats(-20.0, 20.0),
    b=st.floats(-20.0, 20.0),
    side=st.sampled_from([1.0, -1.0]),
)
def test_any_stops_give_the_wobble_back(turned: list[int], a: float, b: float, side: float) -> None:
    # Stops bunched within a few degrees tell a wobble from its middle hardly at all.
    assume(max(turned) - min(turned) > 30.0)
    found = fit_run_out(turned, spots(turned, 775.0, a, b), PATH, side, 0.4)
    heading = math.degrees(math.atan(side * a / 4700.0))
    assert found.run_out_heading_deg.value == pytest.approx(heading, abs=1e-6)
    mirrored = fit_run_out(turned, spots(turned, 775.0, a, b), PATH, -side, 0.4)
    assert mirrored.run_out_heading_deg.value == -found.run_out_heading_deg.value
    assert mirrored.run_out_deg.value == found.run_out_deg.value


def test_even_quarters_are_the_catalogues_run_out_with_the_same_doubt() -> None:
    readings = [772.0, 774.0, 778.0, 776.0]
    fitted = fit_run_out([0.0, 90.0, 180.0, 270.0], readings, PATH, -1.0, 0.42)
    names = ("spot_0_mm", "spot_90_mm", "spot_180_mm", "spot_270_mm")
    inputs = {n: measured(n, r, 0.42) for n, r in zip(names, readings, strict=True)}
    direct = evaluate("run_out", inputs | {"path_mm": PATH, "grows_to_left": exact(-1.0)})
    for name in ("run_out_deg", "run_out_heading_deg"):
        ours, theirs = getattr(fitted, name), direct[name]
        assert ours.value == pytest.approx(theirs.value)
        assert ours.u == pytest.approx(theirs.u, rel=1e-4)


def test_more_stops_leave_less_doubt_and_bunched_stops_more() -> None:
    def u(turned: list[float]) -> float:
        fit = fit_run_out(turned, spots(turned, 775.0, 3.0, 2.0), PATH, 1.0, 0.42)
        return fit.run_out_heading_deg.u

    four, eight = u([0, 90, 180, 270]), u([0, 45, 90, 135, 180, 225, 270, 315])
    assert eight == pytest.approx(four / math.sqrt(2.0), rel=0.01)
    assert u([0, 20, 40, 60]) > 3 * four


def test_a_stop_that_was_misread_is_pointed_out_among_five() -> None:
    turned = [0.0, 72.0, 144.0, 216.0, 288.0]
    readings = spots(turned, 775.0, 3.0, 2.0)
    readings[3] += 5.0
    found = fit_run_out(turned, readings, PATH, 1.0, 0.42)
    assert found.outlier is not None
    assert (found.outlier.index, round(found.outlier.excess)) == (3, 5)
    assert found.outlier.excess_in_u > 4.0


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
    with pytest.raises(MeasureError, match="3 or more"):
        worst_outlier([[1.0], [1.0]], [0.0, 1.0], 0.1)
    with pytest.raises(MeasureError, match="three or more"):
        fit_run_out([0.0, 90.0], [1.0, 2.0], PATH, 1.0, 0.4)


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
