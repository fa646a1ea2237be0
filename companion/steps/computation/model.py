"""A computation: a formula of the catalogue, bound to what the job has."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from companion.job.job_file import NumberOrSource, Source, Step
from companion.job.setup_files import Identifier
from companion.steps.shared.causes import EchoLevels


class Computation(Step):
    """A formula of the catalogue, its inputs bound to sources, its outputs named."""

    step: Literal["computation"]
    formula: Identifier
    inputs: dict[Identifier, NumberOrSource]
    input_doubts: Annotated[
        dict[Identifier, NumberOrSource | tuple[NumberOrSource, ...]],
        Field(
            default_factory=dict,
            description="standard uncertainty, or several, on top of what the source brings",
        ),
    ]
    lines_of: Annotated[
        dict[Identifier, Source],
        Field(
            default_factory=dict,
            description="step.input whose doubts these are: what is one error has one name",
        ),
    ]
    anew_with: Annotated[
        dict[Identifier, Identifier],
        Field(
            default_factory=dict,
            description="input that this step doubts: the reading with each take of which these "
            "doubts come anew, as those of a mark that was made anew before it",
        ),
    ]
    outputs: Annotated[
        dict[Identifier, Identifier], Field(min_length=1, description="formula's name: result id")
    ]

    def doubts(self) -> tuple[NumberOrSource, ...]:
        """The sources of all the doubts that come on top."""
        entered = self.input_doubts.values()
        return tuple(
            source for item in entered for source in (item if isinstance(item, tuple) else (item,))
        )

    misread: Annotated[
        EchoLevels | None, Field(description="names the level that was misread when none fit")
    ] = None
