"""Targets placed with tapes, against scipy: points that are turned and solved for, no formulas."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import least_squares  # type: ignore[import-untyped]
from scipy.spatial.transform import Rotation  # type: ignore[import-untyped]

from companion.calibration.target import (
    bar_facing,
    board_offset_left_mm,
    board_place,
    body_over_middle,
    camera_offset,
    corner_angle_deg,
    corner_place,
    two_tapes,
)
from tests.outside.corner import corner_at, figures_of

PLACES = [(2000.0, 0.0), (1500.0, 420.0), (3120.5, -815.25), (600.0, 1500.0)]


@pytest.mark.parametrize("place", PLACES)
def test_two_tapes_meet_where_a_least_squares_solver_finds_the_point(
    place: tuple[float, float],
) -> None:
    """scipy.optimize.least_squares on the two distances."""
    marks = np.array([[0.0, 775.0], [0.0, -775.0]])
    tapes = [math.dist(place, mark) for mark in marks]
    solved = least_squares(
        lambda at: np.linalg.norm(marks - at, axis=1) - tapes, [1000.0, 10.0], xtol=1e-14
    ).x
    found = two_tapes(left_tape_mm=tapes[0], right_tape_mm=tapes[1], apart_mm=1550.0)
    assert (found.off_mm, found.left_mm) == pytest.approx(solved, abs=1e-5)
    assert (found.off_mm, found.left_mm) == pytest.approx(place, abs=1e-6)


def test_the_median_of_a_triangle_by_apollonius() -> None:
    """Sides 7, 8, 9: the median to the side of 8 is 7 (7^2 + 9^2 = 2 (4^2 + 7^2)). Maths."""
    found = bar_facing(left_end_mm=7.0, right_end_mm=9.0, bar_mm=8.0)
    assert found.middle_mm == pytest.approx(7.0, rel=1e-12)


@pytest.mark.parametrize("turned_deg", [-3.0, 0.0, 0.7, 5.0])
def test_a_turned_bar_by_scipys_rotation(turned_deg: float) -> None:
    """The bar's ends turned by scipy.spatial.transform.Rotation, seen from the mark along x."""
    half = Rotation.from_euler("z", turned_deg, degrees=True).apply([0.0, 400.0, 0.0])
    middle = np.array([2800.0, 0.0, 0.0])
    found = bar_facing(
        left_end_mm=float(np.linalg.norm(middle + half)),
        right_end_mm=float(np.linalg.norm(middle - half)),
        bar_mm=800.0,
    )
    assert found.facing_deg == pytest.approx(turned_deg, abs=1e-9)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_corner_reflector_at_its_place_has_no_error(side: float) -> None:
    thrust_deg = 0.12
    at = corner_at(side, thrust_deg)
    found = corner_place(
        left_tape_mm=math.dist(at[:2], (0.0, 775.0)),
        right_tape_mm=math.dist(at[:2], (0.0, -775.0)),
        **figures_of(side, thrust_deg),
    )
    errors = (found.sideways_error_mm, found.away_error_mm, found.tapes_disagree_mm)
    assert errors == pytest.approx((0.0, 0.0, 0.0), abs=1e-6)
    angle = corner_angle_deg(
        tool_yaw_deg=0.4,
        behind_mm=found.behind_mm,
        left_mm=found.left_mm,
        wanted_radius_mm=2800.0,
        wanted_angle_deg=38.0,
        side=side,
        sensor_behind_mm=800.0,
        sensor_out_mm=650.0,
    )
    assert angle == pytest.approx(0.4, abs=1e-9)


def test_a_camera_that_is_turned_by_scipys_rotation_is_found_again() -> None:
    """A board 9 mm left and 6 mm high, on a thrust line 0.2 degrees to the left."""
    thrust, yaw = 0.2, 0.31
    line = Rotation.from_euler("z", thrust, degrees=True)
    board = line.apply([4700.0, 9.0, 0.0])
    eye = np.array([2250.0, 0.0, 0.0])
    seen = line.inv().apply(board - eye)
    bearing = math.degrees(math.atan2(seen[1], seen[0]))
    found = camera_offset(
        tool_yaw_deg=yaw - bearing,
        tool_elevation_deg=0.0,
        board_ahead_mm=2000.0,
        distance_error_mm=0.0,
        board_offset_left_mm=9.0,
        board_height_mm=1300.0,
        height_error_mm=6.0,
        camera_ahead_mm=-450.0,
        camera_left_mm=0.0,
        camera_height_mm=1280.0,
        wheelbase_mm=2700.0,
        thrust_direction_deg=thrust,
        front_above_mm=4.0,
        rear_above_mm=4.0,
    )
    assert found.camera_yaw_deg == pytest.approx(yaw, abs=1e-3)
    rise = math.degrees(math.atan2(22.0, 2450.0) - math.atan2(20.0, 2450.0))
    assert found.camera_elevation_deg == pytest.approx(rise, abs=1e-9)


