"""How a result outside its limits is put right, as a job file says it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from companion.facts.instructions import DIRECTIONS_OF, Direction, StandQuantity
from companion.job.setup_files import Identifier, Model, Sayable, Text

AWAY_FROM = "away_from"
"""Said in front of what it is away from; the same way as "away"."""


class Until(Model):
    """What the person sees when the move is made: a reading that comes to a figure."""

    say: Annotated[Text, Field(description="as the move's own, with {reads}: what is read then")]
    reading: Identifier
    changes: Annotated[
        Literal["with", "against"],
        Field(description="whether it falls (with) or grows (against) as the error falls"),
    ] = "with"


class Move(Model):
    """How a result outside its limits is put right, in the person's own terms."""

    say: Annotated[Text, Field(description="{amount} and {direction} speak the size and the way")]
    amount: Literal["mm", "deg", "mm_per_m"]
    resolution: Annotated[Sayable, Field(gt=0, description="the amount is rounded to this")]
    direction_when_positive: Identifier
    direction_when_negative: Identifier
    quantity: Annotated[
        StandQuantity | None, Field(description="what of the stand it moves, for the screen")
    ] = None
    until: Annotated[
        Until | None, Field(description="said instead, where nothing moves what is read before it")
    ] = None

    @field_validator("direction_when_positive", "direction_when_negative")
    @classmethod
    def _known(cls, value: str) -> str:
        if value != AWAY_FROM and value not in set(Direction):
            raise ValueError(f"wanted one of {', '.join((*Direction, AWAY_FROM))}")
        return value

    @model_validator(mode="after")
    def _of_its_quantity(self) -> Move:
        positive, negative = self.ways
        if positive is negative:
            raise ValueError("the two directions must differ")
        if self.quantity is not None:
            fit_quantity(self, self.quantity)
        return self

    @property
    def ways(self) -> tuple[Direction, Direction]:
        """The ways that take a positive error away, and a negative one."""
        return way_of(self.direction_when_positive), way_of(self.direction_when_negative)


def way_of(direction: str) -> Direction:
    """The way that a direction of a job file names."""
    return Direction.AWAY if direction == AWAY_FROM else Direction(direction)


def fit_quantity(move: Move, quantity: StandQuantity) -> None:
    """Raises ValueError when the stand cannot be moved so."""
    allowed = DIRECTIONS_OF[quantity]
    for way in move.ways:
        if way not in allowed:
            raise ValueError(f"{quantity} does not go {way}; wanted {' or '.join(sorted(allowed))}")
