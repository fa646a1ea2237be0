"""A decision: is a result inside its limits?"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from companion.job.job_file import Again, NumberOrSource, Step, Title
from companion.job.setup_files import Float, Identifier
from companion.steps.shared.causes import EchoLevels, Suspect
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
        Literal["probability", "plain", "consistent"],
        Field(
            description="probability: inside with the wanted confidence; plain: a check; "
            "consistent: a check that refuses only what is outside with its own doubt counted"
        ),
    ]
    confidence: Annotated[Float, Field(gt=0.5, lt=1)] = 0.95
    move: Move | None = None
    again: Again
    suspects: Annotated[
        tuple[Suspect, ...], Field(description="the likeliest is asked again, not all of `again`")
    ] = ()
    misread: EchoLevels | None = None

    @model_validator(mode="after")
    def _one_kind_of_limits(self) -> Decision:
        both = self.low is not None and self.high is not None
        neither = self.low is None and self.high is None
        if not (both and self.within is None) and not (neither and self.within is not None):
            raise ValueError("wanted: either low and high, or within")
        return self
