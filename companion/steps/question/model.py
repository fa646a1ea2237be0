"""A question: one of a few answers."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from companion.job.job_file import Again, Reply, Step, Title
from companion.job.setup_files import Identifier, Text
from companion.steps.shared.ending import Ending


class Question(Step):
    """One of a few answers."""

    step: Literal["question"]
    title: Title
    ask: Text
    reply: Reply = None
    ask_short: Annotated[
        Text | None,
        Field(description="said in place of both to who has heard these choices in this job"),
    ] = None
    answer_early: Annotated[
        bool,
        Field(
            description="who has heard its prompt in full may answer before it ends: nothing has "
            "to be done by hand for it"
        ),
    ] = False
    behind_read_back: Annotated[
        bool,
        Field(
            description="may be asked in one breath with the read-back of what comes before it: "
            "nothing has to be done by hand first"
        ),
    ] = False
    choices: Annotated[tuple[Identifier, ...], Field(min_length=2)]
    may_be_proposed: Annotated[
        tuple[Identifier, ...],
        Field(
            description="answers that the vehicle's file may propose (its usual_answers): those of "
            "which a yes by mistake is noticed at the next thing asked"
        ),
    ] = ()
    sound_is_kept_when: Annotated[
        Identifier | None, Field(description="the answer that allows recorded voices to be kept")
    ] = None
    blocked_by: Annotated[dict[Identifier, Text], Field(default_factory=dict)]
    again: Annotated[dict[Identifier, Again], Field(default_factory=dict)]
    ends_as: Annotated[
        dict[Identifier, Ending],
        Field(default_factory=dict, description="what the job comes to with this answer"),
    ]

    @model_validator(mode="after")
    def _different(self) -> Question:
        if len(set(self.choices)) != len(self.choices):
            raise ValueError("choices must differ from each other")
        return self
