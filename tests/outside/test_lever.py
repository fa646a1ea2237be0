"""The light lever against a book, a worked problem and a ray trace. Test ids are row ids."""

from __future__ import annotations

import math

import numpy as np
import pytest

from companion.calibration.formulas import evaluate
from companion.calibration.lever import beam_to_normal_deg, spot_shift_mm
from companion.uncertainty.measured import exact, measured


# OPT-1. OpenStax, College Physics, law of reflection (module m42456): read.
@pytest.mark.parametrize("turn_deg", [0.01, 0.5, 3.0, 20.0])
def test_opt_1_the_reflected_ray_turns_twice_as_far_as_the_mirror(turn_deg: float) -> None:
    shift = spot_shift_mm(turn_deg, 1000.0)
    assert math.degrees(math.atan(shift / 1000.0)) == pytest.approx(2.0 * turn_deg, rel=1e-12)


@pytest.mark.parametrize(
    ("path_mm", "shift_mm", "turn_deg"),
    [
        # OPT-2. Worked problem, physicsforums thread 470137: inputs read, answer computed.
        pytest.param(5000.0, 2.0, 0.011459155, id="OPT-2"),
        # OPT-3 to OPT-5, OPT-8: definition.
        pytest.param(1500.0, 10.0, 0.190983102, id="OPT-3"),
        pytest.param(1000.0, 10.0, 0.286469349, id="OPT-4"),
        pytest.param(2000.0, 5.0, 0.071619575, id="OPT-5"),
        pytest.param(1500.0, 1.0, 0.019098590, id="OPT-8"),
    ],
)
def test_mirror_turn_from_spot_shift(path_mm: float, shift_mm: float, turn_deg: float) -> None:
    assert beam_to_normal_deg(shift_mm, path_mm) == pytest.approx(turn_deg, abs=1e-8)


@pytest.mark.parametrize(
    ("turn_deg", "shift_mm"),
    [
        pytest.param(1.0, 52.381154, id="OPT-6"),  # definition
        pytest.param(0.1, 5.236009, id="OPT-8"),  # definition
    ],
)
def test_spot_shift_from_mirror_turn(turn_deg: float, shift_mm: float) -> None:
    assert spot_shift_mm(turn_deg, 1500.0) == pytest.approx(shift_mm, abs=1e-6)


def traced_shift_mm(turn_deg: float, sideways_mm: float = 0.0) -> float:
    """Laser and scale turned together before a fixed wall mirror 1500 mm away (square distance)."""
    turn = math.radians(turn_deg)
    start = np.array([0.0, sideways_mm])
    beam = np.array([math.cos(turn), math.sin(turn)])
    hit = start + beam * (1500.0 / beam[0])
    back = beam * np.array([-1.0, 1.0])
    scale = np.array([-beam[1], beam[0]])
    _, along = np.linalg.solve(np.column_stack((back, -scale)), start - hit)
    return float(along)


# OPT-7. Ray trace (definition); the path along the beam is 1500 / cos(1 degree).
def test_opt_7_the_path_is_counted_along_the_beam() -> None:
    assert traced_shift_mm(1.0) == pytest.approx(52.389133, abs=1e-6)
    along_beam = 1500.0 / math.cos(math.radians(1.0))
    assert beam_to_normal_deg(52.389133, along_beam) == pytest.approx(1.0, abs=1e-7)


# OPT-9. Taylor series (definition).
@pytest.mark.parametrize(
    ("turn_deg", "excess"), [(0.5, 1.01552e-4), (1, 4.06355e-4), (2, 1.627800e-3), (5, 1.027918e-2)]
)
def test_opt_9_halving_the_shift_alone_would_be_wrong_by(turn_deg: float, excess: float) -> None:
    small_angle_deg = math.degrees(spot_shift_mm(turn_deg, 1500.0) / 3000.0)
    assert small_angle_deg / turn_deg - 1.0 == pytest.approx(excess, rel=1e-5)


# OPT-10. Ray trace (definition).
def test_opt_10_a_mirror_reading_never_tells_sideways() -> None:
    assert traced_shift_mm(1.0, 37.0) == pytest.approx(traced_shift_mm(1.0), abs=1e-9)


# OPT-11. The `uncertainties` package.
def test_opt_11_doubt_of_the_angle() -> None:
    uncertainties = pytest.importorskip("uncertainties")
    umath = pytest.importorskip("uncertainties.umath")
    u_shift, u_path = 1.0 / math.sqrt(12.0), 5.0 / math.sqrt(3.0)
    turned = evaluate(
        "stand_turn",
        {
            # Both sides read the same spot with the same error: the mean is one side's angle.
            "spot_left_mm": measured("spot", -10.0, u_shift),
            "spot_right_mm": measured("spot", -10.0, u_shift),
            "path_mm": measured("path", 1500.0, u_path),
            "run_out_left_deg": exact(0.0),
            "run_out_right_deg": exact(0.0),
            "total_toe_deg": exact(0.0),
        },
    )["stand_turn_deg"]
    oracle = umath.degrees(
        umath.atan(uncertainties.ufloat(10.0, u_shift) / uncertainties.ufloat(1500.0, u_path)) / 2
    )
    assert turned.value == pytest.approx(0.190983, abs=1e-6)
    assert turned.u == pytest.approx(0.005525, abs=1e-6)
    assert turned.u == pytest.approx(oracle.std_dev, rel=1e-6)
    assert abs(dict(turned.contributions)["spot"]) == pytest.approx(0.005513, abs=1e-6)
