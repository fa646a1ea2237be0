"""What may be behind results that do not fit, as a job file names it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from companion.job.job_file import NumberOrSource
from companion.job.plan import named
from companion.job.setup_files import Float, Identifier, Model, Text


class Suspect(Model):
    """One cause that may be behind a disagreement: what was misread, if it was this."""

    name: Annotated[Text, Field(description="as spoken: the left spot")]
    readings: Annotated[tuple[Identifier, ...], Field(min_length=1)]
    likely_error: Annotated[
        Float, Field(gt=0, description="typical size of a misreading, in the readings' unit")
    ]
    also: Annotated[
        tuple[Identifier, ...], Field(description="gone through again with the readings")
    ] = ()


class Level(Model):
    """One echo level and the position of the plate that it belongs to."""

    name: Annotated[Text, Field(description="as spoken: the level at the upright plate")]
    reading: Identifier
    lean: NumberOrSource
    swing: NumberOrSource


class EchoLevels(Model):
    """Levels that judge each other, the widths of the beam being known."""

    beam_width_lean: NumberOrSource
    beam_width_swing: NumberOrSource
    before: Annotated[
        Text, Field(description="done first when single levels are read again, out of their order")
    ]
    levels: Annotated[tuple[Level, ...], Field(min_length=5)]

    def readings(self) -> tuple[str, ...]:
        """The readings that are looked into."""
        return tuple(level.reading for level in self.levels)

    def needs(self) -> Iterator[str]:
        """Where the plate stood and how wide the beam is come from the files."""
        places = (source for level in self.levels for source in (level.lean, level.swing))
        return named(self.beam_width_lean, self.beam_width_swing, *places)
