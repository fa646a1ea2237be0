"""What a tape tells: whether a laid-out rectangle is square, a turn from two distances."""

from __future__ import annotations

import math

from companion.errors import MeasureError


def skew_from_diagonals_deg(
    *, diagonal_1_mm: float, diagonal_2_mm: float, length_mm: float, width_mm: float
) -> float:
    """How far a laid-out rectangle's corners are from square.

    Law of cosines: difference of the squared diagonals = 4 length width sin(skew).
    `diagonal_1_mm` runs from rear right to front left; + = the front end is skewed to the left.
    Raises MeasureError for sides that are not above zero or diagonals that no such sides can have.
    """
    if not (length_mm > 0.0 and width_mm > 0.0):
        raise MeasureError(
            f"diagonals: sides are {length_mm} and {width_mm} mm; wanted: two above 0"
        )
    sine = (diagonal_1_mm**2 - diagonal_2_mm**2) / (4.0 * length_mm * width_mm)
    if not abs(sine) < 1.0:
        raise MeasureError(
            f"diagonals: {diagonal_1_mm} and {diagonal_2_mm} mm do not belong to sides of "
            f"{length_mm} and {width_mm} mm; read all four again"
        )
    return math.degrees(math.asin(sine))


def level_distance_mm(*, tape_mm: float, slope_deg: float) -> float:
    """The level part of a distance taped along a slope: tape * cos(slope)."""
    return tape_mm * math.cos(math.radians(slope_deg))


def turn_from_two_distances_deg(
    *, distance_left_mm: float, distance_right_mm: float, apart_mm: float
) -> float:
    """Turn of a bar in front of the car from the distances of its ends: atan((r - l) / apart).

    Distances run forwards to the bar's left and right end (the car's sides). + = turned to the
    left, anticlockwise seen from above: the left end is the nearer one.
    """
    if not apart_mm > 0.0:
        raise MeasureError(f"two distances: apart_mm is {apart_mm}; wanted: more than 0")
    return math.degrees(math.atan((distance_right_mm - distance_left_mm) / apart_mm))
