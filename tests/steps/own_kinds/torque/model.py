"""A fastening tightened to a torque, as a job file says it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from companion.job.job_file import Step, Title
from companion.job.setup_files import Positive, Text


class Torque(Step):
    """The technician tightens a named fastening and reads the wrench."""

    step: Literal["torque"]
    title: Title
    fastening: Annotated[Text, Field(description="as spoken: the bracket bolt")]
    least_newton_metres: Positive
    most_newton_metres: Positive
    at_most: Annotated[int, Field(ge=1, le=10, description="tries before the work stops")] = 3

    @model_validator(mode="after")
    def _ordered(self) -> Torque:
        if self.least_newton_metres >= self.most_newton_metres:
            raise ValueError("least_newton_metres must be less than most_newton_metres")
        return self
