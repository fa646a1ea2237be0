"""Mats squared to a car's body: four tapes to each from two wheels' plumb marks, and the diagonals.

Axes: x ahead, y to the left, in mm. A mat lies across, before or behind the car; its corners are
the end marks of the edge that is nearer to the car.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from companion.calibration.tape import skew_from_diagonals_deg
from companion.calibration.target import two_tapes
from companion.errors import MeasureError


class MatPlace(NamedTuple):
    """`distance_error_mm`: + = too far from the car. `sideways_error_mm`: + = too far to its left.

    `turned_deg`: + = turned to the left, anticlockwise seen from above. `tapes_disagree_mm`: the
    two corners as the tapes have them, further apart than the mat's own marks are.
    """

    distance_error_mm: float
    sideways_error_mm: float
    turned_deg: float
    tapes_disagree_mm: float


def mat_place(
    *,
    left_tape_mm: float,
    left_diagonal_mm: float,
    right_tape_mm: float,
    right_diagonal_mm: float,
    track_mm: float,
    mat_mm: float,
    wanted_mm: float,
    end: float,
) -> MatPlace:
    """A mat's place by tapes from the plumb marks of the two wheels next to it.

    `left_tape_mm`: left mark to the mat's left corner; `left_diagonal_mm`: left mark to its right
    corner; the right ones likewise, left and right being the car's. `mat_mm`: between its corners'
    marks. `end`: 1 before the car, -1 behind it. Each corner is where two tapes meet (law of
    cosines). Raises MeasureError for tapes that cannot meet.
    """
    if not mat_mm > 0.0:
        raise MeasureError(f"mat: {mat_mm} mm between its marks; wanted is more than 0")
    left = two_tapes(left_tape_mm=left_tape_mm, right_tape_mm=right_diagonal_mm, apart_mm=track_mm)
    right = two_tapes(left_tape_mm=left_diagonal_mm, right_tape_mm=right_tape_mm, apart_mm=track_mm)
    across_mm = left.left_mm - right.left_mm
    # Turned to the left, a mat before the car has its left end nearer to it, one behind further.
    nearer_mm = end * (right.off_mm - left.off_mm)
    return MatPlace(
        distance_error_mm=(left.off_mm + right.off_mm) / 2.0 - wanted_mm,
        sideways_error_mm=(left.left_mm + right.left_mm) / 2.0,
        turned_deg=math.degrees(math.atan2(nearer_mm, across_mm)),
        tapes_disagree_mm=math.hypot(across_mm, nearer_mm) - mat_mm,
    )


def field_skew_deg(
    *,
    left_diagonal_mm: float,
    right_diagonal_mm: float,
    front_mm: float,
    wheelbase_mm: float,
    rear_mm: float,
    mat_mm: float,
) -> float:
    """How far the field between both mats is from square: + = its front is skewed to the left.

    `left_diagonal_mm` runs from the front mat's left corner to the rear mat's right one.
    """
    return skew_from_diagonals_deg(
        diagonal_1_mm=left_diagonal_mm,
        diagonal_2_mm=right_diagonal_mm,
        length_mm=front_mm + wheelbase_mm + rear_mm,
        width_mm=mat_mm,
    )
