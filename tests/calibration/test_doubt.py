"""Doubt is carried with its correlation, and agrees with simulated readings."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.calibration.formulas import FORMULAS, evaluate
from companion.errors import MeasureError
from companion.uncertainty.measured import (
    Measured,
    budget,
    covariance,
    covariance_matrix,
    effective_degrees_of_freedom,
    exact,
    measured,
    propagate,
)

Bay = dict[str, dict[str, tuple[float, float]]]


def test_the_bay_covers_every_formula(bay: Bay) -> None:
    assert set(bay) == set(FORMULAS)


@pytest.mark.parametrize("name", sorted(FORMULAS))
def test_doubt_agrees_with_simulated_readings_within_five_percent(name: str, bay: Bay) -> None:
    draws = 20_000
    generator = np.random.default_rng(20_240_611)
    samples = {
        key: generator.normal(value, u, draws) if u else np.full(draws, value)
        for key, (value, u) in bay[name].items()
    }
    function = FORMULAS[name].function
    rows = [
        list(function({key: float(sample[draw]) for key, sample in samples.items()}).values())
        for draw in range(draws)
    ]
    simulated = np.cov(np.array(rows).T).reshape(len(rows[0]), -1)

    results = evaluate(name, {key: measured(key, *pair) for key, pair in bay[name].items()})

    propagated = covariance_matrix(list(results.values()))
    simulated_sd = np.sqrt(np.diag(simulated))
    assert np.sqrt(np.diag(propagated)) == pytest.approx(simulated_sd, rel=0.05)
    scale = np.outer(simulated_sd, simulated_sd)
    assert propagated / scale == pytest.approx(simulated / scale, abs=0.05)


def test_results_that_share_a_reading_are_correlated_when_they_meet() -> None:
    reading = measured("reading", 10.0, 0.5)
    other = measured("other", 3.0, 0.2)
    plus = propagate(lambda v: {"y": v["a"] + v["b"]}, {"a": reading, "b": other})["y"]
    minus = propagate(lambda v: {"y": v["a"] - v["b"]}, {"a": reading, "b": other})["y"]

    assert covariance(plus, minus) == pytest.approx(0.5**2 - 0.2**2)
    twice = propagate(lambda v: {"y": v["p"] + v["m"]}, {"p": plus, "m": minus})["y"]
    assert twice.u == pytest.approx(1.0)


def test_a_result_minus_itself_has_no_doubt() -> None:
    reading = measured("reading", 10.0, 0.5)
    nothing = propagate(lambda v: {"y": v["a"] - v["b"]}, {"a": reading, "b": reading})["y"]
    assert nothing.u == pytest.approx(0.0, abs=1e-12)


def test_equal_readings_do_not_make_the_run_out_certain() -> None:
    readings = {f"spot_{turn}_mm": measured(f"s{turn}", 775.0, 0.3) for turn in (0, 90, 180, 270)}
    result = evaluate("run_out", readings | {"path_mm": exact(4700.0), "grows_to_left": exact(1.0)})
    assert result["run_out_deg"].value == 0.0
    per_reading = math.degrees(0.3 / 2.0 / 4700.0)
    assert result["run_out_deg"].u == pytest.approx(2.0 * per_reading, rel=1e-3)


def test_the_budget_names_the_worst_reading_first_and_adds_to_a_hundred(bay: Bay) -> None:
    result = evaluate(
        "aim_error", {key: measured(key, *pair) for key, pair in bay["aim_error"].items()}
    )["aim_elevation_deg"]
    shares = budget(result)
    assert [share.name for share in shares] == [
        "vertex_lean_deg",
        "floor_slope_up_deg",
        "plate_plumb_deg",
    ]
    assert sum(share.percent for share in shares) == pytest.approx(100.0)
    assert shares[0].percent == pytest.approx(100.0 * 36.0 / 44.0)


def test_a_certain_result_has_an_empty_budget() -> None:
    assert budget(exact(4.0)) == ()


@given(
    u=st.tuples(*[st.floats(1e-3, 1e3)] * 2),
    slopes=st.tuples(*[st.floats(-1e3, 1e3)] * 2),
)
def test_a_linear_function_is_propagated_exactly(
    u: tuple[float, float], slopes: tuple[float, float]
) -> None:
    inputs = {"a": measured("a", 1.0, u[0]), "b": measured("b", 2.0, u[1])}
    result = propagate(lambda v: {"y": slopes[0] * v["a"] + slopes[1] * v["b"]}, inputs)["y"]
    # Rounding of y itself, of the order eps * |y|, is divided by the step: u / 10.
    noise = 1e-300 + 1e-12 * (abs(slopes[0]) * (1.0 + u[0]) + abs(slopes[1]) * (2.0 + u[1]))
    assert result.u == pytest.approx(math.hypot(slopes[0] * u[0], slopes[1] * u[1]), abs=noise)


@pytest.mark.parametrize(("value", "u"), [(math.nan, 1.0), (1.0, -0.1), (1.0, math.inf)])
def test_a_reading_that_is_no_number_is_refused_by_name(value: float, u: float) -> None:
    with pytest.raises(MeasureError, match="reading front_left_mm"):
        measured("front_left_mm", value, u)


def test_unlimited_readings_have_unlimited_degrees_of_freedom() -> None:
    assert effective_degrees_of_freedom(Measured(1.0, (("a", 1.0),)), {}) == math.inf
