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
FOLLOWS = "sensor_follows"
"""Its answer where another one follows."""
NOT_SET = frozenset({"stopped", "outside", "not_settled"})
"""Results with which no sensor is set, whatever its job is."""
NOT_AIMED = "not_aimed"
"""The result of a job of whose steps none came to one, where its file names no other for that."""


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
    steps = _steps_of(opened)
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
    """The sensors of the visit's list that no job has set, in the list's order.

    Of one that is listed more than once another job may have set the same again: where none is left
    by the count, and a sensor follows by what was answered last, it is that.
    """
    jobs = tuple(jobs)
    listed = tuple(listed)
    was_set = Counter(job_id(facts) for facts in jobs if is_set(facts))
    left = []
    for sensor in listed:
        if was_set[sensor.job]:
            was_set[sensor.job] -= 1
        else:
            left.append(sensor)
    if not left and jobs and _said_last(jobs) == FOLLOWS:
        left = list(dict.fromkeys(listed_twice(listed)))
    return tuple(left)


def listed_twice(listed: Iterable[Sensor]) -> tuple[Sensor, ...]:
    """Those of the list that are on it more than once."""
    listed = tuple(listed)
    count = Counter(sensor.job for sensor in listed)
    return tuple(sensor for sensor in listed if count[sensor.job] > 1)


def is_set(facts: Sequence[Fact]) -> bool:
    """Whether the job came to an end with which its sensor is set.

    One without a step that could come to a result (a list of things to do) is done at its end.
    """
    result = next((fact.result for fact in facts if isinstance(fact, Finished)), "stopped")
    opened = next((fact for fact in facts if isinstance(fact, Opened)), Opened())
    steps = _steps_of(opened)
    if steps and not any(step.get("step") == "aim" or step.get("ends_as") for step in steps):
        return result not in NOT_SET
    finish = next((step for step in steps if step.get("step") == "finish"), {})
    otherwise = finish.get("otherwise")
    nothing = text(otherwise.get("result")) if isinstance(otherwise, Mapping) else NOT_AIMED
    return result not in NOT_SET | {nothing}


def _said_last(jobs: Iterable[Sequence[Fact]]) -> str:
    """What was answered last to whether another sensor follows; "" for nothing."""
    said = ""
    for facts in jobs:
        opened = next((fact for fact in facts if isinstance(fact, Opened)), Opened())
        asked = {text(step.get("id")) for step in _steps_of(opened) if step.get("step") == STEP}
        for fact in facts:
            if isinstance(fact, Answered) and fact.step_id in asked:
                said = fact.choice
    return said


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


def _steps_of(opened: Opened) -> list[Mapping[str, object]]:
    return [step for stage in _parts(opened.job, "stages") for step in _parts(stage)]


def _parts(of: Mapping[str, object], name: str = "steps") -> Sequence[Mapping[str, object]]:
    parts = of.get(name)
    if not isinstance(parts, list | tuple):
        return ()
    return [part for part in parts if isinstance(part, Mapping)]
