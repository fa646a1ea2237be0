"""Does a job hang together: every name it uses exists, in the right order, before work starts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from companion.measure.formulas import FORMULAS
from companion.procedure.job import (
    AnyStep,
    Computation,
    Decision,
    Finish,
    Instruction,
    Limits,
    Moves,
    NumberOrSource,
    Question,
    Reading,
)
from companion.procedure.models import MountModel
from companion.procedure.plan import (
    JobFiles,
    file_field,
    gone_back_to,
    named,
    numbers_used,
    producers,
    spoken_in,
)

STEPS_THAT_COVER = "a source that is there whenever this step is (see 'when')"


@dataclass(frozen=True)
class Vocabulary:
    """What the grammars know: ids of choices, units and directions."""

    choices: frozenset[str]
    units: frozenset[str]
    directions: frozenset[str]


@dataclass(frozen=True)
class Fault:
    """One thing in the job file that does not hang together."""

    step_id: str
    found: str
    wanted: str


def check_job(files: JobFiles, vocabulary: Vocabulary) -> tuple[Fault, ...]:
    """Everything that is wrong with the job's names; empty where all is well."""
    steps = tuple(step for stage in files.job.stages for step in stage.steps)
    return (
        *_check_ids(steps),
        *_check_order(files, steps),
        *_check_words(steps, vocabulary),
        *_check_formulas(steps),
        *_check_limits(files, steps),
        *_check_screws(files.mount, steps),
        *_check_end(steps),
        *(
            Fault(steps[0].id, f"if_touched '{name}'", "the id of a step of this job")
            for name in files.job.if_touched
            if name not in {step.id for step in steps}
        ),
    )


def _check_ids(steps: tuple[AnyStep, ...]) -> Iterator[Fault]:
    seen: set[str] = set()
    for step in steps:
        parts = [part.id for part in step.parts] if isinstance(step, Moves) else []
        for name in (step.id, *parts):
            if name in seen:
                yield Fault(step.id, f"a second step '{name}'", "every step's id once")
            seen.add(name)


def _check_order(files: JobFiles, steps: tuple[AnyStep, ...]) -> Iterator[Fault]:
    """Sources stand before their users; loops go back to steps that exist."""
    ids = {step.id for step in steps}
    all_names = producers(steps)
    known: dict[str, list[AnyStep]] = {}
    for step in steps:
        for source in numbers_used(step):
            if "." in source:
                if file_field(files, source) is None:
                    yield Fault(
                        step.id, f"'{source}'", "a number in the vehicle, mount or bay file"
                    )
            elif not any(isinstance(s, Reading | Computation) for s in known.get(source, ())):
                late = " (it comes later in the job)" if source in all_names else ""
                yield Fault(
                    step.id, f"'{source}'{late}", "a reading or result from before this step"
                )
            elif not _always_there(step, known[source], steps):
                yield Fault(step.id, f"'{source}', which this job may not have", STEPS_THAT_COVER)
        for source in spoken_in(step):
            yield from _check_spoken(files, step, source, known, steps)
        yield from _check_condition(step, steps, known)
        for back in gone_back_to(step):
            if back not in ids:
                yield Fault(step.id, f"goes back to '{back}'", "the id of a step of this job")
        yield from _check_levels(files, step)
        for name in step.outputs.values() if isinstance(step, Computation) else (step.id,):
            known.setdefault(name, []).append(step)


def _check_levels(files: JobFiles, step: AnyStep) -> Iterator[Fault]:
    """Where the plate stood and how wide the beam is come from the files."""
    echo = step.misread if isinstance(step, Decision | Computation) else None
    if echo is None:
        return
    places = (source for level in echo.levels for source in (level.lean, level.swing))
    for source in named(echo.beam_width_lean, echo.beam_width_swing, *places):
        if file_field(files, source) is None:
            yield Fault(step.id, f"'{source}'", "a number in the vehicle, mount or bay file")


def _check_spoken(
    files: JobFiles,
    step: AnyStep,
    source: str,
    known: Mapping[str, list[AnyStep]],
    steps: tuple[AnyStep, ...],
) -> Iterator[Fault]:
    """What stands in braces can be said: a reading that is there, or a number without a sign."""
    found = f"'{{{source}}}'"
    readings = [s for s in known.get(source, ()) if isinstance(s, Reading)]
    if not readings:
        value = file_field(files, source)
        if value is None or value < 0:
            yield Fault(step.id, found, "a reading from before, or a file's field of 0 or more")
    elif not _always_there(step, known[source], steps):
        yield Fault(step.id, f"{found}, which this job may not have", STEPS_THAT_COVER)


def _always_there(step: AnyStep, makers: list[AnyStep], steps: tuple[AnyStep, ...]) -> bool:
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
        asked = next((s for s in steps if s.id == question and isinstance(s, Question)), None)
        wanted = set(asked.choices) if asked is not None else set()
        if step.when is not None and step.when.question == question:
            wanted = set(step.when.answered)
        if wanted <= covered:
            return True
    return False


