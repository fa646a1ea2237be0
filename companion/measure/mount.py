"""The sensor's mount: a pivot and two adjusting screws, taken together.

Screw positions are from the pivot, y to the car's left, z up. Facing a screw's head from in front
of the car, a right-hand screw turned clockwise moves that corner of the sensor rearward; a corner
on the left moved rearward turns the aim left, a corner at the top moved rearward turns it up:
y tan(yaw) + z tan(elevation) = rearward travel, for each of the two screws.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from companion.errors import MeasureError

Direction = Literal["clockwise", "anticlockwise"]

# Turns are spoken as halves, quarters, sixths ...: nothing finer than a 64th is meant.
_FINEST_DENOMINATOR = 64
# Two screws nearer than this to one line with the pivot (sine of the angle) cannot aim two ways.
_LEAST_SINE = 0.02


@dataclass(frozen=True)
class Screw:
    """An adjusting screw; travel counts from where it stood when the job began, in turns."""

    id: str
    name: str
    y_mm: float
    z_mm: float
    pitch_mm: float
    hand: Literal["right", "left"]
    travel_clockwise_turns: float
    travel_anticlockwise_turns: float
    smallest_turn: float
    backlash_turns: float

    def __post_init__(self) -> None:
        wanted = (
            ("pitch_mm", self.pitch_mm > 0.0, "more than 0"),
            ("smallest_turn", 1 / _FINEST_DENOMINATOR <= self.smallest_turn <= 1, "1/64 to 1"),
            ("backlash_turns", 0.0 <= self.backlash_turns < math.inf, "0 or more"),
            ("travel_clockwise_turns", self.travel_clockwise_turns >= 0.0, "0 or more"),
            ("travel_anticlockwise_turns", self.travel_anticlockwise_turns >= 0.0, "0 or more"),
        )
        for field, good, text in wanted:
            if not good:
                raise MeasureError(
                    f"screw {self.id}: {field} is {getattr(self, field)}; wanted is {text}"
                )

    @property
    def step(self) -> Fraction:
        """The smallest turn as an exact fraction."""
        return Fraction(self.smallest_turn).limit_denominator(_FINEST_DENOMINATOR)

    @property
    def rearward_mm_per_turn(self) -> float:
        """Rearward travel of the sensor's corner for one clockwise turn."""
        return self.pitch_mm if self.hand == "right" else -self.pitch_mm

    def overshoot(self) -> Fraction:
        """Smallest whole number of smallest turns that takes up the backlash."""
        return self.step * math.ceil(self.backlash_turns / float(self.step) - 1e-9)


@dataclass(frozen=True)
class Mount:
    """Two screws, and the direction in which each must be turned last."""

    screws: tuple[Screw, Screw]
    approach: Direction

    def __post_init__(self) -> None:
        first, second = self.screws
        if first.id == second.id:
            raise MeasureError(f"mount: both screws are called {first.id}; wanted are two names")
        lengths = math.hypot(first.y_mm, first.z_mm) * math.hypot(second.y_mm, second.z_mm)
        area = first.y_mm * second.z_mm - second.y_mm * first.z_mm
        if not abs(area) > _LEAST_SINE * lengths:
            raise MeasureError(
                f"mount: screws {first.id} and {second.id} lie on one line with the pivot; wanted "
                "are positions in two different directions from it"
            )

    @property
    def positions_mm(self) -> NDArray[np.float64]:
        """Rows (y, z) of the two screws."""
        return np.array([[screw.y_mm, screw.z_mm] for screw in self.screws], dtype=np.float64)


def geometry_response(mount: Mount) -> NDArray[np.float64]:
    """Degrees of yaw (row 0) and elevation (row 1) for one clockwise turn of each screw (column).

    Small angles: good to 1 part in 10,000 up to one degree.
    """
    travel = np.diag([screw.rearward_mm_per_turn for screw in mount.screws])
    response: NDArray[np.float64] = np.degrees(np.linalg.solve(mount.positions_mm, travel))
    return response


def forward(mount: Mount, turns: Sequence[float | Fraction]) -> tuple[float, float]:
    """Exact (yaw_deg, elevation_deg) that clockwise turns of the two screws bring about."""
    travel = [
        screw.rearward_mm_per_turn * float(turn)
        for screw, turn in zip(mount.screws, turns, strict=True)
    ]
    tan_yaw, tan_elevation = np.linalg.solve(mount.positions_mm, np.array(travel))
    return math.degrees(math.atan(tan_yaw)), math.degrees(math.atan(tan_elevation))


def inverse(mount: Mount, yaw_deg: float, elevation_deg: float) -> tuple[float, float]:
    """Exact clockwise turns of the two screws for a wanted change of aim (under 90 degrees)."""
    if not (abs(yaw_deg) < 90.0 and abs(elevation_deg) < 90.0):
        raise MeasureError(
            f"mount: found a change of {yaw_deg} and {elevation_deg} degrees; wanted is under 90"
        )
    tan_yaw, tan_elevation = math.tan(math.radians(yaw_deg)), math.tan(math.radians(elevation_deg))
    first, second = (
        (screw.y_mm * tan_yaw + screw.z_mm * tan_elevation) / screw.rearward_mm_per_turn
        for screw in mount.screws
    )
    return first, second
