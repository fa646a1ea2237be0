"""A first look at the aim: by few levels, before the others are asked."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from companion.job.job_file import NumberOrSource, Step
from companion.job.setup_files import Float, Identifier, Model
from companion.steps.computation.model import Computation


class Width(Model):
    """A beam width that the levels have to agree with before anything is turned by them."""

    result: Identifier
    centre: NumberOrSource
    within: Annotated[NumberOrSource, Field(description="a fraction of `centre`")]


class ShortSet(Model):
    """How the levels are worked out where the beam's widths are known from a whole set before.

    `computations` bring about the step's `yaw` and `elevation`, and `left_over`: results that are
    zero at every aim. Their widths are those that the aim step's `noise` names.
    """

    computations: Annotated[tuple[Computation, ...], Field(min_length=1)]
    left_over: Annotated[tuple[Identifier, ...], Field(min_length=1)]
    largest_move_deg: Annotated[
        Float, Field(gt=0, description="the turning before it was to move the aim by no more")
    ]


class FirstLook(Step):
    """Turns the screws at once where the aim is plainly off; else leaves it to the whole set.

    But for a `short_set`, which may find the aim inside right behind a fine turn.

    `computations` are worked out here and nowhere else: their results are no results of the job.
    """

    step: Literal["first_look"]
    aim: Annotated[Identifier, Field(description="the aim step that the whole set is for")]
    yaw: Identifier
    elevation: Identifier
    widths: Annotated[tuple[Width, ...], Field(min_length=1)]
    computations: Annotated[tuple[Computation, ...], Field(min_length=1)]
    short_set: Annotated[
        ShortSet | None, Field(description="inside by these levels, right behind a fine turn")
    ] = None

    def all_computations(self) -> tuple[Computation, ...]:
        """Those of a short set as well."""
        short = () if self.short_set is None else self.short_set.computations
        return (*self.computations, *short)

    def own_results(self) -> frozenset[str]:
        """What the computations bring about, for one another alone."""
        return frozenset(name for one in self.all_computations() for name in one.outputs.values())
