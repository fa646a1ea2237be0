"""A job made ready to walk through: its steps in order, and what depends on what.

The place in the job is never stored: it is the first step that belongs to the job and is not
done. To measure something again is to mark it as not done, together with all that was derived
from it; `Plan.with_dependents` says what that is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from companion.facts.taking_over import Scope
from companion.job.job_file import NumberOrSource, Stage, Step
from companion.job.kind import JobFiles, Kinds
from companion.job.setup_files import Range

PLACEHOLDER = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True)
class Plan:
    """The job's steps in order, with their stages and dependents."""

    files: JobFiles
    steps: tuple[Step, ...]
    stage_of: Mapping[str, Stage] = field(repr=False)
    dependents: Mapping[str, frozenset[str]] = field(repr=False)

    def step(self, step_id: str) -> Step:
        return next(s for s in self.steps if s.id == step_id)

    def holds(self, step: Step) -> Scope:
        """What the step is true of, and so how long."""
        return step.holds or self.stage_of[step.id].holds

    def behind(self, step: Step) -> Step | None:
        """The step that stands right behind this one; None behind the last."""
        place = next(at for at, other in enumerate(self.steps) if other.id == step.id)
        return self.steps[place + 1] if place + 1 < len(self.steps) else None

    def stage_number(self, stage: Stage) -> int:
        return self.files.job.stages.index(stage) + 1

    def with_dependents(self, step_ids: Iterable[str]) -> frozenset[str]:
        """The steps themselves and every step derived from them, however indirectly."""
        found: set[str] = set()
        waiting = list(step_ids)
        while waiting:
            step_id = waiting.pop()
            if step_id not in found:
                found.add(step_id)
                waiting.extend(self.dependents.get(step_id, ()))
        return frozenset(found)

    def file_value(self, source: str) -> float:
        """The number in the vehicle, mount or bay file that a source like `bay.stand.x` names."""
        value = file_field(self.files, source)
        if value is None:
            raise KeyError(source)
        return value


def make_plan(files: JobFiles) -> Plan:
    """The plan of files that `check.check_job` has passed."""
    steps = tuple(step for stage in files.job.stages for step in stage.steps)
    stage_of = {step.id: stage for stage in files.job.stages for step in stage.steps}
    produced_by = producers(files.kinds, steps)
    dependents: dict[str, set[str]] = {}
    for step in steps:
        for source in sources(files.kinds, step):
            for producer in produced_by.get(source, ()):
                if producer != step.id:
                    dependents.setdefault(producer, set()).add(step.id)
    return Plan(files, steps, stage_of, {k: frozenset(v) for k, v in dependents.items()})


def producers(kinds: Kinds, steps: Iterable[Step]) -> dict[str, tuple[str, ...]]:
    """For every reading, question and result id: the steps that bring it about."""
    found: dict[str, tuple[str, ...]] = {}
    for step in steps:
        for name in names_of(kinds, step):
            found[name] = (*found.get(name, ()), step.id)
    return found


def names_of(kinds: Kinds, step: Step) -> tuple[str, ...]:
    """What other steps know this one by: its numbers, or its own id where it has none."""
    return tuple(kinds[step.step].numbers(step)) or (step.id,)


def sources(kinds: Kinds, step: Step) -> Iterator[str]:
    """Every reading, question, result or file field that the step uses."""
    if step.when is not None:
        yield step.when.question
    yield from kinds[step.step].uses(step)
    yield from spoken_in(kinds, step)


def spoken_in(kinds: Kinds, step: Step) -> Iterator[str]:
    """The sources between braces in what the step says."""
    for text in kinds[step.step].texts(step):
        yield from PLACEHOLDER.findall(text)


def named(*values: NumberOrSource | None) -> Iterator[str]:
    """The sources among numbers and sources, without a leading `minus`."""
    for value in values:
        if isinstance(value, str):
            yield value.removeprefix("minus ")


def file_field(files: JobFiles, source: str) -> float | None:
    """The number that `vehicle.…`, `mount.…` or `bay.…` names, or None where there is none."""
    head, *rest = source.split(".")
    value: object = {"vehicle": files.vehicle, "mount": files.mount, "bay": files.bay}.get(head)
    for part in rest:
        if part == "middle" and isinstance(value, Range):
            value = (value.low + value.high) / 2
        else:
            value = getattr(value, part, None) if part in _fields(value) else None
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value)


def _fields(value: object) -> Iterable[str]:
    kind = type(value)
    return (*getattr(kind, "model_fields", {}), *getattr(kind, "DERIVED", ()))
