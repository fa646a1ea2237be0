"""A checklist: several things to do, one at a time."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from companion.job.job_file import Step
from companion.job.setup_files import Text


class Checklist(Step):
    """Several things to do, asked for one at a time."""

    step: Literal["checklist"]
    items: Annotated[tuple[Text, ...], Field(min_length=1)]