@pytest.mark.parametrize("camera_left_mm", [-110.0, 95.0])
@pytest.mark.parametrize("too_far_mm", [-13.0, 14.0])
@pytest.mark.parametrize("above_mm", [(9.0, -6.0), (-7.0, 8.0)])
def test_a_camera_beside_the_middle_of_a_body_that_stands_uneven_is_found_again(
    camera_left_mm: float, too_far_mm: float, above_mm: tuple[float, float]
) -> None:
    """All at once: the eye carried by a body that scipy pitches about its rear axle, the board too
    far or too near, beside the thrust line and too high. The tool tells the camera's own angles
    less what the board is seen off by from straight ahead and its height on paper."""
    thrust, yaw, up, wheelbase = 0.3, -0.27, 0.19, 2700.0
    front, rear = above_mm
    pitched = Rotation.from_euler("y", -math.degrees(math.atan2(front - rear, wheelbase)), True)
    eye = pitched.apply([wheelbase - 450.0, camera_left_mm, 0.0])
    eye = eye + np.array([0.0, 0.0, 1280.0 + rear])
    line = Rotation.from_euler("z", thrust, degrees=True)
    board = line.apply([wheelbase + 2000.0 + too_far_mm, -8.0, 0.0])
    board = board + np.array([0.0, 0.0, 1305.0])
    seen = line.inv().apply(board - eye)
    bearing_deg = math.degrees(math.atan2(seen[1], seen[0]))
    rise_deg = math.degrees(math.atan2(seen[2], seen[0]))
    on_paper_deg = math.degrees(math.atan2(20.0, 2450.0))
    found = camera_offset(
        tool_yaw_deg=yaw - bearing_deg,
        tool_elevation_deg=up - rise_deg + on_paper_deg,
        board_ahead_mm=2000.0,
        distance_error_mm=too_far_mm,
        board_offset_left_mm=-8.0,
        board_height_mm=1300.0,
        height_error_mm=5.0,
        camera_ahead_mm=-450.0,
        camera_left_mm=camera_left_mm,
        camera_height_mm=1280.0,
        wheelbase_mm=wheelbase,
        thrust_direction_deg=thrust,
        front_above_mm=front,
        rear_above_mm=rear,
    )
    assert found.camera_yaw_deg == pytest.approx(yaw, abs=1e-3)
    assert found.camera_elevation_deg == pytest.approx(up, abs=1e-3)


def test_a_board_on_a_sloping_floor_by_scipys_rotation() -> None:
    """The car's axes leaned over; a board plumb above its foot, given in the car's own axes."""
    slope, side = 0.1, 0.15
    to_world = Rotation.from_euler("xyz", [side, -slope, 0.0], degrees=True)
    foot = to_world.apply([2000.0, 0.0, 0.0])
    middle = to_world.inv().apply(foot + np.array([0.0, 0.0, 1300.0]))
    tapes = [math.dist(foot, to_world.apply([0.0, y, 0.0])) for y in (775.0, -775.0)]
    place = board_place(
        left_tape_mm=tapes[0],
        right_tape_mm=tapes[1],
        track_mm=1550.0,
        wheelbase_mm=2700.0,
        wanted_ahead_mm=2000.0,
        height_mm=1300.0,
        wanted_height_mm=1300.0,
        spot_above_mm=0.0,
        offset_left_mm=0.0,
        thrust_direction_deg=0.0,
        floor_slope_up_deg=slope,
    )
    assert place.distance_error_mm == pytest.approx(middle[0] - 2000.0, abs=0.01)
    left_mm = board_offset_left_mm(
        arms_left_mm=float(middle[1]) * 310.0 / 1300.0,
        level_mm_per_m=0.0,
        floor_side_slope_deg=side,
        board_height_mm=1300.0,
        arm_height_mm=310.0,
    )
    assert left_mm == pytest.approx(middle[1], abs=0.01)


