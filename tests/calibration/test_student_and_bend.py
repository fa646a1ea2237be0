"""Widening a doubt that rests on few readings, and seeing where a formula bends too much."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.calibration.formulas import FORMULAS
from companion.errors import MeasureError
from companion.uncertainty.measured import measured
from companion.uncertainty.student import t_factor, t_upper_tail
from tests.second_order import bend

DOF = st.floats(0.5, 500.0)


@given(level=st.floats(0.01, 0.9999), dof=DOF)
def test_the_factor_is_the_inverse_of_the_tail(level: float, dof: float) -> None:
    tail = t_upper_tail(t_factor(level, dof), dof)
    assert tail == pytest.approx((1.0 - level) / 2.0, rel=1e-9, abs=1e-15)


@given(level=st.floats(0.5, 0.999), dof=DOF)
def test_fewer_readings_and_more_certainty_widen(level: float, dof: float) -> None:
    assert t_factor(level, dof) >= t_factor(level, 2.0 * dof) >= t_factor(level, math.inf)
    assert t_factor(level, dof) >= t_factor(level * 0.99, dof)


def test_what_is_no_level_or_count_is_refused() -> None:
    with pytest.raises(MeasureError, match="level"):
        t_factor(1.0, 5.0)
    with pytest.raises(MeasureError, match="degrees of freedom"):
        t_factor(0.95, 0.0)


def test_a_square_bends_as_its_moments_say() -> None:
    found = bend(lambda v: {"y": v["x"] ** 2}, {"x": measured("x", 1.0, 0.5)})["y"]
    # Mean 1 + u^2, variance 4 u^2 + 2 u^4 for a normal x.
    assert found.shift == pytest.approx(0.25)
    assert found.u_first == pytest.approx(1.0)
    assert found.u_second == pytest.approx(math.sqrt(1.0 + 2 * 0.5**4))


def test_a_product_of_two_doubts_is_seen_only_in_second_order() -> None:
    inputs = {"a": measured("a", 0.0, 0.3), "b": measured("b", 0.0, 0.4)}
    found = bend(lambda v: {"y": v["a"] * v["b"]}, inputs)["y"]
    assert found.u_first == 0.0
    assert found.u_second == pytest.approx(0.12)


@pytest.mark.parametrize("name", sorted(FORMULAS))
def test_no_formula_of_the_catalogue_bends_within_its_doubt(
    name: str, bay: dict[str, dict[str, tuple[float, float]]]
) -> None:
    """First order is enough: the second adds under 5 % to u, the value is off by under u / 10.

    The size of a run-out alone folds at zero; its doubt is only for the record, and the heading
    that the job uses does not fold.
    """
    inputs = {key: measured(key, *pair) for key, pair in bay[name].items()}
    for output, found in bend(FORMULAS[name].function, inputs).items():
        assert found.u_second <= 1.05 * found.u_first, output
        assert abs(found.shift) <= 0.1 * found.u_first, output


def test_bend_says_so_where_an_echo_is_too_flat_to_have_a_sure_peak() -> None:
    inputs = {
        f"lean_{i + 1}_deg": measured(f"l{i}", lean, 0.02) for i, lean in enumerate((-1, 0, 1))
    } | {f"echo_{i + 1}_db": measured(f"e{i}", e, 0.06) for i, e in enumerate((44.7, 45.0, 44.9))}
    found = bend(FORMULAS["echo_vertex"].function, inputs)["vertex_deg"]
    assert found.u_second > 1.05 * found.u_first
    assert np.isfinite(found.shift)
