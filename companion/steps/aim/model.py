"""The aim: both axes against the vehicle's tolerance."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from companion.job.job_file import Again, Step, Title
from companion.job.setup_files import Identifier, Model


class Noise(Model):
    """The readings of one set that tell of their own noise.

    `same_place`: pairs of them at one place of the plate. `bends`: three at equal steps, first,
    middle and last, whose bend is that of the beam at every aim. `misfits`: results that are zero
    at every aim, what no parabola through the levels explains. `widths`: results that are those of
    the beam at every aim; a short set behind the next turning borrows them.
    """

    levels: Annotated[tuple[Identifier, ...], Field(min_length=2)]
    same_place: tuple[tuple[Identifier, Identifier], ...] = ()
    bends: tuple[tuple[Identifier, Identifier, Identifier], ...] = ()
    misfits: tuple[Identifier, ...] = ()
    widths: tuple[Identifier, ...] = ()

    @model_validator(mode="after")
    def _of_the_levels(self) -> Noise:
        for name in (item for group in (*self.same_place, *self.bends) for item in group):
            if name not in self.levels:
                raise ValueError(f"'{name}' is not one of the levels")
        return self


class AimDecision(Step):
    """Both axes against the vehicle's tolerance; outside: a plan for the screws and a new round."""

    step: Literal["aim"]
    title: Title
    yaw: Identifier
    elevation: Identifier
    again: Again
    at_most_repeats: Annotated[
        int,
        Field(ge=1, le=10, description="sets at one position of the screws; the risk is shared"),
    ] = 3
    noise: Noise | None = None
