"""The aim: both axes against the vehicle's tolerance."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from companion.procedure.job import Again, Step, Title
from companion.procedure.models import Identifier


class AimDecision(Step):
    """Both axes against the vehicle's tolerance; outside: a plan for the screws and a new round."""

    step: Literal["aim"]
    title: Title
    yaw: Identifier
    elevation: Identifier
    again: Again
    at_most_repeats: Annotated[int, Field(ge=1, le=10)] = 3
