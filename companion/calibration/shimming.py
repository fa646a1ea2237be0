"""Which wheel spots to raise, and by how much, to take twist or slope out of a floor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, assert_never

import numpy as np

from companion.errors import MeasureError

Goal = Literal["no_twist", "level"]

SPOTS = ("rear_left", "rear_right", "front_left", "front_right")
# A quarter of the diagonals' difference, with this sign at each spot.
_TWIST = np.array([1.0, -1.0, -1.0, 1.0])


@dataclass(frozen=True)
class Shims:
    """Thickness under each wheel in mm, in the order of `SPOTS`; the least is always 0.

    `largest_left_mm`: what rounding to whole shims leaves, at the worst spot.
    """

    thickness_mm: tuple[float, float, float, float]
    largest_left_mm: float

    def spots(self) -> tuple[tuple[str, float], ...]:
        """The spots to raise, the thickest shim first."""
        pairs = zip(SPOTS, self.thickness_mm, strict=True)
        return tuple(sorted(((n, t) for n, t in pairs if t > 0.0), key=lambda item: -item[1]))


def shims(
    *,
    rear_left_mm: float,
    rear_right_mm: float,
    front_left_mm: float,
    front_right_mm: float,
    goal: Goal,
    shim_step_mm: float = 0.0,
) -> Shims:
    """Shims from four rule readings (a LARGER reading is a LOWER floor).

    `no_twist` puts the four spots into one plane and keeps the floor's slopes: the two low ends of
    the low diagonal are raised alike, which is the least that any wheel has to be raised by. It
    takes front and rear track as equal. `level` brings all four to the highest.
    `shim_step_mm`: thickness that shims come in; 0 for any.
    Raises MeasureError for a negative step.
    """
    if shim_step_mm < 0.0:
        raise MeasureError(f"shims: shim_step_mm is {shim_step_mm}; wanted: 0 or more")
    heights = -np.array([rear_left_mm, rear_right_mm, front_left_mm, front_right_mm])
    match goal:
        case "level":
            wanted = heights.max() - heights
        case "no_twist":
            twist = float(_TWIST @ heights) / 4.0
            wanted = np.maximum(0.0, -2.0 * twist * _TWIST)
        case _:
            assert_never(goal)
    chosen = wanted
    if shim_step_mm > 0.0:
        chosen = np.round(wanted / shim_step_mm) * shim_step_mm
    rear_left, rear_right, front_left, front_right = (float(item) for item in chosen)
    return Shims(
        (rear_left, rear_right, front_left, front_right),
        float(np.abs(chosen - wanted).max()),
    )
