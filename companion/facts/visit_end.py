"""The end of a car's visit: what is asked once for the car, behind its last sensor.

A job file says which of its steps those are: they hang on its step of the kind `visit_end`. Whether
they were done is told by the jobs of the visit, by nothing else: what was done before another
sensor's work began was not done at the end.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from companion.facts.answers import Accepted, Answered, Done, TakenBack
from companion.facts.ending import Finished
from companion.facts.kinds import Fact
from companion.facts.opening import Opened
from companion.facts.plain import text

STEP = "visit_end"
"""The kind of step that the others hang on."""
LAST = "last_sensor"
"""Its answer where no sensor of this car follows: then they are asked."""


class Sensor(NamedTuple):
    """A sensor that a visit is to set: the id of its job, and what that is called."""

    job: str
    name: str


@dataclass(frozen=True)
class AtTheEnd:
    """A step of the visit's end, by its title."""

    step_id: str
    title: str


def at_the_end(opened: Opened) -> tuple[AtTheEnd, ...]:
    """The steps of this job that belong to the end of the visit, in its order.

    One without a title only goes with another.
    """
    steps = [step for stage in _parts(opened.job, "stages") for step in _parts(stage)]
    asked = {text(step.get("id")) for step in steps if step.get("step") == STEP}
    found = []
    for step in steps:
        when = step.get("when")
        if not isinstance(when, Mapping) or when.get("question") not in asked:
            continue
        title = text(step.get("title"))
        if title and LAST in (when.get("answered") or ()):
            found.append(AtTheEnd(text(step.get("id")), title))
    return tuple(found)


def still_to_do(jobs: Iterable[Sequence[Fact]]) -> tuple[AtTheEnd, ...]:
    """What of the visit's end is not done; `jobs`: those of the visit, the one last worked on last.

    The work of a job makes all of it due anew; an answer counts whatever it says.
    """
    due: dict[str, AtTheEnd] = {}
    for facts in jobs:
        opened = next((fact for fact in facts if isinstance(fact, Opened)), None)
        if opened is None:
            continue
        if any(isinstance(fact, Accepted | Done | Answered) for fact in facts):
            due |= {one.step_id: one for one in at_the_end(opened)}
        for step_id in _done(facts):
            due.pop(step_id, None)
    return tuple(due.values())


def to_come(listed: Iterable[Sensor], jobs: Iterable[Sequence[Fact]]) -> tuple[Sensor, ...]:
    """The sensors of the visit's list whose job has not come to its end, in the list's order."""
    ended = Counter(job_id(facts) for facts in jobs if has_ended(facts))
    left = []
    for sensor in listed:
        if ended[sensor.job]:
            ended[sensor.job] -= 1
        else:
            left.append(sensor)
    return tuple(left)


def job_id(facts: Iterable[Fact]) -> str:
    """Which job it was; "" where that is not told."""
    opened = next((fact for fact in facts if isinstance(fact, Opened)), None)
    return text(opened.job.get("id")) if opened is not None else ""


def has_ended(facts: Iterable[Fact]) -> bool:
    """Whether it came to its end: it was neither stopped nor broken off."""
    return any(isinstance(fact, Finished) and fact.result != "stopped" for fact in facts)


def _done(facts: Iterable[Fact]) -> set[str]:
    found: set[str] = set()
    for fact in facts:
        match fact:
            case Answered(step_id=step_id) | Done(step_id=step_id):
                found.add(step_id.partition("/")[0])
            case TakenBack(step_ids=gone):
                found -= {step_id.partition("/")[0] for step_id in gone}
            case _:
                pass
    return found


def _parts(of: Mapping[str, object], name: str = "steps") -> Sequence[Mapping[str, object]]:
    parts = of.get(name)
    if not isinstance(parts, list | tuple):
        return ()
    return [part for part in parts if isinstance(part, Mapping)]
