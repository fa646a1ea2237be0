"""The sensor's mount: a pivot and two adjusting screws, or three screws, taken together.

Screw positions are y to the car's left, z up, from the pivot; those of three screws from any one
point. Facing a screw's head from in front of the car, a right-hand screw turned clockwise moves
that corner of the sensor rearward; a corner on the left moved rearward turns the aim left, a
corner at the top moved rearward turns it up. For each screw
y tan(yaw) + z tan(elevation) / cos(yaw) + back = rearward travel,
where `back` is how far the whole sensor goes back: nothing where a pivot holds it. The elevation is
the boresight's above the plane of x and y; that is what the cosine is for.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from companion.errors import MeasureError

Direction = Literal["clockwise", "anticlockwise"]

# Turns are spoken as halves, quarters, sixths ...: nothing finer than a 64th is meant.
_FINEST_DENOMINATOR = 64
# Screws nearer than this to one line with the pivot, or with one another (sine of the angle),
# cannot aim two ways.
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
                    f"screw {self.id}: {field} is {getattr(self, field)}; wanted: {text}"
                )

    @cached_property
    def step(self) -> Fraction:
        """The smallest turn as an exact fraction."""
        return Fraction(self.smallest_turn).limit_denominator(_FINEST_DENOMINATOR)

    @cached_property
    def travel(self) -> tuple[Fraction, Fraction]:
        """Net turns that it can be at: least (anticlockwise, 0 or less) and most, as fractions."""
        ends = (-self.travel_anticlockwise_turns, self.travel_clockwise_turns)
        least, most = (Fraction(turns).limit_denominator(_FINEST_DENOMINATOR) for turns in ends)
        return least, most

    @property
    def rearward_mm_per_turn(self) -> float:
        """Rearward travel of the sensor's corner for one clockwise turn."""
        return self.pitch_mm if self.hand == "right" else -self.pitch_mm

    @cached_property
    def overshoot(self) -> Fraction:
        """Smallest whole number of smallest turns that takes up the backlash."""
        return self.step * math.ceil(self.backlash_turns / float(self.step) - 1e-9)


@dataclass(frozen=True)
class Mount:
    """A pivot and two screws, or three screws alone, and the direction that each ends in.

    A pivot with three screws is not meant: a rigid sensor would have to bend for one of them.
    """

    screws: tuple[Screw, ...]
    approach: Direction

    def __post_init__(self) -> None:
        ids = [screw.id for screw in self.screws]
        if len(ids) not in (2, 3):
            raise MeasureError(
                f"mount: found {len(ids)} screws; wanted: two beside a pivot, or three"
            )
        if len(set(ids)) < len(ids):
            raise MeasureError(f"mount: found screws {', '.join(ids)}; wanted: different names")
        levers = (
            self.positions_mm if len(ids) == 2 else self.positions_mm[1:] - self.positions_mm[0]
        )
        lengths = float(np.prod(np.hypot(levers[:, 0], levers[:, 1])))
        area = float(levers[0, 0] * levers[1, 1] - levers[1, 0] * levers[0, 1])
        if not abs(area) > _LEAST_SINE * lengths:
            raise MeasureError(
                f"mount: screws {' and '.join(ids)} lie on one line"
                f"{' with the pivot' if len(ids) == 2 else ''}; wanted: positions in two "
                "different directions from it"
            )

    @property
    def has_pivot(self) -> bool:
        """Three screws carry the sensor between them; two turn it about a pivot."""
        return len(self.screws) == 2

    @property
    def positions_mm(self) -> NDArray[np.float64]:
        """Rows (y, z) of the screws, as they were given."""
        return np.array([[screw.y_mm, screw.z_mm] for screw in self.screws], dtype=np.float64)

    @property
    def levers_mm(self) -> NDArray[np.float64]:
        """Rows (y, z) from the pivot, or from the middle of three screws."""
        positions = self.positions_mm
        return positions if self.has_pivot else positions - positions.mean(axis=0)

    @property
    def travel_of_motion(self) -> NDArray[np.float64]:
        """Square: each screw's rearward travel (row) for tan(yaw), tan(elevation) and `back`."""
        levers = self.levers_mm
        return levers if self.has_pivot else np.column_stack((levers, np.ones(len(levers))))


def geometry_response(mount: Mount) -> NDArray[np.float64]:
    """Degrees of yaw (row 0) and elevation (row 1) for one clockwise turn of each screw (column).

    Small angles: good to 1 part in 10,000 up to one degree.
    """
    travel = np.diag([screw.rearward_mm_per_turn for screw in mount.screws])
    motion = np.linalg.solve(mount.travel_of_motion, travel)
    response: NDArray[np.float64] = np.degrees(motion[:2])
    return response


def forward(mount: Mount, turns: Sequence[float | Fraction]) -> tuple[float, float]:
    """Exact (yaw_deg, elevation_deg) that clockwise turns of the screws bring about."""
    travel = [
        screw.rearward_mm_per_turn * float(turn)
        for screw, turn in zip(mount.screws, turns, strict=True)
    ]
    tan_yaw, slope_up = np.linalg.solve(mount.travel_of_motion, np.array(travel))[:2]
    yaw = math.atan(tan_yaw)
    return math.degrees(yaw), math.degrees(math.atan(slope_up * math.cos(yaw)))


def inverse(mount: Mount, yaw_deg: float, elevation_deg: float) -> tuple[float, ...]:
    """Exact clockwise turns of the screws for a wanted change of aim (under 90 degrees).

    Three screws turn the sensor about their middle, which stays where it is.
    """
    if not (abs(yaw_deg) < 90.0 and abs(elevation_deg) < 90.0):
        raise MeasureError(
            f"mount: found a change of {yaw_deg} and {elevation_deg} degrees; wanted: under 90"
        )
    yaw = math.radians(yaw_deg)
    tan_yaw, slope_up = math.tan(yaw), math.tan(math.radians(elevation_deg)) / math.cos(yaw)
    return tuple(
        float(y_mm * tan_yaw + z_mm * slope_up) / screw.rearward_mm_per_turn
        for screw, (y_mm, z_mm) in zip(mount.screws, mount.levers_mm, strict=True)
    )
