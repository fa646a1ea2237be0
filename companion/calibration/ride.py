"""How the body stands on its wheels, and what that does to the aim."""

from __future__ import annotations

import math
from typing import NamedTuple

from companion.errors import MeasureError


class BodyStance(NamedTuple):
    """The body against the vehicle's own mean ride heights.

    `body_nose_up_deg`, `body_left_high_deg`: lean of the body against the wheels' plane.
    `body_twist_mm`: what neither lean explains, a quarter of the diagonals' difference (front left
    and rear right against the other two): a load in one corner, a tyre, a spring.
    """

    body_nose_up_deg: float
    body_left_high_deg: float
    body_twist_mm: float


def body_stance(
    *,
    front_left_mm: float,
    front_right_mm: float,
    rear_left_mm: float,
    rear_right_mm: float,
    wanted_front_mm: float,
    wanted_rear_mm: float,
    wheelbase_mm: float,
    track_mm: float,
) -> BodyStance:
    """Lean and twist of the body from four ride heights (floor or hub to body, larger = higher).

    Pitch = atan(excess in front - excess behind, over the wheelbase). Raises MeasureError for a
    wheelbase or track that is not above zero.
    """
    for name, length in (("wheelbase_mm", wheelbase_mm), ("track_mm", track_mm)):
        if not length > 0.0:
            raise MeasureError(f"ride heights: {name} is {length}; wanted: more than 0 mm")
    front = (front_left_mm + front_right_mm) / 2.0 - wanted_front_mm
    rear = (rear_left_mm + rear_right_mm) / 2.0 - wanted_rear_mm
    left_high_mm = (front_left_mm + rear_left_mm - front_right_mm - rear_right_mm) / 2.0
    return BodyStance(
        body_nose_up_deg=math.degrees(math.atan((front - rear) / wheelbase_mm)),
        body_left_high_deg=math.degrees(math.atan(left_high_mm / track_mm)),
        body_twist_mm=(front_left_mm + rear_right_mm - front_right_mm - rear_left_mm) / 4.0,
    )
