"""An instruction: one thing to do."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from companion.job.job_file import Repeatable, Title
from companion.job.setup_files import Identifier, Text


class Instruction(Repeatable):
    """One thing to do; the technician says when it is done.

    Where it is the turning of a screw, `turns` names the reading that says how far and which way,
    and `screw` the screw; a step for each screw has its own.
    """

    step: Literal["instruction"]
    title: Annotated[
        Title | None, Field(description="what it is called elsewhere; without one as its stage")
    ] = None
    say: Text
    turns: Annotated[
        Identifier | None, Field(description="the reading whose turns are to be made")
    ] = None
    screw: Annotated[Identifier | None, Field(description="the id of the screw to turn")] = None
    with_next: Annotated[
        bool,
        Field(
            strict=True,
            description="said in front of the next thing asked, and done with its answer",
        ),
    ] = False
    lifts_car: Annotated[
        bool,
        Field(strict=True, description="after it nothing holds that was read of the car before"),
    ] = False

    @model_validator(mode="after")
    def _whole(self) -> Instruction:
        if self.turns is not None and not self.each_screw and self.screw is None:
            raise ValueError("turns needs a screw, or each_screw: true")
        if self.with_next and self.turns is not None:
            raise ValueError("the turning of a screw is said by itself")
        if self.screw is not None and self.turns is None:
            raise ValueError("screw needs turns, the reading that says how far")
        return self
