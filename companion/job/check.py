"""Does a job fit together: every name it uses exists, in the right order, before work starts.

What only one kind of step can get wrong, its kind checks (`StepKind.check`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from companion.job.job_file import Repeatable, Step
from companion.job.kind import MOUNT, Context, Fault, JobFiles, Vocabulary
from companion.job.plan import file_field, names_of, producers, spoken_in

STEPS_THAT_COVER = "a source that is there whenever this step is (see 'when')"
A_FILES_NUMBER = "a number in the vehicle, mount or bay file"
A_MOUNT_FILE = "a mount file, which this step needs"


def check_job(files: JobFiles, vocabulary: Vocabulary) -> tuple[Fault, ...]:
    """Everything that is wrong with the job's names; empty where all is well."""
    steps = tuple(step for stage in files.job.stages for step in stage.steps)
    context = Context(files, steps, vocabulary)
    return (
        *_check_ids(context),
        *_check_order(context),
        *(fault for step in steps for fault in files.kinds[step.step].check(step, context)),
        *_check_end(context),
        *(
            Fault(steps[0].id, f"if_touched '{name}'", "the id of a step of this job")
            for name in files.job.if_touched
            if name not in {step.id for step in steps}
        ),
    )


def _check_ids(context: Context) -> Iterator[Fault]:
    seen: set[str] = set()
    for step in context.steps:
        for name in (step.id, *context.files.kinds[step.step].part_ids(step)):
            if name in seen:
                yield Fault(step.id, f"a second step '{name}'", "every step's id once")
            seen.add(name)


def _check_order(context: Context) -> Iterator[Fault]:
    """Sources stand before their users; loops go back to steps that exist."""
    files, kinds = context.files, context.files.kinds
    ids = {step.id for step in context.steps}
    all_names = producers(kinds, context.steps)
    known: dict[str, list[Step]] = {}
    for step in context.steps:
        for source in kinds[step.step].uses(step):
            if "." in source:
                yield from _check_needed(files, step, source)
            elif not any(source in kinds[s.step].numbers(s) for s in known.get(source, ())):
                late = " (it comes later in the job)" if source in all_names else ""
                yield Fault(
                    step.id, f"'{source}'{late}", "a reading or result from before this step"
                )
            elif not _always_there(context, step, known[source]):
                yield Fault(step.id, f"'{source}', which this job may not have", STEPS_THAT_COVER)
        for source in kinds[step.step].needs(step):
            yield from _check_needed(files, step, source)
        for source in spoken_in(kinds, step):
            yield from _check_spoken(context, step, source, known)
        yield from _check_condition(context, step, known)
        for back in kinds[step.step].goes_back_to(step):
            if back not in ids:
                yield Fault(step.id, f"goes back to '{back}'", "the id of a step of this job")
        for name in names_of(kinds, step):
            known.setdefault(name, []).append(step)


def _check_needed(files: JobFiles, step: Step, source: str) -> Iterator[Fault]:
    """A file, or a number in one, that this step cannot do without."""
    if source == MOUNT:
        if files.mount is None:
            yield Fault(step.id, "no mount file", A_MOUNT_FILE)
    elif file_field(files, source) is None:
        yield Fault(step.id, f"'{source}'", A_FILES_NUMBER)


def _check_spoken(
    context: Context, step: Step, source: str, known: Mapping[str, list[Step]]
) -> Iterator[Fault]:
    """What stands in braces can be said: a reading that is there, or a number without a sign."""
    if source == "screw" and isinstance(step, Repeatable) and step.each_screw:
        return  # No mount file, which is told: with one each screw's name would stand here.
    found = f"'{{{source}}}'"
    kinds = context.files.kinds
    readings = [
        s
        for s in known.get(source, ())
        if kinds[s.step].takes_readings and source in kinds[s.step].numbers(s)
    ]
    if not readings:
        value = file_field(context.files, source)
        if value is None or value < 0:
            yield Fault(step.id, found, "a reading from before, or a file's field of 0 or more")
    elif not _always_there(context, step, known[source]):
        yield Fault(step.id, f"{found}, which this job may not have", STEPS_THAT_COVER)


def _always_there(context: Context, step: Step, makers: list[Step]) -> bool:
    """Whether one of the makers belongs to every job that the step belongs to."""
    conditions = [maker.when for maker in makers]
    if any(condition is None for condition in conditions):
        return True
    for question in {condition.question for condition in conditions if condition is not None}:
        covered = {
            answer
            for condition in conditions
            if condition is not None and condition.question == question
            for answer in condition.answered
        }
        wanted = set(_choices(context, question))
        if step.when is not None and step.when.question == question:
            wanted = set(step.when.answered)
        if wanted <= covered:
            return True
    return False


def _choices(context: Context, question: str) -> tuple[str, ...]:
    """The answers that a step of this id takes; none where it is no question."""
    asked = next((step for step in context.steps if step.id == question), None)
    return context.files.kinds[asked.step].choices(asked) if asked is not None else ()


def _check_condition(
    context: Context, step: Step, known: Mapping[str, list[Step]]
) -> Iterator[Fault]:
    if step.when is None:
        return
    choices = _choices(context, step.when.question)
    if not choices or step.when.question not in known:
        yield Fault(step.id, f"when '{step.when.question}'", "a question from before this step")
    else:
        for answer in step.when.answered:
            if answer not in choices:
                yield Fault(step.id, f"when answered '{answer}'", " or ".join(choices))


def _check_end(context: Context) -> Iterator[Fault]:
    kinds, steps = context.files.kinds, context.steps
    if not kinds[steps[-1].step].ends_the_job:
        yield Fault(steps[-1].id, f"a last step '{steps[-1].step}'", "a finish step")
    for step in steps[:-1]:
        if kinds[step.step].ends_the_job:
            yield Fault(step.id, f"a {step.step} step before the end", "one, as the last step")
