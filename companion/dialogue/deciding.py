"""Steps that need no answer: computations, and decisions on their results with the loops."""

from __future__ import annotations

import math

from companion.dialogue import advice, prompts, suspecting
from companion.dialogue.looping import halt, once_more
from companion.dialogue.state import LastMove, State, Task
from companion.dialogue.turn import Turn
from companion.dialogue.values import (
    as_written,
    grounds,
    measured_value,
    number,
    shares_of,
    unit_of,
)
from companion.errors import MeasureError
from companion.facts.aim import MoveJudged
from companion.facts.figures import Grounds
from companion.facts.instructions import MoveStand, StandQuantity
from companion.facts.workings import (
    CannotPass,
    Computed,
    Corrected,
    Correction,
    Decided,
    Input,
    Misfit,
    Output,
)
from companion.measure.conformity import Verdict, can_ever_pass, decide, repeats_to_settle
from companion.measure.doubt import Measured
from companion.measure.formulas import FORMULAS, evaluate
from companion.procedure.job import Again, Computation, Decision, Move, Reading, way_of
from companion.words.speaking import say_figure

MISFITS_AT_MOST = 3
# A correction counts as gone the wrong way when it made things worse by this many times its doubt.
WRONG_WAY_IN_U = 3.0


def compute(turn: Turn, step: Computation) -> None:
    """Evaluate the formula; readings that cannot bear it are said to misfit and asked again."""
    state = turn.state
    inputs = inputs_of(state, step)
    try:
        outputs = evaluate(step.formula, inputs)
    except MeasureError as error:
        readings = tuple(
            s for s in step.inputs.values() if isinstance(s, str) and s in state.readings
        )
        turn.record(Misfit(step.id, str(error)))
        again = Again(
            say=prompts.MISFIT,
            steps=readings or (step.id,),
            at_most=MISFITS_AT_MOST,
            then_stop=prompts.KEEPS_MISFITTING,
        )
        if step.misread is None:
            once_more(turn, step.id, again)
        else:
            suspecting.ask_misread_level(turn, step.id, step.misread, again)
        return
    named = {result: outputs[name] for name, result in step.outputs.items()}
    turn.change(
        results={**state.results, **named},
        done=state.done | {step.id},
        suspected=_cleared(state, step.id),
    )
    formula = FORMULAS[step.formula]
    turn.record(
        Computed(
            step_id=step.id,
            formula=step.formula,
            grounds=Grounds(formula.text, formula.source),
            inputs={
                name: Input(item.value, item.u, str(step.inputs[name]))
                for name, item in inputs.items()
            },
            outputs={
                result: _output(outputs[name], formula.outputs[name])
                for name, result in step.outputs.items()
            },
        )
    )


def inputs_of(state: State, step: Computation) -> dict[str, Measured]:
    """What goes into the formula at this moment, each with its doubt."""
    return {
        name: measured_value(state, source, _doubt_of(state, step, name), f"{step.id}.{name}")
        for name, source in step.inputs.items()
    }


def _doubt_of(state: State, step: Computation, name: str) -> float:
    doubt = step.input_doubts.get(name)
    return 0.0 if doubt is None else number(state, doubt)


def _output(result: Measured, unit: str) -> Output:
    return Output(result.value, result.u, unit, shares_of(result))


def limits(state: State, step: Decision) -> tuple[float, float]:
    """The lower and upper limit of the decision, in the unit of its result."""
    if step.within is None:
        assert step.low is not None  # noqa: S101  -- by the model
        assert step.high is not None  # noqa: S101
        return number(state, step.low), number(state, step.high)
    centre, within = number(state, step.centre), number(state, step.within)
    if step.within_is_a_fraction:
        within *= abs(centre)
    return centre - within, centre + within


def decide_on(turn: Turn, step: Decision) -> None:
    """Inside: done. Else: the correction in the person's terms, and the loop's steps again."""
    state = turn.state
    value = measured_value(state, step.result)
    low, high = limits(state, step)
    if step.rule == "probability" and not can_ever_pass(value.u, low, high, step.confidence):
        cannot_pass(turn, step.id, step.title, step.result, value, (high - low) / 2)
        return
    verdict = _verdict(step, value, low, high)
    turn.record(
        decided(
            state,
            (step.id, step.title, step.result),
            value,
            (low, high),
            step.confidence if step.rule == "probability" else None,
            verdict,
            times=state.rounds.get(step.id, 0) + 1,
        )
    )
    error = value.value - number(state, step.centre)
    if step.move is not None:
        notice_wrong_way(turn, step.id, error, value.u)
    if verdict.answer == "inside":
        turn.change(done=turn.state.done | {step.id}, suspected=_cleared(turn.state, step.id))
        return
    if step.move is None:
        _look_again(turn, step, value, verdict)
        return
    text, instruction = correction(step.move, step.move.quantity, error)
    turn.record(Corrected(step.id, text, Correction(value.value, value.u), instruction))
    turn.change(last_moves={**turn.state.last_moves, step.id: LastMove(error, value.u)})
    once_more(turn, step.id, step.again, (Task(step.id, text, instruction),))


