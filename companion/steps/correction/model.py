"""A correction: what a check of the shop's own gear found, for results to be put right by."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from companion.job.job_file import NumberOrSource, Step, Title
from companion.job.setup_files import Identifier


class Correction(Step):
    """A result of an earlier check that still holds, with the check's own doubt.

    Without one nothing is put right, and the doubt is that of what nobody has measured.
    """

    step: Literal["correction"]
    title: Title
    result: Annotated[Identifier, Field(description="as the check's computation calls it")]
    found_by: Annotated[Identifier, Field(description="the check's computation")]
    ended_as: Annotated[
        Identifier, Field(description="what the check came to; the newest one decides")
    ]
    unmeasured_doubt: Annotated[
        NumberOrSource, Field(description="standard uncertainty of nothing, without a check")
    ]
    doubt_since: Annotated[
        NumberOrSource, Field(description="standard uncertainty of what may be otherwise since")
    ]

    def line_of(self, source: NumberOrSource) -> str:
        """What a budget calls the doubt that comes from there."""
        return f"{self.id}.{self.result}: {source}"
