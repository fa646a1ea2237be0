"""The stand's moves taken together: what to move first, how far, and what is stale after it.

Turning the stand pivots it about a foot and so carries its centre sideways and along; pushing it
turns it a little. So the turn comes first, and what it does to the centre is reckoned in.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from companion.errors import MeasureError
from companion.uncertainty.conformity import can_ever_pass, decide
from companion.uncertainty.measured import Measured

Quantity = Literal["turn", "sideways", "distance", "height"]
Inside = Callable[[Quantity, Measured, float], bool]
"""Whether a quantity's value counts as inside plus and minus a half width."""

# What each move spoils among what was measured before it. Height has its own slide.
STALE_AFTER: Mapping[Quantity, tuple[Quantity, ...]] = MappingProxyType(
    {
        "turn": ("turn", "sideways", "distance"),
        "sideways": ("sideways", "turn"),
        "distance": ("distance", "turn", "sideways"),
        "height": ("height",),
    }
)
ORDER: tuple[Quantity, ...] = ("turn", "sideways", "distance", "height")


@dataclass(frozen=True)
class StandGeometry:
    """The foot about which the stand is turned, from its centre, and how surely that is known."""

    foot_ahead_mm: float = 0.0
    foot_left_mm: float = 0.0
    foot_u_mm: float = 300.0


@dataclass(frozen=True)
class StandError:
    """Where the stand stands against where it should: + = left (turn, sideways), away, up."""

    turn_deg: Measured
    sideways_mm: Measured
    distance_mm: Measured
    height_mm: Measured

    def of(self, quantity: Quantity) -> Measured:
        """The error in one quantity."""
        match quantity:
            case "turn":
                return self.turn_deg
            case "sideways":
                return self.sideways_mm
            case "distance":
                return self.distance_mm
            case "height":
                return self.height_mm


@dataclass(frozen=True)
class StandMove:
    """Move by `amount` (+ = left, away, up; deg or mm); `stale` is what to measure again then.

    `u`: standard uncertainty of the error that the move is to take away.
    """

    quantity: Quantity
    amount: float
    u: float
    stale: tuple[Quantity, ...]


def centre_shift_mm(turn_deg: float, geometry: StandGeometry) -> tuple[float, float]:
    """How far (ahead, left) the centre moves when the stand turns left about its foot."""
    angle = math.radians(turn_deg)
    cosine, sine = math.cos(angle), math.sin(angle)
    ahead, left = geometry.foot_ahead_mm, geometry.foot_left_mm
    return ahead - (cosine * ahead - sine * left), left - (sine * ahead + cosine * left)


def inside_at(confidence: float) -> Inside:
    """Inside with at least this probability."""
    return lambda _, value, half: (
        decide(value.value, value.u, -half, half, confidence).answer == "inside"
    )


def stand_moves(
    error: StandError,
    tolerance: StandError,
    geometry: StandGeometry | None = None,
    confidence: float = 0.95,
    inside: Inside | None = None,
) -> tuple[StandMove, ...]:
    """The fewest moves that should end inside: one for each quantity that is not inside.

    A quantity counts as inside at `confidence`, or as `inside` says, with the shift that the turn
    before it should give it. What that shift adds to its doubt calls for no push (only measuring
    again removes it) but stands in the move's `u`. `tolerance` holds half widths in its values.
    Raises MeasureError for
    a tolerance that its reading could never be inside of.
    """
    geometry = geometry or StandGeometry()
    inside = inside or inside_at(confidence)
    moves: list[StandMove] = []
    shift_ahead_mm = shift_left_mm = shift_u_mm = 0.0
    for quantity in ORDER:
        now, half = error.of(quantity), tolerance.of(quantity).value
        if not can_ever_pass(now.u, -half, half, confidence):
            raise MeasureError(
                f"stand: a doubt of {now.u:g} in the {quantity} can never be inside {half:g}; "
                "wanted: a finer scale or a wider tolerance"
            )
        value, u = now.value, now.u
        if quantity == "sideways":
            value, u = value + shift_left_mm, math.hypot(u, shift_u_mm)
        elif quantity == "distance":
            value, u = value + shift_ahead_mm, math.hypot(u, shift_u_mm)
        if inside(quantity, Measured(value, now.contributions), half):
            continue
        moves.append(StandMove(quantity, -value, u, STALE_AFTER[quantity]))
        if quantity == "turn":
            shift_ahead_mm, shift_left_mm = centre_shift_mm(-value, geometry)
            shift_u_mm = abs(math.radians(value)) * geometry.foot_u_mm
    return tuple(moves)


def stale_after(moves: Sequence[StandMove]) -> tuple[Quantity, ...]:
    """Everything to measure again after these moves, in the order of measuring."""
    spoiled = {quantity for move in moves for quantity in move.stale}
    return tuple(quantity for quantity in ORDER if quantity in spoiled)
