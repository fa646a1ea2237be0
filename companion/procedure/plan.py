"""A job made ready to walk through: its steps in order, and what depends on what.

The place in the job is never stored: it is the first step that belongs to the job and is not
done. To measure something again is to mark it as not done, together with all that was derived
from it; `Plan.with_dependents` says what that is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from companion.procedure.job import (
    AimDecision,
    AnyStep,
    Checklist,
    Computation,
    Decision,
    EchoLevels,
    Finish,
    Instruction,
    Job,
    Moves,
    NumberOrSource,
    Question,
    Reading,
    ShimAdvice,
    ShimSpot,
    Stage,
)
from companion.procedure.models import Bay, MountModel, Range, Vehicle

PLACEHOLDER = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True)
class JobFiles:
    """The four files that one job is done with."""

    job: Job
    vehicle: Vehicle
    mount: MountModel
    bay: Bay

    @property
    def example(self) -> bool:
        """Whether any of the four is marked as an example."""
        return any(f.example for f in (self.job, self.vehicle, self.mount, self.bay))


@dataclass(frozen=True)
class Plan:
    """The job's steps in order, with their stages and dependents."""

    files: JobFiles
    steps: tuple[AnyStep, ...]
    stage_of: Mapping[str, Stage] = field(repr=False)
    dependents: Mapping[str, frozenset[str]] = field(repr=False)

    def step(self, step_id: str) -> AnyStep:
        return next(s for s in self.steps if s.id == step_id)

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
    produced_by = producers(steps)
    dependents: dict[str, set[str]] = {}
    for step in steps:
        for source in sources(step):
            for producer in produced_by.get(source, ()):
                if producer != step.id:
                    dependents.setdefault(producer, set()).add(step.id)
    return Plan(files, steps, stage_of, {k: frozenset(v) for k, v in dependents.items()})


def producers(steps: Iterable[AnyStep]) -> dict[str, tuple[str, ...]]:
    """For every reading, question and result id: the steps that bring it about."""
    found: dict[str, tuple[str, ...]] = {}
    for step in steps:
        names: tuple[str, ...] = (step.id,)
        if isinstance(step, Computation):
            names = tuple(step.outputs.values())
        for name in names:
            found[name] = (*found.get(name, ()), step.id)
    return found


def sources(step: AnyStep) -> Iterator[str]:
    """Every reading, question, result or file field that the step uses."""
    if step.when is not None:
        yield step.when.question
    yield from numbers_used(step)
    yield from spoken_in(step)


def numbers_used(step: AnyStep) -> Iterator[str]:
    """The sources that the step calculates with or compares against."""
    match step:
        case Reading() if step.allowed is not None:
            yield from named(step.allowed.low, step.allowed.high)
        case Instruction() if step.turns is not None:
            yield step.turns
        case Computation():
            yield from named(*step.inputs.values(), *step.input_doubts.values())
        case Decision():
            yield step.result
            yield from named(step.low, step.high, step.within, step.centre)
        case Moves():
            yield from named(*(part.result for part in step.parts))
            yield from named(*(part.within for part in step.parts))
            yield from named(step.foot_ahead_mm, step.foot_left_mm, step.foot_doubt_mm)
        case ShimAdvice():
            yield from (step.twist, step.slope)
            yield from named(step.within, step.shim_step_mm)
            yield from (spot.reading for spot in shim_spots(step))
        case AimDecision():
            yield step.yaw
            yield step.elevation
        case _:
            pass


def shim_spots(step: ShimAdvice) -> tuple[ShimSpot, ...]:
    """The four spots in the order of `measure.shimming.SPOTS`."""
    return (step.rear_left, step.rear_right, step.front_left, step.front_right)


def gone_back_to(step: AnyStep) -> Iterator[str]:
    """Every step that this one may send back to."""
    match step:
        case Question():
            for again in step.again.values():
                yield from again.steps
        case Decision():
            yield from step.again.steps
            for suspect in step.suspects:
                yield from (*suspect.readings, *suspect.also)
            yield from _levels(step.misread)
        case Computation():
            yield from _levels(step.misread)
        case AimDecision():
            yield from step.again.steps
        case Moves():
            for part in step.parts:
                yield from part.readings
        case ShimAdvice():
            yield from (spot.reading for spot in shim_spots(step))
            yield from step.settled
        case _:
            pass


def _levels(echo: EchoLevels | None) -> Iterator[str]:
    if echo is not None:
        yield from (level.reading for level in echo.levels)


def spoken_in(step: AnyStep) -> Iterator[str]:
    """The sources between braces in what the step says."""
    texts: tuple[str, ...] = ()
    match step:
        case Reading() | Question():
            texts = (step.ask, step.reply or "")
        case Instruction():
            texts = (step.say,)
        case Checklist():
            texts = step.items
        case Finish():
            texts = (step.say_signed,)
        case _:
            pass
    for text in texts:
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
    return getattr(type(value), "model_fields", {})
