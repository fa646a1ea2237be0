"""A first look at the aim: by few levels, before the others are asked."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from companion.job.job_file import NumberOrSource, Step
from companion.job.setup_files import Identifier, Model
from companion.steps.computation.model import Computation


class Width(Model):
    """A beam width that the levels have to agree with before anything is turned by them."""

    result: Identifier
    centre: NumberOrSource
    within: Annotated[NumberOrSource, Field(description="a fraction of `centre`")]


class FirstLook(Step):
    """Turns the screws at once where the aim is plainly off, and says nothing else.

    `computations` are worked out here and nowhere else: their results are no results of the job.
    """

    step: Literal["first_look"]
    aim: Annotated[Identifier, Field(description="the aim step that the whole set is for")]
    yaw: Identifier
    elevation: Identifier
    widths: Annotated[tuple[Width, ...], Field(min_length=1)]
    computations: Annotated[tuple[Computation, ...], Field(min_length=1)]

    def own_results(self) -> frozenset[str]:
        """What the computations bring about, for one another alone."""
        return frozenset(name for one in self.computations for name in one.outputs.values())
