"""Before any work: could anything pass at all with the doubts that the files enter?

The job's own arithmetic is gone through once for each route, with every reading as it is in a bay
where all is right. What cannot be inside even then will not be inside in the bay.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import islice, product

from companion.dialogue import advice
from companion.dialogue.deciding import inputs_of, limits
from companion.dialogue.looping import halt
from companion.dialogue.progress import applies
from companion.dialogue.state import State, TakenReading
from companion.dialogue.turn import Turn
from companion.dialogue.values import (
    grounds,
    measured_value,
    number,
    reading_name,
    shares_of,
    unit_of,
)
from companion.errors import MeasureError
from companion.facts.workings import CannotPass
from companion.measure.conformity import best_possible_probability
from companion.measure.doubt import Measured
from companion.measure.formulas import evaluate
from companion.procedure.job import (
    AimDecision,
    AnyStep,
    Computation,
    Decision,
    Moves,
    Question,
    Reading,
)

# A job that branches more often is looked into only so far: it must not wait for this.
MOST_ROUTES = 200


@dataclass(frozen=True)
class Hopeless:
    """A decision that nothing could pass, with its doubt as it will be when all is right."""

    step_id: str
    title: str
    result: str
    value: Measured
    half_width: float
    level: float
    best_probability: float


def hopeless(state: State) -> tuple[Hopeless, ...]:
    """Every decision that no reading could pass, once each, in the order of the job."""
    found: dict[str, Hopeless] = {}
    for imagined in _routes(state):
        for step in imagined.plan.steps:
            if applies(imagined, step):
                found |= {h.title: h for h in _hopeless_at(imagined, step)}
    return tuple(found.values())


def warn_of(turn: Turn, found: Sequence[Hopeless]) -> None:
    """Nothing could pass: say so before anybody has lifted a wheel."""
    for item in found:
        turn.record(
            CannotPass(
                step_id=item.step_id,
                title=item.title,
                result=item.result,
                u=item.value.u,
                unit=unit_of(item.result),
                half_width=item.half_width,
                budget=shares_of(item.value),
                grounds=grounds("best_possible"),
                before_the_work=True,
            )
        )
    text = advice.could_never_pass(item.title for item in found)
    halt(turn, turn.state.plan.steps[0].id, text)


def _routes(state: State) -> Iterator[State]:
    """The job as it would go for each combination of answers that it branches on."""
    asked = {step.when.question for step in state.plan.steps if step.when is not None}
    questions = [s for s in state.plan.steps if isinstance(s, Question) and s.id in asked]
    for answers in islice(product(*(q.choices for q in questions)), MOST_ROUTES):
        answered = {q.id: answer for q, answer in zip(questions, answers, strict=True)}
        yield _worked_out(replace(state, answers=answered))


def _worked_out(state: State) -> State:
    """All readings taken as they typically are, and all that follows from them."""
    for step in state.plan.steps:
        if not applies(state, step):
            continue
        if isinstance(step, Reading):
            taken = TakenReading(Decimal(str(_typical(step))), "", 1)
            state = replace(state, readings={**state.readings, step.id: taken})
        elif isinstance(step, Computation):
            try:
                outputs = evaluate(step.formula, inputs_of(state, step))
            except (MeasureError, KeyError):
                # These typical readings bear no result; the bay's own will have to tell.
                continue
            named = {result: outputs[name] for name, result in step.outputs.items()}
            state = replace(state, results={**state.results, **named})
    return state


def _typical(step: Reading) -> float:
    return step.typical if step.typical is not None else sum(step.plausible) / 2


def _hopeless_at(state: State, step: AnyStep) -> Iterator[Hopeless]:
    """The decisions of this step that could not be passed. Sets of aim readings are averaged."""
    match step:
        case Decision() if step.rule == "probability":
            low, high = limits(state, step)
            checks = [(step.id, step.title, step.result, (high - low) / 2, step.confidence, 1)]
        case Moves():
            checks = [
                (part.id, part.title, part.result, number(state, part.within), step.confidence, 1)
                for part in step.parts
            ]
        case AimDecision():
            aim = state.plan.files.vehicle.aim
            sets = step.at_most_repeats
            checks = [
                (step.id, step.title, step.yaw, aim.yaw_tolerance_deg, aim.confidence, sets),
                (
                    step.id,
                    step.title,
                    step.elevation,
                    aim.elevation_tolerance_deg,
                    aim.confidence,
                    sets,
                ),
            ]
        case _:
            return
    for step_id, title, result, half_width, level, sets in checks:
        value = _value_or_none(state, result)
        if value is None:
            continue
        again = frozenset(step.again.steps) if isinstance(step, AimDecision) else frozenset()
        value = _averaged(value, again, sets)
        best = best_possible_probability(value.u, -half_width, half_width)
        if best < level:
            yield Hopeless(step_id, title, result, value, half_width, level, best)


def _value_or_none(state: State, result: str) -> Measured | None:
    try:
        return measured_value(state, result)
    except KeyError:
        return None


def _averaged(value: Measured, again: frozenset[str], sets: int) -> Measured:
    """The doubt of a mean over so many sets of the readings that are taken again."""
    names = {reading_name(reading, 1) for reading in again}
    return Measured(
        value.value,
        tuple(
            (name, part / sets**0.5 if name in names else part)
            for name, part in value.contributions
        ),
    )
