"""A checklist: several things to do, one at a time or a few together."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field

from companion.job.job_file import Step
from companion.job.setup_files import Identifier, Text

Listed = Annotated[tuple[Text, ...], Field(min_length=1)]
Named = Annotated[dict[Identifier, Text], Field(min_length=1)]


class Checklist(Step):
    """Several things to do, asked for one at a time; `said_together`: so many, with one done.

    Items may have names, by which the record and a later job know them whatever their order and
    words. Without names they are known by their place.
    """

    step: Literal["checklist"]
    items: Annotated[Listed | Named, Field(description="a list of texts, or a name for each")]
    said_together: Annotated[
        int,
        Field(strict=True, ge=1, le=3, description="so many are said in one go, and done in one"),
    ] = 1

    @property
    def by_name(self) -> Mapping[str, str]:
        """The items by their names; without any by their places, from 1."""
        if isinstance(self.items, Mapping):
            return self.items
        return {str(place): text for place, text in enumerate(self.items, 1)}

    @property
    def has_names(self) -> bool:
        """Whether its items are known by more than their places."""
        return isinstance(self.items, Mapping)
