"""What concerns all jobs and belongs to none; kept in the record's session of the office."""

from __future__ import annotations

from typing import Annotated, ClassVar

from pydantic import BaseModel, ConfigDict, Field


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class DateVouched(_Body):
    """Something vouched for the date of this event: all up to `session` was recorded before it."""

    KIND: ClassVar[str] = "date_vouched"

    session: Annotated[str, Field(min_length=1, description="the last job there was")]
