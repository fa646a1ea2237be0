"""A verdict: are these results inside, by sets of readings that agree?"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from companion.job.job_file import Again, NumberOrSource, Step, Title
from companion.job.setup_files import Float, Identifier, Model, Text
from companion.steps.shared.ending import Ending
from companion.steps.shared.limits import check_one_kind


class Part(Model):
    """One of the results that have to be inside, with its limits."""

    id: Identifier
    title: Title
    result: Identifier
    low: NumberOrSource | None = None
    high: NumberOrSource | None = None
    within: Annotated[
        NumberOrSource | None, Field(description="instead of low and high: so far from nothing")
    ] = None

    @model_validator(mode="after")
    def _one_kind_of_limits(self) -> Part:
        check_one_kind(self.low, self.high, self.within)
        return self


class Verdict(Step):
    """Results that count once they were measured twice, agree, and are inside together."""

    step: Literal["verdict"]
    title: Title
    parts: Annotated[tuple[Part, ...], Field(min_length=1)]
    confidence: Annotated[Float, Field(gt=0.5, lt=1)] = 0.95
    confidence_if_wrong: Annotated[
        Float,
        Field(gt=0.5, lt=1, description="were one doubt that nothing checks three times as large"),
    ] = 0.95
    readings: Annotated[
        tuple[Identifier, ...], Field(min_length=1, description="what makes up one set")
    ]
    moved_by: Annotated[
        tuple[Identifier, ...],
        Field(description="steps that move what is judged: after them no earlier set counts"),
    ] = ()
    most_sets: Annotated[int, Field(ge=2, le=6)] = 4
    once_more: Annotated[Text, Field(description="said before the same is read again")]
    outside: Annotated[
        Again,
        Field(description="about a result outside, or too close still at the last set"),
    ]
    then_stop: Annotated[Text, Field(description="said where the last set settles nothing")]
    ends_as: Annotated[
        Ending | None, Field(description="what the job comes to when all of it is inside")
    ] = None
