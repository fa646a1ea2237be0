"""Does a job hang together: every name it uses exists, in the right order, before work starts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from companion.measure.formulas import FORMULAS
from companion.procedure.job import (
    Again,
    AimDecision,
    AnyStep,
    Checklist,
    Computation,
    Decision,
    Finish,
    Instruction,
    Question,
    Reading,
)
from companion.procedure.plan import PLACEHOLDER, JobFiles, file_field, named, producers


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
        if step.id in seen:
            yield Fault(step.id, f"a second step '{step.id}'", "every step's id once")
        seen.add(step.id)


def _check_order(files: JobFiles, steps: tuple[AnyStep, ...]) -> Iterator[Fault]:
    """Sources stand before their users; loops go back to steps that exist."""
    ids = {step.id for step in steps}
    all_names = producers(steps)
    known: set[str] = set()
    for step in steps:
        for source in _numbers(step):
            if "." in source:
                if file_field(files, source) is None:
                    yield Fault(
                        step.id, f"'{source}'", "a number in the vehicle, mount or bay file"
                    )
            elif source not in known:
                late = " (it comes later in the job)" if source in all_names else ""
                yield Fault(
                    step.id, f"'{source}'{late}", "a reading or result from before this step"
                )
        for source in _spoken(step):
            if source not in known and file_field(files, source) is None:
                yield Fault(step.id, f"'{{{source}}}'", "a reading from before or a file's field")
        yield from _check_condition(step, steps, known)
        for again in _loops(step):
            for back in again.steps:
                if back not in ids:
                    yield Fault(step.id, f"goes back to '{back}'", "the id of a step of this job")
        known.update(step.outputs.values() if isinstance(step, Computation) else (step.id,))


def _check_condition(step: AnyStep, steps: tuple[AnyStep, ...], known: set[str]) -> Iterator[Fault]:
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


def _check_end(steps: tuple[AnyStep, ...]) -> Iterator[Fault]:
    if not isinstance(steps[-1], Finish):
        yield Fault(steps[-1].id, f"a last step '{steps[-1].step}'", "a finish step")
    for step in steps[:-1]:
        if isinstance(step, Finish):
            yield Fault(step.id, "a finish step before the end", "one, as the last step")


def _numbers(step: AnyStep) -> Iterator[str]:
    match step:
        case Reading() if step.allowed is not None:
            yield from named(step.allowed.low, step.allowed.high)
        case Computation():
            yield from named(*step.inputs.values(), *step.input_doubts.values())
        case Decision():
            yield step.result
            yield from named(step.low, step.high, step.within, step.centre)
        case AimDecision():
            yield step.yaw
            yield step.elevation
        case _:
            pass


def _spoken(step: AnyStep) -> Iterator[str]:
    texts: tuple[str, ...] = ()
    match step:
        case Reading() | Question():
            texts = (step.ask,)
        case Instruction():
            texts = (step.say,)
        case Checklist():
            texts = step.items
        case _:
            pass
    for text in texts:
        yield from PLACEHOLDER.findall(text)


def _loops(step: AnyStep) -> Iterator[Again]:
    match step:
        case Question():
            yield from step.again.values()
        case Decision() | AimDecision():
            yield step.again
        case _:
            pass
