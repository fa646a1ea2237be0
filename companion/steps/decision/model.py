"""A decision: is a result inside its limits?"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from companion.job.job_file import Again, NumberOrSource, Step, Title
from companion.job.setup_files import Float, Identifier, Text
from companion.steps.shared.causes import EchoLevels, Suspect
from companion.steps.shared.limits import check_one_kind
from companion.steps.shared.move import Move


class Decision(Step):
    """Is a result inside its limits: go on, put right and measure again, or stop and say why."""

    step: Literal["decision"]
    title: Title
    result: Identifier
    low: NumberOrSource | None = None
    high: NumberOrSource | None = None
    within: Annotated[
        NumberOrSource | None, Field(description="instead of low and high: so far from the centre")
    ] = None
    within_is_a_fraction: Annotated[bool, Field(description="of the centre")] = False
    centre: NumberOrSource = 0.0
    rule: Annotated[
        Literal["probability", "plain", "consistent", "as_known"],
        Field(
            description="probability: inside with the wanted confidence; plain: a check; "
            "consistent: a check that refuses only what is outside with its own doubt counted; "
            "as_known: the centre lies within the result's own expanded uncertainty, which is no "
            "wider than the limits"
        ),
    ]
    confidence: Annotated[Float, Field(gt=0.5, lt=1)] = 0.95
    move: Move | None = None
    again: Again
    suspects: Annotated[
        tuple[Suspect, ...], Field(description="the likeliest is asked again, not all of `again`")
    ] = ()
    beside: Annotated[
        tuple[Identifier, ...],
        Field(
            description="decisions whose results are weighed with this one's to find the suspect"
        ),
    ] = ()
    misread: EchoLevels | None = None
    wrong: Annotated[
        Text | None,
        Field(description="what does not fit, alone; said before what was likely misread"),
    ] = None

    @model_validator(mode="after")
    def _one_kind_of_limits(self) -> Decision:
        check_one_kind(self.low, self.high, self.within)
        return self

    @model_validator(mode="after")
    def _says_what_is_wrong(self) -> Decision:
        named = bool(self.suspects) or self.misread is not None
        if named and self.wrong is None:
            raise ValueError(
                "beside suspects or misread also 'wrong': a sentence that says what does not fit, "
                "and not what is read again; it is said before what was likely misread"
            )
        if self.beside and not self.suspects:
            raise ValueError("'beside' only with suspects, which it helps to tell apart")
        if self.wrong is not None and not named:
            raise ValueError("'wrong' only beside suspects or misread, with which it is said")
        return self