def decided(
    state: State,
    named: tuple[str, str, str],
    value: Measured,
    limits: tuple[float, float],
    level: float | None,
    verdict: Verdict,
    times: int,
) -> Decided:
    """What the record keeps of a decision. `named`: its step, its title and its result."""
    step_id, title, result = named
    return Decided(
        step_id=step_id,
        title=title,
        result=result,
        value=value.value,
        u=value.u,
        unit=_unit(state, result),
        low=limits[0],
        high=limits[1],
        level=level,
        answer=verdict.answer,
        probability_inside=verdict.probability_inside,
        grounds=grounds("plain" if level is None else "conformity"),
        readings_to_settle=_to_settle(value, limits, level, verdict),
        times=times,
    )


def _to_settle(
    value: Measured, limits: tuple[float, float], level: float | None, verdict: Verdict
) -> int | None:
    """How many readings, averaged, would settle what is too close to call; None: none would."""
    if verdict.answer != "too_close" or level is None:
        return None
    by_readings, by_files = random_and_fixed(value)
    return repeats_to_settle(value.value, by_readings, by_files, *limits, level)


def random_and_fixed(
    value: Measured, readings: frozenset[str] | None = None
) -> tuple[float, float]:
    """The doubt that reading again averages away, and the doubt that stays.

    `readings`: those that would be read again; None: every reading.
    """
    again: list[float] = []
    stays: list[float] = []
    for name, part in value.contributions:
        reading, is_reading, _ = name.partition(" #")
        averaged = bool(is_reading) and (readings is None or reading in readings)
        (again if averaged else stays).append(part)
    return math.hypot(0.0, *again), math.hypot(0.0, *stays)


def cannot_pass(
    turn: Turn, step_id: str, title: str, result: str, value: Measured, half_width: float
) -> None:
    """Stop: with this doubt no result at all could be called inside."""
    unit = _unit(turn.state, result)
    turn.record(
        CannotPass(
            step_id=step_id,
            title=title,
            result=result,
            u=value.u,
            unit=unit,
            half_width=half_width,
            budget=shares_of(value),
            grounds=grounds("best_possible"),
        )
    )
    halt(turn, step_id, advice.cannot_pass(title, 2 * value.u, half_width, unit))


def _look_again(turn: Turn, step: Decision, value: Measured, verdict: Verdict) -> None:
    """Without a move only reading again helps: the suspect alone, where one can be named."""
    state = turn.state
    again = step.again.model_copy(update={"say": _with_figures(state, step, value, verdict)})
    if step.suspects:
        found = suspecting.suspects_of(state, value, step.suspects)
        suspecting.ask_the_likeliest(turn, step.id, *found, again)
    elif step.misread is not None:
        suspecting.ask_misread_level(turn, step.id, step.misread, again)
    else:
        once_more(turn, step.id, again)


def _with_figures(state: State, step: Decision, value: Measured, verdict: Verdict) -> str:
    """The loop's sentence with the result's size and doubt, and what it would take to settle it."""
    unit = _unit(state, step.result)
    said = step.again.say.replace("{value}", advice.size(value.value, unit)).replace(
        "{doubt}", advice.size(2 * value.u, unit)
    )
    said = prompts.sentence(said)
    if verdict.answer != "too_close":
        return said
    low, high = limits(state, step)
    count = _to_settle(value, (low, high), step.confidence, verdict)
    return f"{advice.too_close_for(count)} {said}"


def _cleared(state: State, step_id: str) -> dict[str, frozenset[str]]:
    return {key: names for key, names in state.suspected.items() if key != step_id}


def _verdict(step: Decision, value: Measured, low: float, high: float) -> Verdict:
    if step.rule == "plain":
        inside = low <= value.value <= high
        return Verdict("inside" if inside else "outside", 1.0 if inside else 0.0)
    return decide(value.value, value.u, low, high, step.confidence)


def notice_wrong_way(turn: Turn, key: str, now: float, u: float, title: str = "") -> None:
    """Say so when what was to be put right under this key has grown instead."""
    last = turn.state.last_moves.get(key)
    if last is None:
        return
    turn.change(last_moves={k: move for k, move in turn.state.last_moves.items() if k != key})
    worse_by = abs(now) - abs(last.value)
    if last.value * now > 0 and worse_by > WRONG_WAY_IN_U * math.hypot(last.u, u):
        turn.record(MoveJudged(key, "wrong_way", screw_ids=(), probability=None))
        turn.announce(advice.went_the_wrong_way(title), "explain")


def correction(move: Move, quantity: StandQuantity | None, error: float) -> tuple[str, MoveStand]:
    """The move that takes this error away: in the person's terms, and as a value."""
    steps = max(1, round(abs(error) / move.resolution))
    amount = as_written(move.resolution) * steps
    spoken = move.direction_when_positive if error > 0 else move.direction_when_negative
    text = move.say.replace("{amount}", say_figure(amount, move.amount)).replace(
        "{direction}", spoken.replace("_", " ")
    )
    return text, MoveStand(quantity, way_of(spoken), amount, move.amount)


def _unit(state: State, name: str) -> str | None:
    step = next((s for s in state.plan.steps if s.id == name), None)
    return step.unit if isinstance(step, Reading) else unit_of(name)
