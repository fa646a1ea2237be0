"""How a result outside its limits is put right, as a job file says it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from companion.procedure.models import Identifier, Model, Sayable, Text


class Move(Model):
    """How a result outside its limits is put right, in the person's own terms."""

    say: Annotated[Text, Field(description="{amount} and {direction} speak the size and the way")]
    amount: Literal["mm", "deg", "mm_per_m"]
    resolution: Annotated[Sayable, Field(gt=0, description="the amount is rounded to this")]
    direction_when_positive: Identifier
    direction_when_negative: Identifier