def _check_condition(
    step: AnyStep, steps: tuple[AnyStep, ...], known: Mapping[str, list[AnyStep]]
) -> Iterator[Fault]:
    if step.when is None:
        return
    asked = next((s for s in steps if s.id == step.when.question), None)
    if not isinstance(asked, Question) or asked.id not in known:
        yield Fault(step.id, f"when '{step.when.question}'", "a question from before this step")
    else:
        for answer in step.when.answered:
            if answer not in asked.choices:
                yield Fault(step.id, f"when answered '{answer}'", " or ".join(asked.choices))


def _check_words(steps: tuple[AnyStep, ...], vocabulary: Vocabulary) -> Iterator[Fault]:
    for step in steps:
        if isinstance(step, Reading):
            if step.unit not in vocabulary.units:
                yield Fault(step.id, f"unit '{step.unit}'", ", ".join(sorted(vocabulary.units)))
            for direction in step.number.directions:
                if direction not in vocabulary.directions:
                    wanted = ", ".join(sorted(vocabulary.directions))
                    yield Fault(step.id, f"direction '{direction}'", wanted)
        if isinstance(step, Question):
            for choice in step.choices:
                if choice not in vocabulary.choices:
                    yield Fault(step.id, f"choice '{choice}'", "a choice of answers.grammar")
            consent = [step.sound_is_kept_when] if step.sound_is_kept_when else []
            for name in (*step.blocked_by, *step.again, *consent):
                if name not in step.choices:
                    yield Fault(step.id, f"'{name}'", " or ".join(step.choices))


def _check_formulas(steps: tuple[AnyStep, ...]) -> Iterator[Fault]:
    for step in steps:
        if not isinstance(step, Computation):
            continue
        formula = FORMULAS.get(step.formula)
        if formula is None:
            yield Fault(step.id, f"formula '{step.formula}'", ", ".join(sorted(FORMULAS)))
            continue
        yield from _check_names(step.id, "inputs", step.inputs, formula.inputs)
        for name in step.input_doubts:
            if name not in step.inputs:
                yield Fault(step.id, f"a doubt of '{name}'", "one of this step's inputs")
        for name in step.outputs:
            if name not in formula.outputs:
                yield Fault(step.id, f"output '{name}'", ", ".join(formula.outputs))


def _check_names(
    step_id: str, what: str, found: Mapping[str, object], wanted: Mapping[str, object]
) -> Iterator[Fault]:
    missing = [name for name in wanted if name not in found]
    unknown = [name for name in found if name not in wanted]
    if missing or unknown:
        shown = "; ".join(
            f"{title} {', '.join(names)}"
            for title, names in (("missing", missing), ("unknown", unknown))
            if names
        )
        yield Fault(step_id, f"{what}: {shown}", ", ".join(wanted))


def _check_limits(files: JobFiles, steps: tuple[AnyStep, ...]) -> Iterator[Fault]:
    """The lower limit is lower, as far as both are known before the work starts."""
    for step in steps:
        match step:
            case Reading(allowed=Limits(low=low, high=high)) | Decision(low=low, high=high):
                lower, higher = _fixed(files, low), _fixed(files, high)
                if lower is not None and higher is not None and lower >= higher:
                    yield Fault(
                        step.id, f"low {low} and high {high}", "a low that is less than high"
                    )
            case _:
                pass


def _fixed(files: JobFiles, source: NumberOrSource | None) -> float | None:
    if not isinstance(source, str):
        return source
    value = file_field(files, source.removeprefix("minus "))
    return -value if value is not None and source.startswith("minus ") else value


def _check_screws(mount: MountModel, steps: tuple[AnyStep, ...]) -> Iterator[Fault]:
    """Turns are read for a screw that the mount has: for every one, or for one that is named."""
    names = {screw.name.lower() for screw in mount.screws}
    turns = {step.id for step in steps if isinstance(step, Reading) and step.unit == "turns"}
    for step in steps:
        if isinstance(step, Instruction) and step.turns is not None:
            if step.turns not in turns:
                yield Fault(step.id, f"turns '{step.turns}'", "a reading in turns")
            if step.screw not in {screw.id for screw in mount.screws}:
                wanted = ", ".join(screw.id for screw in mount.screws)
                yield Fault(step.id, f"screw '{step.screw}'", wanted)
        match step:
            case Reading(ask=text, title=title):
                told, reads_turns = f"{title} {text}".lower(), step.unit == "turns"
            case Instruction(say=text):
                told, reads_turns = text.lower(), False
            case _:
                continue
        if any(name in told for name in names):
            continue
        if step.each_screw:
            yield Fault(step.id, "each_screw without {screw}", "{screw} in the text")
        elif reads_turns:
            yield Fault(
                step.id,
                "turns of no screw of the mount",
                f"each_screw: true with {{screw}}, or one of {', '.join(sorted(names))}",
            )


def _check_end(steps: tuple[AnyStep, ...]) -> Iterator[Fault]:
    if not isinstance(steps[-1], Finish):
        yield Fault(steps[-1].id, f"a last step '{steps[-1].step}'", "a finish step")
    for step in steps[:-1]:
        if isinstance(step, Finish):
            yield Fault(step.id, "a finish step before the end", "one, as the last step")
