"""Axes, toe and thrust direction against the standard's signs. Test ids are row ids."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from companion.calibration.formulas import evaluate
from companion.calibration.mount import Mount, Screw, forward
from companion.calibration.reach import miss_at_range_m
from companion.calibration.wheels import toe_deg_from_mm
from companion.uncertainty.measured import exact


def axle(left: float, right: float) -> dict[str, float]:
    results = evaluate(
        "toe_from_angle", {"toe_left_deg": exact(left), "toe_right_deg": exact(right)}
    )
    return {name: item.value for name, item in results.items()}


# AXI-1. ISO 8855:2011: right-handed and z up read second hand, x forward from memory.
# AXI-3, AXI-4, AXI-5: rotations in those axes (definition).
@pytest.mark.parametrize(
    ("axis", "of", "component", "expected"),
    [
        pytest.param("z", (1, 0, 0), 1, +0.01745241, id="AXI-3"),
        pytest.param("y", (1, 0, 0), 2, -0.01745241, id="AXI-4"),
        pytest.param("x", (0, 1, 0), 2, +0.01745241, id="AXI-5"),
    ],
)
def test_turns_about_the_axes(
    axis: str, of: tuple[int, int, int], component: int, expected: float
) -> None:
    turned = Rotation.from_euler(axis, 1.0, degrees=True).apply(of)
    assert turned[component] == pytest.approx(expected, abs=1e-8)


# AXI-3 and AXI-4 applied: yaw + is left, elevation + is up (minus the ISO pitch).
def test_screws_turn_the_aim_as_the_rotations_say() -> None:
    left = Screw("left", "left", 60.0, 0.0, 0.8, "right", 9.0, 9.0, 0.25, 0.0)
    top = Screw("top", "top", 0.0, 60.0, 0.8, "right", 9.0, 9.0, 0.25, 0.0)
    mount = Mount((left, top), "clockwise")
    yaw, _ = forward(mount, (1.0, 0.0))
    _, elevation = forward(mount, (0.0, 1.0))
    yawed = Rotation.from_euler("z", yaw, degrees=True)
    pitched = Rotation.from_euler("y", -elevation, degrees=True)
    # The corner's rearward travel over its lever is the rotation's, and the aim goes left, or up.
    left_corner, top_corner = yawed.apply([0, 60, 0]), pitched.apply([0, 0, 60])
    assert left_corner[0] / left_corner[1] == pytest.approx(-0.8 / 60)
    assert top_corner[0] / top_corner[2] == pytest.approx(-0.8 / 60)
    assert yawed.apply([1, 0, 0])[1] > 0.0
    assert pitched.apply([1, 0, 0])[2] > 0.0


# AXI-6. Definition: z up to z down is a half turn about x.
def test_axi_6_z_down_keeps_roll_and_swaps_pitch_and_yaw() -> None:
    flip = np.diag([1.0, -1.0, -1.0])
    for axis, sign in (("x", 1.0), ("y", -1.0), ("z", -1.0)):
        turned = flip @ Rotation.from_euler(axis, 1.0, degrees=True).as_matrix() @ flip
        assert turned == pytest.approx(Rotation.from_euler(axis, sign, degrees=True).as_matrix())


# TOE-1 and TOE-2. ISO 8855:2011, 7.1.6 and 7.1.7, read second hand: toe-in positive, total = sum.
def test_toe_2_total_toe() -> None:
    assert axle(0.20, 0.10)["total_toe_deg"] == pytest.approx(0.30)


# TOE-3 to TOE-6. Derived from TOE-1.
@pytest.mark.parametrize(
    ("left", "right", "thrust"),
    [
        pytest.param(0.20, 0.10, -0.05, id="TOE-3"),
        pytest.param(-0.05, 0.15, 0.10, id="TOE-4"),
        pytest.param(10.0 / 60.0, 4.0 / 60.0, -0.05, id="TOE-5"),
        pytest.param(0.13, 0.13, 0.0, id="TOE-6"),
    ],
)
def test_thrust_direction_is_where_the_wheels_bisector_points(
    left: float, right: float, thrust: float
) -> None:
    left_wheel = Rotation.from_euler("z", -left, degrees=True).apply([1, 0, 0])
    right_wheel = Rotation.from_euler("z", right, degrees=True).apply([1, 0, 0])
    both = left_wheel + right_wheel
    found = axle(left, right)["thrust_direction_deg"]
    assert found == pytest.approx(thrust, abs=1e-12)
    assert math.degrees(math.atan2(both[1], both[0])) == pytest.approx(thrust, abs=1e-12)


# TOE-7. Definition.
def test_toe_7_what_a_thrust_direction_does_at_range() -> None:
    assert miss_at_range_m(exact(0.05), 100.0).value == pytest.approx(0.0872665, abs=1e-7)


# TOE-8 to TOE-10. Definition: front-to-rear difference across the diameter.
@pytest.mark.parametrize(
    ("toe_mm", "diameter_mm", "toe_deg"),
    [
        pytest.param(1.0, 406.4, 0.140983852, id="TOE-8"),
        pytest.param(2.0, 406.4, 0.281968557, id="TOE-9"),
        pytest.param(4.0, 727.7, 0.314943345, id="TOE-10"),
        # TOE-11 turned round: D sin(toe) to nine digits.
        pytest.param(406.4 * math.sin(math.radians(0.1)), 406.4, 0.1, id="TOE-11"),
    ],
)
def test_toe_from_mm(toe_mm: float, diameter_mm: float, toe_deg: float) -> None:
    assert toe_deg_from_mm(toe_mm, diameter_mm) == pytest.approx(toe_deg, abs=1e-8)


@pytest.mark.parametrize(("diameter_mm", "toe_mm"), [(406.4, 0.709301), (650.0, 1.134463)])
def test_toe_11_printed_mm(diameter_mm: float, toe_mm: float) -> None:
    assert toe_deg_from_mm(toe_mm, diameter_mm) == pytest.approx(0.1, abs=1e-7)


def test_toe_from_mm_feeds_the_same_axle() -> None:
    results = evaluate(
        "toe_from_mm",
        {"toe_left_mm": exact(2.0), "toe_right_mm": exact(1.0), "diameter_mm": exact(406.4)},
    )
    assert results["total_toe_deg"].value == pytest.approx(0.281968557 + 0.140983852, abs=1e-8)
    assert results["thrust_direction_deg"].value == pytest.approx(
        (0.140983852 - 0.281968557) / 2, abs=1e-8
    )


# Trap beside TOE-10: measured against the wheel's centre the same mm would mean twice the angle.
def test_the_radius_recipe_is_not_used() -> None:
    mm_per_degree_of_radius = math.pi * 727.7 / 360.0
    assert 4.0 / mm_per_degree_of_radius == pytest.approx(0.629884, abs=1e-6)
    assert toe_deg_from_mm(4.0, 727.7) == pytest.approx(0.629884 / 2.0, abs=2e-6)
