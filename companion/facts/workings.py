"""What was worked out and decided."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, ClassVar

from companion.facts.codec import LEFT_OUT, SPREAD, Key
from companion.facts.figures import Budget, Grounds, Quantity, U
from companion.facts.instructions import Instruction

Result = Annotated[str, "the result's name"]
Unit = Annotated[str | None, "null where it has none"]
Level = Annotated[float | None, "the probability that is wanted; null: the value alone decides"]
Answer = Annotated[str, "inside, outside or too_close"]
Chance = Annotated[float | None, "probability that it is inside"]
# To settle it takes one at least, so 0 is free to say that nothing was recorded.
ToSettle = Annotated[
    int | None, "how many more should settle it; null: none would; 0: not recorded"
]


@dataclass(frozen=True, slots=True)
class Input:
    """What went into a formula, and where from."""

    value: float | None
    u: U
    source: Annotated[str, "a figure, a file's field, a reading or a result; 'minus' before it"]

    @property
    def name(self) -> str:
        """The source without its sign."""
        return self.source.removeprefix("minus ")


@dataclass(frozen=True, slots=True)
class Output:
    """What came out of a formula."""

    value: float | None
    u: U
    unit: str
    budget: Budget

    @property
    def quantity(self) -> Quantity:
        """Value, doubt and unit."""
        return Quantity(self.value, self.u, self.unit)


@dataclass(frozen=True, slots=True)
class Computed:
    """A formula was evaluated."""

    KIND: ClassVar[str] = "computed"

    step_id: str
    formula: str
    grounds: Annotated[Grounds, SPREAD]
    inputs: Mapping[str, Input]
    outputs: Mapping[str, Output]


@dataclass(frozen=True, slots=True)
class Misfit:
    """Readings that no result fits, and why."""

    KIND: ClassVar[str] = "misfit"

    step_id: str
    why: str


@dataclass(frozen=True, slots=True)
class Decided:
    """A result was held against its limits; all figures in `unit`."""

    KIND: ClassVar[str] = "decided"

    step_id: str
    title: str
    result: Result
    value: float | None
    u: U
    unit: Unit
    low: float | None
    high: float | None
    level: Level
    answer: Answer
    probability_inside: Chance
    grounds: Annotated[Grounds, SPREAD]
    readings_to_settle: ToSettle = 0
    times: Annotated[int, "how many times it was decided on, this one too"] = 1

    @property
    def quantity(self) -> Quantity:
        """Value, doubt and unit."""
        return Quantity(self.value, self.u, self.unit or "")


@dataclass(frozen=True, slots=True)
class CannotPass:
    """With this doubt no value at all could be called inside; figures in `unit`."""

    KIND: ClassVar[str] = "cannot_pass"

    step_id: str
    title: str
    result: Result
    u: U
    unit: Unit
    half_width: Annotated[float | None, "half the distance between the limits"]
    budget: Budget
    grounds: Annotated[Grounds, SPREAD]
    before_the_work: Annotated[bool, LEFT_OUT, "seen before anything was read"] = False

    @property
    def doubt(self) -> Quantity:
        """The doubt alone."""
        return Quantity(None, self.u, self.unit or "")


@dataclass(frozen=True, slots=True)
class Suspect:
    """One possible cause of a disagreement."""

    cause: str
    percent: Annotated[float, "chance that it is the one that was misread"]
    error: Annotated[float, "how far off its reading would be, in the reading's own unit"]


@dataclass(frozen=True, slots=True)
class Suspected:
    """Results do not fit each other: which reading is likely behind it, which is read again."""

    KIND: ClassVar[str] = "suspected"

    step_id: str
    suspects: tuple[Suspect, ...]
    asked_again: Annotated[tuple[str, ...], "causes; empty: all of them"]
    grounds: Annotated[Grounds, SPREAD]


@dataclass(frozen=True, slots=True)
class Correction:
    """What is to be put right: the error, its doubt, and the move where one was worked out."""

    error: Annotated[float | None, Key("from")]
    u: U
    by: Annotated[float | None, LEFT_OUT] = None


@dataclass(frozen=True, slots=True)
class Target:
    """What an instrument is to read once the move is made."""

    reading_id: str
    value: Annotated[float, "in the reading's unit, signed as the reading is"]


@dataclass(frozen=True, slots=True)
class Corrected:
    """A move of the stand was asked for, in the person's terms."""

    KIND: ClassVar[str] = "corrected"

    step_id: str
    text: Annotated[str, "as it is said"]
    move: Correction
    instruction: Annotated[Instruction | None, LEFT_OUT, "the move"] = None
    target: Annotated[Target | None, LEFT_OUT, "what is read then"] = None
