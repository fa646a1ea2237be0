"""A checklist: several things to do, one at a time or a few together."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from companion.job.job_file import Step
from companion.job.setup_files import Text


class Checklist(Step):
    """Several things to do, asked for one at a time; `said_together`: so many, with one done."""

    step: Literal["checklist"]
    items: Annotated[tuple[Text, ...], Field(min_length=1)]
    said_together: Annotated[
        int,
        Field(strict=True, ge=1, le=3, description="so many are said in one go, and done in one"),
    ] = 1
