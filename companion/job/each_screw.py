"""Steps that are there once for each screw of the mount, whichever mount the job is done on.

A run of readings and instructions marked `each_screw` is repeated for every screw in the order of
the mount file. `{screw}` in their texts speaks the screw's name; the id of each gets the screw's
id behind it, also where it is spoken or gone back to.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby

from companion.job.job_file import Again, Job, Repeatable, Step
from companion.job.setup_files import MountModel, ScrewModel

SCREW = "{screw}"


def is_for_each_screw(step: Step) -> bool:
    """Whether the step is one of those that are repeated."""
    return isinstance(step, Repeatable) and step.each_screw


def for_each_screw(job: Job, mount: MountModel) -> Job:
    """The job with those steps written out for the mount's screws."""
    ids = {s.id for stage in job.stages for s in stage.steps if is_for_each_screw(s)}
    if not ids:
        return job
    stages = tuple(
        stage.model_copy(update={"steps": tuple(_steps(stage.steps, ids, mount))})
        for stage in job.stages
    )
    return job.model_copy(
        update={"stages": stages, "if_touched": _every(job.if_touched, ids, mount)}
    )


def id_of(step_id: str, screw: ScrewModel) -> str:
    """What a repeated step is called for one screw."""
    return f"{step_id}_{screw.id}"


def _steps(steps: Iterable[Step], ids: set[str], mount: MountModel) -> Iterator[Step]:
    for repeated, run in groupby(steps, key=is_for_each_screw):
        if repeated:
            kept = tuple(run)
            for screw in mount.screws:
                yield from (_for_screw(step, screw, ids) for step in kept)
        else:
            yield from (_going_back(step, ids, mount) for step in run)


def _for_screw(step: Step, screw: ScrewModel, ids: set[str]) -> Step:
    new: dict[str, object] = {"id": id_of(step.id, screw)}
    for field in ("title", "ask", "reply", "say"):
        if getattr(step, field, None) is not None:
            new[field] = _told(getattr(step, field), screw, ids)
    turns = getattr(step, "turns", None)
    if isinstance(turns, str):
        new |= {"screw": screw.id, "turns": id_of(turns, screw) if turns in ids else turns}
    return step.model_copy(update=new)


def _told(text: str, screw: ScrewModel, ids: set[str]) -> str:
    told = text.replace(SCREW, screw.name)
    for step_id in ids:
        told = told.replace(f"{{{step_id}}}", f"{{{id_of(step_id, screw)}}}")
    return told[0].upper() + told[1:]


def _going_back(step: Step, ids: set[str], mount: MountModel) -> Step:
    """The step with its loops (a field `again`, one or one for each answer) led to all of them."""
    match getattr(step, "again", None):
        case Again() as loop:
            return step.model_copy(update={"again": _loop(loop, ids, mount)})
        case Mapping() as loops:
            again = {answer: _loop(loop, ids, mount) for answer, loop in loops.items()}
            return step.model_copy(update={"again": again})
        case _:
            return step


def _loop(loop: Again, ids: set[str], mount: MountModel) -> Again:
    return loop.model_copy(update={"steps": _every(loop.steps, ids, mount)})


def _every(names: tuple[str, ...], ids: set[str], mount: MountModel) -> tuple[str, ...]:
    found: list[str] = []
    for name in names:
        found += [id_of(name, screw) for screw in mount.screws] if name in ids else [name]
    return tuple(found)
