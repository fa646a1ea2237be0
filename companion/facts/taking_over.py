"""What an earlier job found out and still holds, and what a job took over of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal, NamedTuple

from companion.facts.codec import LEFT_OUT

Scope = Literal["bay", "heads", "day", "car", "set_up"]
"""What a thing that was measured is true of, and so how long.

| scope | holds |
| --- | --- |
| `bay` | in this bay, for so many days as the shop says; where no car's shims lie |
| `heads` | for the heads of this bay's stand, for so many days as the shop says |
| `day` | in this bay, on this day |
| `car` | in this visit, in this bay, until the car is moved or lifted |
| `set_up` | in this job alone |
"""


class Part(NamedTuple):
    """One line of a result's budget: what it is called, and what it adds, with its sign."""

    name: str
    adds: float


@dataclass(frozen=True, slots=True)
class StillTrue:
    """One thing of an earlier job that still holds.

    A reading, an answer, a deed, a result of the car's, or a correction that a check found.
    """

    step_id: str
    what: Annotated[str, "reading, answer, done, result or correction"]
    scope: str
    stage: Annotated[str, "the stage's title in this job, or the correction's"]
    session: Annotated[str, "the job that it was found in"]
    seq: Annotated[int, "its event there"]
    event_hash: str
    at_utc: str
    days_ago: Annotated[int, "by the calendar of the place"]
    value: Annotated[str, LEFT_OUT, "decimal text of a reading, an answer's id, what was done"] = ""
    unit: Annotated[str, LEFT_OUT] = ""
    direction: Annotated[str | None, LEFT_OUT] = None
    spoken: Annotated[str, LEFT_OUT, "a reading as it was said back"] = ""
    title: Annotated[str, LEFT_OUT] = ""
    take: Annotated[int, LEFT_OUT] = 0
    result: Annotated[str, LEFT_OUT, "the name of a result"] = ""
    figure: Annotated[float | None, LEFT_OUT, "the value of a result"] = None
    parts: Annotated[tuple[Part, ...], LEFT_OUT, "who adds what to the doubt of a result"] = ()


@dataclass(frozen=True, slots=True)
class TakenOver:
    """The job took these steps over; each stands with its source in the job's `opened`."""

    KIND: ClassVar[str] = "taken_over"

    step_id: str
    steps: Annotated[tuple[str, ...], "steps that are not gone through again"]
    left: Annotated[tuple[str, ...], "steps that no longer hold: the car was moved or lifted"]
    stages: Annotated[tuple[str, ...], "titles of the stages that this saves"]
