"""The end of a visit: steps that hang on this one are asked once for a car, at its last sensor."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from companion.job.job_file import Condition, Reply, Step, Title
from companion.job.setup_files import Text


class VisitEnd(Step):
    """Whether this is the car's last sensor: known from the visit, else asked.

    A job that belongs to no visit is its car's last. Steps with `when: {question: ID, answered:
    last_sensor}` belong to the end of the visit. One that is also `answered: own_code_first` is
    there before a next sensor too where this sensor's own code was stored: it must be seen gone.
    """

    step: Literal["visit_end"]
    title: Title
    ask: Annotated[Text, Field(description="asks whether another sensor of this car follows")]
    reply: Reply = None
    own_code: Annotated[
        Condition | None,
        Field(description="the answer by which a code of this sensor's own was stored before"),
    ] = None

    CHOICES: ClassVar[tuple[str, ...]] = ("last_sensor", "sensor_follows")
    OWN_CODE: ClassVar[str] = "own_code_first"
