"""The wheel lasers: what a mirror tells and what it cannot tell."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.simulation.car import WHEEL_CENTRE_MM
from companion.simulation.optics import arm_reading_mm, stand_axes, stand_centre, wheel_beam
from companion.simulation.truth import Clamp, Truth
from companion.simulation.vectors import (
    Vector,
    plane_normal,
    reflected,
    turn_about_y,
    turn_about_z,
    vector,
)
from companion.simulation.world import World

WorldOf = Callable[[Truth], World]
PATH_MM = 4700.0
small = st.floats(-2.0, 2.0)
offsets = st.floats(-80.0, 80.0)


def mirror_image(point: Vector, on_mirror: Vector, normal: Vector) -> Vector:
    """Where a point appears behind a flat mirror with this unit normal."""
    return point - 2.0 * float((point - on_mirror) @ normal) * normal


@given(small, small, offsets, offsets)
def test_a_ray_off_a_mirror_seems_to_come_from_the_image(
    turn_deg: float, tilt_deg: float, y_mm: float, z_mm: float
) -> None:
    normal = turn_about_z(turn_deg) @ turn_about_y(tilt_deg) @ vector(1, 0, 0)
    start, on_mirror = vector(0, y_mm, z_mm), vector(1500, 0, 0)
    direction = vector(1, 0.01, -0.02)
    hit = start + direction * float((on_mirror - start) @ normal) / float(direction @ normal)
    away = hit - mirror_image(start, on_mirror, normal)
    back = reflected(direction, normal)
    assert np.cross(away, back) == pytest.approx([0, 0, 0], abs=1e-6)


def test_moving_the_mirror_in_its_own_plane_changes_no_spot(
    perfect: Truth, world_of: WorldOf
) -> None:
    turned = replace(perfect, stand=replace(perfect.stand, turn_deg=0.8, top_away_mm_per_m=3.0))
    world = world_of(turned)
    before = world.true_value("spot", "left")
    along = turn_about_z(0.8) @ vector(0, 45.0, 0)
    world.move_stand(float(along[0]), float(along[1]))
    world.lift_plate(0.0)
    assert world.true_value("spot", "left") == pytest.approx(before, abs=1e-9)


@pytest.mark.parametrize("turn_deg", [-1.5, -0.3, 0.02, 0.7])
def test_the_spot_moves_by_twice_the_turn_to_the_other_side(
    perfect: Truth, world_of: WorldOf, turn_deg: float
) -> None:
    world = world_of(replace(perfect, stand=replace(perfect.stand, turn_deg=turn_deg)))
    for side in ("left", "right"):
        spot_mm = world.true_value("spot", side)
        # Right on the line of the bar's middle; at the arms the path differs by the turn itself.
        assert spot_mm == pytest.approx(-2 * PATH_MM * math.radians(turn_deg), rel=0.01)
    middle_mm = (world.true_value("spot", "left") + world.true_value("spot", "right")) / 2
    assert middle_mm == pytest.approx(-PATH_MM * math.tan(2 * math.radians(turn_deg)), rel=1e-6)


def test_a_spot_tells_turn_and_never_sideways(perfect: Truth, world_of: WorldOf) -> None:
    world = world_of(perfect)
    world.move_stand(0.0, 50.0)
    assert world.true_value("spot", "left") == pytest.approx(0.0, abs=1e-9)
    assert world.true_value("arm", "left") == pytest.approx(725.0)
    assert world.true_value("arm", "right") == pytest.approx(825.0)


def test_toe_in_turns_the_left_wheel_right_and_the_right_wheel_left(
    perfect: Truth, world_of: WorldOf
) -> None:
    world = world_of(replace(perfect, toe_left_deg=0.2, toe_right_deg=0.1))
    left_deg, right_deg = (
        math.degrees(0.5 * math.atan(world.true_value("spot", side) / PATH_MM))
        for side in ("left", "right")
    )
    assert left_deg == pytest.approx(-0.2, abs=1e-3)
    assert right_deg == pytest.approx(0.1, abs=1e-3)
    assert left_deg - right_deg == pytest.approx(-(0.2 + 0.1), abs=1e-3)
    assert world.true_value("arm", "left") == pytest.approx(775 - PATH_MM * math.radians(0.2), 1e-4)


def test_a_stand_square_to_the_thrust_line_shows_the_spots_even(
    perfect: Truth, world_of: WorldOf
) -> None:
    truth = replace(perfect, toe_left_deg=-0.1, toe_right_deg=0.2)
    world = world_of(replace(truth, stand=replace(truth.stand, turn_deg=0.15)))
    assert truth.thrust_deg == pytest.approx(0.15)
    assert world.truth_now().stand_turn_deg == pytest.approx(0.0, abs=1e-9)
    spots = world.true_value("spot", "left") + world.true_value("spot", "right")
    assert spots == pytest.approx(0.0, abs=0.01)


@given(st.floats(0.0, 0.5), st.floats(0.0, 360.0))
def test_run_out_goes_round_with_the_wheel_and_averages_out(
    perfect: Truth, wobble_deg: float, phase_deg: float
) -> None:
    clamp = Clamp(wobble_deg, phase_deg, 0.0, 0.0)
    emitter, axle = vector(-2700, 775, WHEEL_CENTRE_MM), vector(0, 1, 0)
    centre, axes = stand_centre(perfect.stand, 0.0), stand_axes(perfect.stand)
    readings = [
        arm_reading_mm(wheel_beam(emitter, axle, clamp, turned), "left", centre, axes)
        for turned in (0.0, 90.0, 180.0, 270.0)
    ]
    assert sum(readings) / 4 == pytest.approx(775.0, abs=0.01)
    assert readings[0] + readings[2] == pytest.approx(readings[1] + readings[3], abs=0.02)
    swing_mm = math.hypot(readings[0] - readings[2], readings[1] - readings[3]) / 2
    assert swing_mm == pytest.approx(PATH_MM * math.tan(math.radians(wobble_deg)), abs=0.05)


def test_a_seated_clamp_wobbles_anew_and_a_wheel_comes_back_to_its_start(
    perfect: Truth, world_of: WorldOf
) -> None:
    world = world_of(replace(perfect, clamp_left=Clamp(0.2, 40.0, 0.0, 0.0)))
    start = world.true_value("arm", "left")
    world.turn_wheel("left", 2)
    assert abs(world.true_value("arm", "left") - start) > 5
    world.turn_wheel("left", 4)
    assert world.true_value("arm", "left") == pytest.approx(start)
    world.seat_clamp("left")
    assert world.true_value("arm", "left") != pytest.approx(start, abs=0.01)


def test_left_and_right_are_mirror_images(perfect: Truth, world_of: WorldOf) -> None:
    def bent(sign: float, left: str) -> Truth:
        stand = replace(perfect.stand, left_mm=20.0 * sign, turn_deg=0.6 * sign)
        toes = (0.2, -0.05) if left == "left" else (-0.05, 0.2)
        return replace(perfect, stand=stand, toe_left_deg=toes[0], toe_right_deg=toes[1])

    here, mirrored = world_of(bent(1.0, "left")), world_of(bent(-1.0, "right"))
    for scale, sign in (("spot", -1.0), ("arm", 1.0)):
        assert here.true_value(scale, "left") == pytest.approx(
            sign * mirrored.true_value(scale, "right")
        )
    assert here.truth_now().stand_turn_deg == pytest.approx(-mirrored.truth_now().stand_turn_deg)


def test_the_plane_nearest_three_points_goes_through_them() -> None:
    """Slopes +2 and -1 mm/m (three exact points)."""
    normal = plane_normal([vector(0, 0, 0), vector(1500, 0, 3), vector(0, 1200, -1.2)])
    assert -normal[0] / normal[2] == pytest.approx(0.002)
    assert -normal[1] / normal[2] == pytest.approx(-0.001)
