"""Shims: twist in the floor, taken out under the wheels."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from companion.job.job_file import NumberOrSource, Step, Title
from companion.job.setup_files import Identifier, Model, Text


class ShimSpot(Model):
    """One wheel's spot on the floor."""

    name: Annotated[Text, Field(description="as spoken: the rear left wheel")]
    reading: Identifier


class ShimAdvice(Step):
    """Twist out of the floor, where there is more than a car may stand on."""

    step: Literal["shims"]
    title: Title
    twist: Identifier
    slope: Annotated[Identifier, Field(description="taken into account, and said so")]
    within: NumberOrSource
    shim_step_mm: NumberOrSource
    rear_left: ShimSpot
    rear_right: ShimSpot
    front_left: ShimSpot
    front_right: ShimSpot
    settled: Annotated[
        tuple[Identifier, ...],
        Field(description="checks of the bare floor: they are not made again on the shims"),
    ] = ()
    at_most: Annotated[int, Field(ge=1, le=20)]
    then_stop: Text
