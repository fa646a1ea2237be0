"""A bay is built with rays, read off, and the formulas must find how it was built."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.calibration.formulas import evaluate
from companion.calibration.lever import beam_to_normal_deg, spot_shift_mm
from companion.calibration.stand import stand_offset_left_mm, stand_offset_without_run_out_mm
from companion.errors import MeasureError
from companion.uncertainty.measured import exact

Vector = tuple[float, float]


def heading(angle_deg: float) -> Vector:
    return math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))


def returned_spot_mm(beam_deg: float, bar_deg: float, path_mm: float) -> float:
    """Trace a beam to a bar `path_mm` ahead along it and back to the scale square to the beam."""
    beam, normal = heading(beam_deg), heading(bar_deg + 180.0)
    hit = beam[0] * path_mm, beam[1] * path_mm
    along = 2.0 * (beam[0] * normal[0] + beam[1] * normal[1])
    back = beam[0] - along * normal[0], beam[1] - along * normal[1]
    reach = -path_mm / (back[0] * beam[0] + back[1] * beam[1])
    end = hit[0] + reach * back[0], hit[1] + reach * back[1]
    left_of_beam = -beam[1], beam[0]
    return end[0] * left_of_beam[0] + end[1] * left_of_beam[1]


@given(
    turn=st.floats(-2.0, 2.0),
    toe_left=st.floats(-0.5, 0.5),
    toe_right=st.floats(-0.5, 0.5),
    wobble_left=st.floats(-0.2, 0.2),
    wobble_right=st.floats(-0.2, 0.2),
)
def test_the_traced_bay_gives_back_its_stand_turn_and_no_disagreement(
    turn: float, toe_left: float, toe_right: float, wobble_left: float, wobble_right: float
) -> None:
    thrust = (toe_right - toe_left) / 2.0
    left_beam, right_beam = -toe_left + wobble_left, toe_right + wobble_right
    bar = thrust + turn
    results = evaluate(
        "stand_turn",
        {
            "spot_left_mm": exact(returned_spot_mm(left_beam, bar, 4700.0)),
            "spot_right_mm": exact(returned_spot_mm(right_beam, bar, 4700.0)),
            "path_mm": exact(4700.0),
            "run_out_left_deg": exact(wobble_left),
            "run_out_right_deg": exact(wobble_right),
            "total_toe_deg": exact(toe_left + toe_right),
        },
    )
    assert results["stand_turn_deg"].value == pytest.approx(turn, abs=1e-9)
    assert results["beam_disagreement_deg"].value == pytest.approx(0.0, abs=1e-9)


def test_a_misread_spot_shows_as_disagreement() -> None:
    inputs = {
        "spot_left_mm": exact(12.0),
        "spot_right_mm": exact(2.0),
        "path_mm": exact(4700.0),
        "run_out_left_deg": exact(0.0),
        "run_out_right_deg": exact(0.0),
        "total_toe_deg": exact(0.0),
    }
    results = evaluate("stand_turn", inputs)
    assert results["beam_disagreement_deg"].value == pytest.approx(0.0609, abs=1e-4)


@given(angle=st.floats(-40.0, 40.0), path=st.floats(100.0, 10_000.0))
def test_spot_shift_is_the_inverse_of_the_angle(angle: float, path: float) -> None:
    assert beam_to_normal_deg(spot_shift_mm(angle, path), path) == pytest.approx(angle, abs=1e-9)
    assert spot_shift_mm(-angle, path) == -spot_shift_mm(angle, path)


def test_no_path_and_a_beam_that_never_returns_are_refused() -> None:
    with pytest.raises(MeasureError, match="path"):
        beam_to_normal_deg(3.0, 0.0)
    with pytest.raises(MeasureError, match="never comes back"):
        spot_shift_mm(45.0, 1000.0)


def test_without_run_out_the_stand_sits_where_the_arms_say() -> None:
    arms = {"left_mm": 770.0, "right_mm": 774.0}
    found = stand_offset_without_run_out_mm(
        **arms, path_mm=4700.0, run_out_left_deg=0.0, run_out_right_deg=0.0
    )
    assert found == stand_offset_left_mm(**arms) == 2.0


@pytest.mark.parametrize("formula", ["stand_sideways_run_out", "stand_sideways_of_heads"])
@pytest.mark.parametrize("sensor_left_mm", [120.0, 0.0, -80.0])
def test_a_sensor_beside_the_middle_has_the_plate_before_it(
    formula: str, sensor_left_mm: float
) -> None:
    """A stand 5 mm too far left of where the sensor looks."""
    stands_left_mm = sensor_left_mm + 5.0
    inputs = {
        "left_mm": 775.0 - stands_left_mm,
        "right_mm": 775.0 + stands_left_mm,
        "path_mm": 4700.0,
        "run_out_left_deg": 0.0,
        "run_out_right_deg": 0.0,
        "sensor_left_mm": sensor_left_mm,
    }
    if formula == "stand_sideways_of_heads":
        inputs["heads_out_left_deg"] = 0.0
    found = evaluate(formula, {name: exact(value) for name, value in inputs.items()})
    assert found["stand_offset_left_mm"].value == pytest.approx(5.0)
