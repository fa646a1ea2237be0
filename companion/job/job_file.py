"""The model of a job file: stages of steps, with decisions and loops as part of the data.

What a step is made of is said by its kind (`companion/steps`); here stands what all steps have in
common. Where a step needs a figure it names its source: a number, a field of a file
(`vehicle.wheelbase_mm`, `bay.stand.plate_distance_mm`), a reading's id or a result's id.
`{...}` in a text speaks the same kinds of source.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, SerializeAsAny, field_validator

from companion.facts.taking_over import Scope
from companion.job.setup_files import Float, Header, Identifier, Model, Text

Source = Annotated[str, Field(pattern=r"^(minus )?[a-z][a-z0-9_]*(\.[a-z0-9_]+)*$", max_length=120)]
NumberOrSource = Annotated[
    Float | Source,
    Field(description="a number, or where it stands: a file's field, a reading, a result"),
]
Title = Annotated[str, Field(min_length=3, max_length=60)]
Reply = Annotated[
    Text | None, Field(description="how to answer: said after what is asked, shown beside it")
]


class Condition(Model):
    """The step belongs to the job only when this question was answered so (or so)."""

    question: Identifier
    answered: Annotated[
        tuple[Identifier, ...], Field(min_length=1, description="one answer, or a list of them")
    ]

    @field_validator("answered", mode="before")
    @classmethod
    def _one_or_several(cls, value: object) -> object:
        return (value,) if isinstance(value, str) else value


class Step(Model):
    """What every step has: its name, its kind, and when it belongs to the job at all.

    A kind's model gives `step` a `Literal` type, whose one value is the kind's name.
    """

    id: Identifier
    step: str
    when: Condition | None = None
    holds: Annotated[
        Scope | None,
        Field(
            description="what it is true of, so that a later job need not ask again: bay, heads, "
            "day, car, or this set_up alone; not said: as its stage says"
        ),
    ] = None


class Repeatable(Step):
    """A step that may be there for every screw of the mount."""

    each_screw: Annotated[
        bool, Field(strict=True, description="there for every screw of the mount, named {screw}")
    ] = False


class Again(Model):
    """Which readings and steps are stale now and are gone through again, at most so often."""

    say: Text
    wait: Annotated[bool, Field(description="true: the technician says done first")] = False
    steps: Annotated[tuple[Identifier, ...], Field(min_length=1)]
    at_most: Annotated[int, Field(ge=1, le=20)]
    then_stop: Text


class Stage(Model):
    """Steps that belong together. Which kinds of step there are, `job_model` is told."""

    id: Identifier
    title: Title
    holds: Annotated[
        Scope, Field(description="what its steps are true of, where they do not say it themselves")
    ] = "set_up"
    said: Annotated[
        bool,
        Field(strict=True, description="false: its title is shown and not said as it begins"),
    ] = True
    steps: tuple[SerializeAsAny[Step], ...]


class Caution(Model):
    """Spoken briefly, written in full in the report."""

    say: Text
    write: Text


class Job(Header):
    """A whole job: the cautions first, then its stages in order."""

    kind: Literal["job"]
    id: Identifier
    language: Annotated[
        str, Field(pattern=r"^[a-z]{2,3}$", description="what its sentences are written in")
    ] = "en"
    cautions: Annotated[tuple[Caution, ...], Field(min_length=1)]
    not_meant: Annotated[
        tuple[Text, ...],
        Field(description="what the result does not say, one sentence each; for the report"),
    ] = ()
    if_touched: Annotated[
        tuple[Identifier, ...],
        Field(description="steps to go through again when stand or car was touched in a break"),
    ] = ()
    stages: Annotated[tuple[Stage, ...], Field(min_length=1)]
