"""More doubt never lets more through; what a formula does its inverse undoes."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.calibration.coupling import StandGeometry, centre_shift_mm
from companion.calibration.tape import turn_from_two_distances_deg
from companion.calibration.wheels import run_out, toe_deg_from_mm
from companion.uncertainty.bivariate import below, box_probability
from companion.uncertainty.conformity import can_ever_pass, decide, probability_inside

U = st.floats(0.001, 1.0)
LIMIT = st.floats(0.05, 2.0)
LEVEL = st.floats(0.6, 0.999)


@given(value=st.floats(-2.0, 2.0), u=U, more=st.floats(1.0, 3.0), limit=LIMIT, level=LEVEL)
def test_more_doubt_or_a_stricter_level_never_lets_more_through(
    value: float, u: float, more: float, limit: float, level: float
) -> None:
    strict = (level + 1.0) / 2.0
    if decide(value, u, -limit, limit, level).answer != "inside":
        assert decide(value, u, -limit, limit, strict).answer != "inside"
        # What lies within its limits only grows less sure.
        if abs(value) <= limit:
            assert decide(value, more * u, -limit, limit, level).answer != "inside"


@given(value=st.floats(0.0, 2.0), further=st.floats(0.0, 2.0), u=U, limit=LIMIT)
def test_further_out_is_never_likelier_inside(
    value: float, further: float, u: float, limit: float
) -> None:
    near = probability_inside(value, u, -limit, limit)
    assert probability_inside(value + further, u, -limit, limit) <= near + 1e-12
    assert probability_inside(value, u, -limit - further, limit + further) >= near - 1e-12


@given(value=st.floats(-2.0, 2.0), u=U, limit=LIMIT, level=LEVEL)
def test_nothing_is_inside_where_nothing_can_ever_pass(
    value: float, u: float, limit: float, level: float
) -> None:
    if not can_ever_pass(u, -limit, limit, level):
        assert decide(value, u, -limit, limit, level).answer != "inside"


@given(
    mean=st.tuples(*[st.floats(-1.0, 1.0)] * 2),
    u=st.tuples(*[st.floats(0.02, 0.5)] * 2),
    limit=LIMIT,
)
def test_both_together_are_the_product_where_nothing_is_shared(
    mean: tuple[float, float], u: tuple[float, float], limit: float
) -> None:
    limits = np.array([limit, limit])
    together = box_probability(np.array([mean]), np.array([np.diag(np.square(u))]), limits)[0]
    one, other = (probability_inside(m, s, -limit, limit) for m, s in zip(mean, u, strict=True))
    assert together == pytest.approx(one * other, abs=1e-6)
    wider = box_probability(np.array([mean]), np.array([np.diag(np.square(u))]), 1.2 * limits)[0]
    assert wider >= together - 1e-6


@given(x=st.floats(-12.0, 12.0))
def test_the_fast_normal_distribution_is_the_exact_one(x: float) -> None:
    exact = 0.5 * math.erfc(-x / math.sqrt(2.0))
    assert float(below(np.array([x]))[0]) == pytest.approx(exact, abs=2e-14)


@given(toe_deg=st.floats(-5.0, 5.0), diameter_mm=st.floats(300.0, 900.0))
def test_toe_in_millimetres_is_undone(toe_deg: float, diameter_mm: float) -> None:
    across_mm = diameter_mm * math.sin(math.radians(toe_deg))
    assert toe_deg_from_mm(across_mm, diameter_mm) == pytest.approx(toe_deg, abs=1e-9)


@given(
    wobble_deg=st.floats(0.01, 0.5),
    phase_deg=st.floats(0.0, 360.0),
    side=st.sampled_from([1.0, -1.0]),
    middle_mm=st.floats(700.0, 850.0),
)
def test_a_wobble_that_is_put_on_is_found_again(
    wobble_deg: float, phase_deg: float, side: float, middle_mm: float
) -> None:
    def spot_mm(turned_deg: float) -> float:
        angle = math.radians(turned_deg + phase_deg)
        return middle_mm + side * 4700.0 * math.tan(math.radians(wobble_deg)) * math.cos(angle)

    found = run_out(
        spot_0_mm=spot_mm(0.0),
        spot_90_mm=spot_mm(90.0),
        spot_180_mm=spot_mm(180.0),
        spot_270_mm=spot_mm(270.0),
        path_mm=4700.0,
        grows_to_left=side,
    )
    assert found.run_out_deg == pytest.approx(wobble_deg, abs=1e-9)
    heading = math.tan(math.radians(wobble_deg)) * math.cos(math.radians(phase_deg))
    assert found.run_out_heading_deg == pytest.approx(math.degrees(math.atan(heading)), abs=1e-9)
    assert found.run_out_residual_mm == pytest.approx(0.0, abs=1e-9)


@given(turn_deg=st.floats(-20.0, 20.0), apart_mm=st.floats(500.0, 2500.0))
def test_two_distances_give_back_the_turn(turn_deg: float, apart_mm: float) -> None:
    nearer_mm = apart_mm * math.tan(math.radians(turn_deg)) / 2.0
    found = turn_from_two_distances_deg(
        distance_left_mm=1500.0 - nearer_mm, distance_right_mm=1500.0 + nearer_mm, apart_mm=apart_mm
    )
    assert found == pytest.approx(turn_deg, abs=1e-9)


@given(turn_deg=st.floats(-5.0, 5.0), ahead=st.floats(-400.0, 400.0), left=st.floats(-600.0, 600.0))
def test_the_foot_stays_where_it_is_when_the_stand_turns(
    turn_deg: float, ahead: float, left: float
) -> None:
    shift_ahead, shift_left = centre_shift_mm(turn_deg, StandGeometry(ahead, left))
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    assert shift_ahead + c * ahead - s * left == pytest.approx(ahead, abs=1e-9)
    assert shift_left + s * ahead + c * left == pytest.approx(left, abs=1e-9)
