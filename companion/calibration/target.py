"""Where a target stands and what that does to the angle that a scan tool reads from it.

A board before a camera, a reflector behind a car's corner: points on the floor, found with tapes
from the wheels' plumb marks. Axes: x ahead, y to the left, z up, in mm.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from companion.errors import MeasureError


class TwoTapes(NamedTuple):
    """A point off a base line: `off_mm` square to the line, `left_mm` along it from its middle."""

    off_mm: float
    left_mm: float


def two_tapes(*, left_tape_mm: float, right_tape_mm: float, apart_mm: float) -> TwoTapes:
    """The point that two tapes meet in, from marks `apart_mm` apart on the car's left and right.

    Law of cosines: left = (right^2 - left tape^2) / (2 apart). `off_mm` is the distance to the base
    line, never below 0. Raises MeasureError for tapes that cannot meet.
    """
    if not (apart_mm > 0.0 and left_tape_mm > 0.0 and right_tape_mm > 0.0):
        raise MeasureError(
            f"two tapes: found {left_tape_mm} and {right_tape_mm} mm over {apart_mm} mm; wanted "
            "are lengths above 0"
        )
    left_mm = (right_tape_mm**2 - left_tape_mm**2) / (2.0 * apart_mm)
    square = left_tape_mm**2 - (left_mm - apart_mm / 2.0) ** 2
    if not square > 0.0:
        raise MeasureError(
            f"two tapes: {left_tape_mm} and {right_tape_mm} mm do not meet over {apart_mm} mm; "
            "read both again"
        )
    return TwoTapes(math.sqrt(square), left_mm)


def middle_of_bar_mm(*, left_end_mm: float, right_end_mm: float, bar_mm: float) -> float:
    """From a mark to the middle of a bar, by tapes to its two ends (Apollonius' theorem)."""
    square = (left_end_mm**2 + right_end_mm**2) / 2.0 - (bar_mm / 2.0) ** 2
    if not (bar_mm > 0.0 and square > 0.0):
        raise MeasureError(
            f"bar: tapes of {left_end_mm} and {right_end_mm} mm do not reach the ends of a bar of "
            f"{bar_mm} mm; read both again"
        )
    return math.sqrt(square)


class BarFacing(NamedTuple):
    """`facing_deg`: + = the bar is turned to the left of square to the line from the mark.

    `middle_mm`: from the mark to the bar's middle.
    """

    facing_deg: float
    middle_mm: float


def bar_facing(*, left_end_mm: float, right_end_mm: float, bar_mm: float) -> BarFacing:
    """How a bar stands to the line from a mark, by tapes from the mark to its ends.

    Ends are left and right as one looks from the mark. Law of cosines at the bar's middle: the
    squares differ by 2 bar middle sin(facing). Raises MeasureError for tapes that do not fit.
    """
    middle_mm = middle_of_bar_mm(left_end_mm=left_end_mm, right_end_mm=right_end_mm, bar_mm=bar_mm)
    sine = (right_end_mm**2 - left_end_mm**2) / (2.0 * bar_mm * middle_mm)
    if not abs(sine) < 1.0:
        raise MeasureError(
            f"bar: tapes of {left_end_mm} and {right_end_mm} mm differ by more than a bar of "
            f"{bar_mm} mm allows; read both again"
        )
    return BarFacing(math.degrees(math.asin(sine)), middle_mm)


class BoardPlace(NamedTuple):
    """`distance_error_mm`: + = too far ahead. `height_error_mm`: + = too high over the wheels'
    plane. `tapes_disagree_mm`: where the tapes see the board to the left of where the beams do."""

    distance_error_mm: float
    height_error_mm: float
    tapes_disagree_mm: float


def board_place(
    *,
    left_tape_mm: float,
    right_tape_mm: float,
    track_mm: float,
    wheelbase_mm: float,
    wanted_ahead_mm: float,
    height_mm: float,
    wanted_height_mm: float,
    spot_above_mm: float,
    offset_left_mm: float,
    thrust_direction_deg: float,
    floor_slope_up_deg: float,
) -> BoardPlace:
    """A board's place from two tapes to its middle, from the front wheels' plumb marks.

    `height_mm` is taken from the floor under the board, which lies `spot_above_mm` over the plane
    of the wheels. `offset_left_mm`: left of the thrust line, as the beams have it; the line leaves
    the rear axle's middle at `thrust_direction_deg` (+ = left). Tapes run along the floor; on a
    floor that rises to the front the board's middle, plumb above, stands further ahead of the car.
    """
    found = two_tapes(left_tape_mm=left_tape_mm, right_tape_mm=right_tape_mm, apart_mm=track_mm)
    line_mm = (wheelbase_mm + found.off_mm) * math.tan(math.radians(thrust_direction_deg))
    return BoardPlace(
        distance_error_mm=found.off_mm
        + height_mm * math.sin(math.radians(floor_slope_up_deg))
        - wanted_ahead_mm,
        height_error_mm=height_mm + spot_above_mm - wanted_height_mm,
        tapes_disagree_mm=found.left_mm - line_mm - offset_left_mm,
    )


def board_offset_left_mm(
    *,
    arms_left_mm: float,
    level_mm_per_m: float,
    floor_side_slope_deg: float,
    board_height_mm: float,
    arm_height_mm: float,
) -> float:
    """The board's middle left of the thrust line, from where the arms on its stand see it.

    A stand whose left end is up leans its top to the right: by the slope, over the height between
    the arms and the board's middle. A car whose left side stands high leans to the right itself.
    """
    leans = math.sin(math.radians(floor_side_slope_deg)) - level_mm_per_m / 1000.0
    return arms_left_mm + leans * (board_height_mm - arm_height_mm)


class CameraOffset(NamedTuple):
    """Where a camera really looks: + = left of the thrust direction, up from the wheels' plane."""

    camera_yaw_deg: float
    camera_elevation_deg: float


def camera_offset(
    *,
    tool_yaw_deg: float,
    tool_elevation_deg: float,
    board_ahead_mm: float,
    distance_error_mm: float,
    board_offset_left_mm: float,
    board_height_mm: float,
    height_error_mm: float,
    camera_ahead_mm: float,
    camera_left_mm: float,
    camera_height_mm: float,
    wheelbase_mm: float,
    thrust_direction_deg: float,
    front_above_mm: float,
    rear_above_mm: float,
) -> CameraOffset:
    """The tool's angles put right by where board and camera really are.

    The tool takes the board to be at its place on the thrust line, straight before the camera and
    as high over it as on paper; what the board is seen off by there, it takes for the camera's
    error. `front_above_mm`, `rear_above_mm`: the body over the middle of its ride heights.
    """
    apart_mm = board_ahead_mm + distance_error_mm - camera_ahead_mm
    if not (apart_mm > 0.0 and wheelbase_mm > 0.0):
        raise MeasureError(
            f"camera: the board is {apart_mm} mm ahead of it and the wheelbase {wheelbase_mm} mm; "
            "wanted: a board in front and a wheelbase above 0"
        )
    back_mm = wheelbase_mm + camera_ahead_mm
    from_line_mm = camera_left_mm - back_mm * math.tan(math.radians(thrust_direction_deg))
    rise_mm = rear_above_mm + (front_above_mm - rear_above_mm) * back_mm / wheelbase_mm
    over_mm = board_height_mm - camera_height_mm
    yaw = math.atan2(board_offset_left_mm - from_line_mm, apart_mm)
    seen = math.atan2(over_mm + height_error_mm - rise_mm, apart_mm)
    on_paper = math.atan2(over_mm, board_ahead_mm - camera_ahead_mm)
    return CameraOffset(
        camera_yaw_deg=tool_yaw_deg + math.degrees(yaw),
        camera_elevation_deg=tool_elevation_deg + math.degrees(seen - on_paper),
    )


class BodyOverMiddle(NamedTuple):
    """How far the body stands over the middle of its ride heights, front and rear."""

    front_above_mm: float
    rear_above_mm: float


def body_over_middle(
    *,
    front_left_mm: float,
    front_right_mm: float,
    rear_left_mm: float,
    rear_right_mm: float,
    wanted_front_mm: float,
    wanted_rear_mm: float,
) -> BodyOverMiddle:
    """The mean of each axle's two ride heights, less what it should be."""
    return BodyOverMiddle(
        (front_left_mm + front_right_mm) / 2.0 - wanted_front_mm,
        (rear_left_mm + rear_right_mm) / 2.0 - wanted_rear_mm,
    )


class CornerPlace(NamedTuple):
    """Where a reflector behind the car stands against its place, in the thrust direction's axes.

    `sideways_error_mm`: + = too far to the car's left. `away_error_mm`: + = too far behind.
    `tapes_disagree_mm`: the wheels' tapes against those to the bar's ends.
    """

    sideways_error_mm: float
    away_error_mm: float
    tapes_disagree_mm: float
    behind_mm: float
    left_mm: float


def corner_place(
    *,
    left_tape_mm: float,
    right_tape_mm: float,
    track_mm: float,
    middle_mm: float,
    thrust_direction_deg: float,
    wanted_radius_mm: float,
    wanted_angle_deg: float,
    side: float,
) -> CornerPlace:
    """A place behind the rear axle's middle, by tapes from the rear wheels' plumb marks.

    Its place is `wanted_radius_mm` from the middle, `wanted_angle_deg` outwards from straight back
    along the thrust direction; `side` is 1 for the car's left and -1 for its right.
    `middle_mm`: from the axle's middle to the bar's middle by the tapes to its ends.
    """
    found = two_tapes(left_tape_mm=left_tape_mm, right_tape_mm=right_tape_mm, apart_mm=track_mm)
    # Thrust to the left turns what lies straight behind to the car's right.
    thrust = math.radians(thrust_direction_deg)
    cosine, sine = math.cos(thrust), math.sin(thrust)
    behind_mm = found.off_mm * cosine - found.left_mm * sine
    left_mm = found.left_mm * cosine + found.off_mm * sine
    wanted = math.radians(wanted_angle_deg)
    return CornerPlace(
        sideways_error_mm=left_mm - side * wanted_radius_mm * math.sin(wanted),
        away_error_mm=behind_mm - wanted_radius_mm * math.cos(wanted),
        tapes_disagree_mm=math.hypot(found.off_mm, found.left_mm) - middle_mm,
        behind_mm=behind_mm,
        left_mm=left_mm,
    )


def corner_angle_deg(
    *,
    tool_yaw_deg: float,
    behind_mm: float,
    left_mm: float,
    wanted_radius_mm: float,
    wanted_angle_deg: float,
    side: float,
    sensor_behind_mm: float,
    sensor_out_mm: float,
) -> float:
    """Where a corner radar really points, + = left of where it should, seen from above.

    The tool takes the reflector to be at its place; by as much as it is seen to the left of that
    from the sensor, the radar points further left than the tool says. `sensor_behind_mm`,
    `sensor_out_mm`: the sensor behind the rear axle and out from the middle, on its own side.
    """
    wanted = math.radians(wanted_angle_deg)
    sensor_left_mm = side * sensor_out_mm
    stands = math.atan2(left_mm - sensor_left_mm, behind_mm - sensor_behind_mm)
    belongs = math.atan2(
        side * wanted_radius_mm * math.sin(wanted) - sensor_left_mm,
        wanted_radius_mm * math.cos(wanted) - sensor_behind_mm,
    )
    # Seen from above, further left behind the car is clockwise; left of the radar is the other way.
    return tool_yaw_deg - math.degrees(stands - belongs)