@pytest.mark.parametrize("thrust", [-0.4, 0.3])
def test_a_board_beside_a_turned_thrust_line_by_scipys_rotation(thrust: float) -> None:
    """The thrust line leaves the rear axle's middle; tapes and beams see the same board."""
    rear = np.array([-2700.0, 0.0, 0.0])
    board = rear + Rotation.from_euler("z", thrust, degrees=True).apply([4705.0, 25.0, 0.0])
    place = board_place(
        left_tape_mm=math.dist(board[:2], (0.0, 775.0)),
        right_tape_mm=math.dist(board[:2], (0.0, -775.0)),
        track_mm=1550.0,
        wheelbase_mm=2700.0,
        wanted_ahead_mm=2000.0,
        height_mm=1290.0,
        wanted_height_mm=1300.0,
        spot_above_mm=4.0,
        offset_left_mm=25.0,
        thrust_direction_deg=thrust,
        floor_slope_up_deg=0.0,
    )
    # Square to the thrust line is not quite along the axle: thousandths of a millimetre here.
    assert place.tapes_disagree_mm == pytest.approx(0.0, abs=0.01)
    assert place.distance_error_mm == pytest.approx(board[0] - 2000.0, abs=1e-6)
    assert place.height_error_mm == pytest.approx(-6.0, abs=1e-12)


def test_a_stand_whose_left_end_is_up_by_scipys_rotation() -> None:
    """The stand leans about the line ahead; the arms, below the board, see it 10 mm to the left."""
    lean = Rotation.from_euler("x", math.degrees(math.asin(0.004)), degrees=True)
    assert lean.apply([0.0, 800.0, 0.0])[2] == pytest.approx(3.2)
    middle = lean.apply([0.0, 0.0, 990.0]) + np.array([0.0, 10.0, 310.0])
    left_mm = board_offset_left_mm(
        arms_left_mm=10.0,
        level_mm_per_m=4.0,
        floor_side_slope_deg=0.0,
        board_height_mm=1300.0,
        arm_height_mm=310.0,
    )
    assert left_mm == pytest.approx(float(middle[1]), abs=1e-9)


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize("off_mm", [(35.0, -20.0), (-50.0, 15.0)])
def test_a_turned_corner_radar_before_a_misplaced_reflector_is_found_again(
    side: float, off_mm: tuple[float, float]
) -> None:
    """The radar sees the reflector in its own turned axes; all places are turned by scipy.

    The tool gives what the reflector's place should be seen at, less what the radar sees.
    """
    thrust_deg, turned_deg, radius_mm, angle_deg = 0.35, 0.6, 2800.0, 38.0
    thrust = Rotation.from_euler("z", thrust_deg, degrees=True)
    place = Rotation.from_euler("z", 180.0 - side * angle_deg, degrees=True).apply(
        [radius_mm, 0.0, 0.0]
    )
    stands = place + np.array([-off_mm[1], off_mm[0], 0.0])
    sensor = np.array([-800.0, side * 650.0, 0.0])
    mounted = Rotation.from_euler("z", 180.0 - side * 45.0, degrees=True)
    turned = Rotation.from_euler("z", turned_deg, degrees=True) * mounted

    def seen_deg(at: np.ndarray, by: Rotation) -> float:
        ray = by.inv().apply(at - sensor)
        return math.degrees(math.atan2(ray[1], ray[0]))

    tool_deg = seen_deg(place, mounted) - seen_deg(stands, turned)
    foot = thrust.apply(stands)
    found = corner_place(
        left_tape_mm=math.dist(foot[:2], (0.0, 775.0)),
        right_tape_mm=math.dist(foot[:2], (0.0, -775.0)),
        track_mm=1550.0,
        middle_mm=float(np.linalg.norm(foot)),
        thrust_direction_deg=thrust_deg,
        wanted_radius_mm=radius_mm,
        wanted_angle_deg=angle_deg,
        side=side,
    )
    errors = (found.sideways_error_mm, found.away_error_mm, found.tapes_disagree_mm)
    assert errors == pytest.approx((*off_mm, 0.0), abs=1e-6)
    angle = corner_angle_deg(
        tool_yaw_deg=tool_deg,
        behind_mm=found.behind_mm,
        left_mm=found.left_mm,
        wanted_radius_mm=radius_mm,
        wanted_angle_deg=angle_deg,
        side=side,
        sensor_behind_mm=800.0,
        sensor_out_mm=650.0,
    )
    assert angle == pytest.approx(turned_deg, abs=1e-9)


def test_a_body_that_stands_high_in_front_by_scipys_rotation() -> None:
    """The middle of each axle's ride heights does not see a body that leans to one side."""
    leans = Rotation.from_euler("x", 0.5, degrees=True)
    high = {
        f"{end}_{name}_mm": over + float(leans.apply([0.0, y, 0.0])[2])
        for end, over in (("front", 391.0), ("rear", 388.0))
        for name, y in (("left", 775.0), ("right", -775.0))
    }
    found = body_over_middle(**high, wanted_front_mm=385.0, wanted_rear_mm=390.0)
    assert (found.front_above_mm, found.rear_above_mm) == pytest.approx((6.0, -2.0), abs=1e-9)
