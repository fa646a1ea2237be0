"""The floor under the four wheels and the stand, from a rule read against a level laser line."""

from __future__ import annotations

import math
from typing import NamedTuple

from companion.errors import MeasureError


class FloorShape(NamedTuple):
    """How the floor lies.

    `floor_slope_up_deg`: + = rises towards the front. `floor_side_slope_deg`: + = left side high.
    `floor_twist_mm`: what no plane can follow, as a quarter of the diagonals' difference in
    height (rear left and front right against the other two). `stand_spot_above_mm`: the stand's
    spot above the wheels' plane carried forward to it.
    """

    floor_slope_up_deg: float
    floor_side_slope_deg: float
    floor_twist_mm: float
    stand_spot_above_mm: float


def floor_plane(
    *,
    rear_left_mm: float,
    rear_right_mm: float,
    front_left_mm: float,
    front_right_mm: float,
    stand_mm: float,
    wheelbase_mm: float,
    rear_track_mm: float,
    front_track_mm: float,
    stand_ahead_mm: float,
) -> FloorShape:
    """Least-squares plane through the four wheel spots, its twist, and the stand's spot.

    The first five are rule readings: a LARGER reading is a LOWER floor. `stand_ahead_mm`: the
    stand's spot ahead of the front axle, on the car's middle. The wheels stand evenly about the
    middle, so the normal equations fall apart: no matrix is needed.
    Raises MeasureError for a wheelbase or track that is not above zero.
    """
    if not (wheelbase_mm > 0.0 and rear_track_mm > 0.0 and front_track_mm > 0.0):
        raise MeasureError(
            f"floor: wheelbase_mm is {wheelbase_mm}, rear_track_mm {rear_track_mm}, "
            f"front_track_mm {front_track_mm}; wanted: more than 0 mm each"
        )
    slope = (rear_left_mm + rear_right_mm - front_left_mm - front_right_mm) / (2.0 * wheelbase_mm)
    half_rear, half_front = rear_track_mm / 2.0, front_track_mm / 2.0
    side_slope = (
        half_rear * (rear_right_mm - rear_left_mm) + half_front * (front_right_mm - front_left_mm)
    ) / (2.0 * (half_rear**2 + half_front**2))
    mean_height = -(rear_left_mm + rear_right_mm + front_left_mm + front_right_mm) / 4.0
    plane_at_stand = mean_height + slope * (wheelbase_mm / 2.0 + stand_ahead_mm)
    return FloorShape(
        floor_slope_up_deg=math.degrees(math.atan(slope)),
        floor_side_slope_deg=math.degrees(math.atan(side_slope)),
        floor_twist_mm=(rear_right_mm + front_left_mm - rear_left_mm - front_right_mm) / 4.0,
        stand_spot_above_mm=-stand_mm - plane_at_stand,
    )
