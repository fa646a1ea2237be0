"""What was advised for the floor and the stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, ClassVar

from companion.facts.codec import LEFT_OUT, SPREAD
from companion.facts.figures import Budget, Grounds, Quantity, U
from companion.facts.instructions import Instruction


@dataclass(frozen=True, slots=True)
class Angle:
    """An angle in degrees with its doubt."""

    value: float | None
    u: U

    @property
    def quantity(self) -> Quantity:
        """Value and doubt in degrees."""
        return Quantity(self.value, self.u, "deg")


@dataclass(frozen=True, slots=True)
class Shims:
    """Twist in the floor, and what is laid under which wheels; figures in mm."""

    KIND: ClassVar[str] = "shims"

    step_id: str
    title: str
    result: str
    value: float | None
    u: U
    unit: str
    low: float | None
    high: float | None
    needed: bool
    under: Annotated[Mapping[str, float], "thickness in mm, by wheel"]
    largest_left_mm: float | None
    taken_into_account: Annotated[Mapping[str, Angle], "what stays of the floor, by result"]
    budget: Budget
    grounds: Annotated[Grounds, SPREAD]

    @property
    def quantity(self) -> Quantity:
        """The twist with its doubt."""
        return Quantity(self.value, self.u, self.unit or "mm")


@dataclass(frozen=True, slots=True)
class StandMove:
    """One move: deg or mm, positive to the left, away, up."""

    quantity: Annotated[str, "turn, sideways, distance or height"]
    by: float | None
    u: U
    text: Annotated[str, "as it is said"]
    stale: Annotated[tuple[str, ...], "quantities to be measured again after it"]
    instruction: Annotated[Instruction | None, LEFT_OUT, "the move"] = None


@dataclass(frozen=True, slots=True)
class Foot:
    """What the stand turns about, from its centre."""

    ahead_mm: float
    left_mm: float
    u_mm: float


@dataclass(frozen=True, slots=True)
class StandMoves:
    """Moves of the stand that were asked for in one go, in their order."""

    KIND: ClassVar[str] = "stand_moves"

    step_id: str
    title: str
    moves: tuple[StandMove, ...]
    stale: tuple[str, ...]
    foot: Foot
    grounds: Annotated[Grounds, SPREAD]
