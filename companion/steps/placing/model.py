"""A placing: something is put where readings will come to figures that were computed."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from companion.job.job_file import NumberOrSource, Step
from companion.job.setup_files import Identifier, Text


class Placing(Step):
    """Put something where these readings come to these figures, before they are read at all.

    What is read then is asked for afterwards, and counts; a placing only saves moves.
    """

    step: Literal["placing"]
    say: Annotated[Text, Field(description="{reading} speaks the figure that it will come to")]
    reads: Annotated[
        dict[Identifier, NumberOrSource],
        Field(min_length=1, description="what each reading will come to, by the reading's id"),
    ]
