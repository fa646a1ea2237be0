"""What is taken over of earlier jobs: said once, and asked whether the car moved since."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from companion.job.job_file import Reply, Step, Title
from companion.job.setup_files import Text


class TakingOver(Step):
    """Takes over what earlier jobs found and still holds; without any, it is not there.

    Steps say by `holds` what they are true of. What is true of the car only counts while it stands
    as it did, so that is asked first.
    """

    step: Literal["taken_over"]
    title: Title
    ask: Annotated[Text, Field(description="asks whether the car was moved or lifted since")]
    reply: Reply = None

    CHOICES: ClassVar[tuple[str, ...]] = ("not_touched", "was_moved")
