"""The end of the job: its result, said and signed off."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from companion.job.job_file import Step
from companion.job.setup_files import Sayable, Text
from companion.steps.shared.ending import Ending


class Finish(Step):
    """Says the result and closes the record."""

    step: Literal["finish"]
    ranges_m: Annotated[
        tuple[Annotated[Sayable, Field(gt=0)], ...],
        Field(description="where what is left of a measured aim is said and kept"),
    ] = ()
    otherwise: Annotated[
        Ending | None, Field(description="what the job comes to where no step before says it")
    ] = None
    say_signed: Text
