"""A reading: one number that the technician reads off and says."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from companion.job.job_file import NumberOrSource, Repeatable, Reply, Title
from companion.job.setup_files import Float, Identifier, Model, Sayable, Text

MOST_DIGITS_OF_TURNS = 2
MOST_DIGITS_IN_A_PAIR = 4
"""Of so many it is proved for each language that two numbers in one go can be told apart."""


class Number(Model):
    """How a number is spoken at this step."""

    style: Literal["whole", "decimal", "quarters"]
    whole_digits: Annotated[int, Field(ge=1, le=5)] = 4
    decimals: Annotated[int, Field(ge=0, le=3)] = 0
    directions: tuple[Identifier, ...] = ()

    @model_validator(mode="after")
    def _paired(self) -> Number:
        if len(self.directions) not in (0, 2) or len(set(self.directions)) == 1:
            raise ValueError("directions must be a pair; the first one counts as positive")
        if (self.style == "decimal") != (self.decimals > 0):
            raise ValueError("style decimal needs decimals of 1 or more; other styles need none")
        return self


class Limits(Model):
    """A reading outside of these is true but stops the work: say why and ask for a new one."""

    low: NumberOrSource
    high: NumberOrSource
    otherwise: Text
    at_most: Annotated[int, Field(ge=1, le=20)] = 5


class Reading(Repeatable):
    """One number that the technician reads off and says."""

    step: Literal["reading"]
    title: Title
    ask: Text
    reply: Reply = None
    ask_short: Annotated[
        Text | None, Field(description="said in its place to who has heard it in this job")
    ] = None
    short_after: Annotated[
        Identifier | None,
        Field(description="the reading right behind which the short form is enough at once"),
    ] = None
    ask_next: Annotated[
        Text | None,
        Field(description="shorter still: only right behind that reading, where the order tells"),
    ] = None
    ask_pair: Annotated[
        Text | None,
        Field(
            description="asks for this reading and the one right behind it, said in one answer; "
            "of one set, or of none and said back one after the other"
        ),
    ] = None
    ask_pair_short: Annotated[
        Text | None, Field(description="said in its place to who has heard it in this job")
    ] = None
    ask_pair_next: Annotated[
        Text | None,
        Field(description="shorter still: only right behind the reading of `short_after`"),
    ] = None
    read_back_together: Annotated[
        Identifier | None,
        Field(
            description="a set of readings that are said back together, two or three at a time; "
            "only where the arithmetic notices a wrong one"
        ),
    ] = None
    answer_early: Annotated[
        bool,
        Field(
            description="who has heard its prompt in full may answer before it ends: nothing has "
            "to be done by hand for it"
        ),
    ] = False
    sides: Annotated[
        bool,
        Field(
            description="left or right stands in what is asked, though not in its answer: whose "
            "they are is told first, as it is where an answer needs them"
        ),
    ] = False
    behind_read_back: Annotated[
        bool,
        Field(
            description="may be asked in one breath with the read-back of what comes before it: "
            "nothing has to be done by hand first"
        ),
    ] = False
    unit: Identifier
    number: Number
    plausible: Annotated[
        tuple[Sayable, Sayable], Field(description="outside of it the hearing is doubted first")
    ]
    resolution: Annotated[Sayable, Field(gt=0)]
    doubt: Annotated[
        Float, Field(ge=0, description="standard uncertainty beside the resolution's")
    ] = 0.0
    scatters: Annotated[
        Float | None,
        Field(
            ge=0,
            description="the part of the doubt that changes from take to take, and that a mean of "
            "several loses; not said: none of it is averaged away",
        ),
    ] = None
    from_repeats: Annotated[
        int | None,
        Field(ge=2, le=1000, description="the doubt is the scatter of so many trial readings"),
    ] = None
    instrument: Annotated[
        Identifier | None,
        Field(description="what it is read with; readings of one instrument are wrong together"),
    ] = None
    far_from_last: Annotated[
        Float | None, Field(gt=0, description="a change since the last reading that is doubted")
    ] = None
    typical: Annotated[
        Float | None,
        Field(description="in a bay where all is right; without it the middle of plausible"),
    ] = None
    allowed: Limits | None = None

    @model_validator(mode="after")
    def _stands_alone(self) -> Reading:
        if self.read_back_together is not None and self.allowed is not None:
            raise ValueError("a reading that may stop the work is read back by itself")
        return self

    @model_validator(mode="after")
    def _sensible(self) -> Reading:
        low, high = self.plausible
        if low >= high:
            raise ValueError("plausible must be from low to high")
        if self.typical is not None and not low <= self.typical <= high:
            raise ValueError("typical must be plausible")
        if self.scatters is not None and self.scatters > self.doubt:
            raise ValueError("scatters is a part of doubt and cannot be larger")
        quarters = self.number.style == "quarters"
        if quarters != (self.unit == "turns"):
            raise ValueError("unit turns goes with style quarters, and with no other")
        if quarters and self.number.whole_digits > MOST_DIGITS_OF_TURNS:
            raise ValueError(f"style quarters has whole_digits of {MOST_DIGITS_OF_TURNS} at most")
        return self
