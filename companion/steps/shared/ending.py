"""What a job comes to, as its file says it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, field_validator

from companion.job.setup_files import Identifier, Model, Text

OWN_RESULTS = ("inside", "stopped")
"""Only what was measured is `inside`, and only what was broken off is `stopped`."""


class Ending(Model):
    """One result that a job may end with, and how it is said."""

    result: Annotated[Identifier, Field(description="as the record keeps it")]
    say: Text

    @field_validator("result")
    @classmethod
    def _not_our_own(cls, value: str) -> str:
        if value in OWN_RESULTS:
            raise ValueError(f"another result than {' or '.join(OWN_RESULTS)}: no answer is one")
        return value
