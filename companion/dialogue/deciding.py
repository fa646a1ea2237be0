"""Steps that need no answer: computations, and decisions on their results with the loops."""

from __future__ import annotations

import math

from companion.dialogue import prompts
from companion.dialogue.asking import STOPPED
from companion.dialogue.progress import mark_stale
from companion.dialogue.state import LastMove, Mode, State, Task
from companion.dialogue.turn import Turn
from companion.dialogue.values import as_written, measured_value, number, unit_of
from companion.errors import MeasureError
from companion.measure.conformity import Verdict, can_ever_pass, decide
from companion.measure.doubt import Measured, budget
from companion.measure.formulas import FORMULAS, evaluate
from companion.procedure.job import Again, Computation, Decision, Move, Reading
from companion.words.speaking import say_number

MISFITS_AT_MOST = 3
# A correction counts as gone the wrong way when it made things worse by this many times its doubt.
WRONG_WAY_IN_U = 3.0


def halt(turn: Turn, step_id: str, why: str) -> None:
    """Stop the work and say why; only "carry on" or "end the job" lead on from here."""
    turn.record("stopped", why=why)
    turn.change(tasks=())
    turn.ask(step_id, f"{why} {prompts.STOPPED}", STOPPED, mode=Mode.STOPPED, ask=prompts.STOPPED)


def once_more(turn: Turn, step_id: str, again: Again, tasks: tuple[Task, ...] = ()) -> None:
    """Go through the loop's steps again, or stop and say why when that was tried often enough."""
    count = turn.state.rounds.get(step_id, 0) + 1
    if count > again.at_most:
        # A person who then says "carry on" has looked into it: the count starts anew.
        turn.change(rounds={**turn.state.rounds, step_id: 0})
        mark_stale(turn, again.steps, again.then_stop)
        halt(turn, step_id, again.then_stop)
        return
    turn.change(rounds={**turn.state.rounds, step_id: count})
    if not tasks and again.wait:
        tasks = (Task(step_id, again.say),)
    elif not tasks:
        turn.announce(again.say, "explain")
    mark_stale(turn, again.steps, again.say)
    turn.change(tasks=tasks)


def compute(turn: Turn, step: Computation) -> None:
    """Evaluate the formula; readings that cannot bear it are said to misfit and asked again."""
    state = turn.state
    inputs = {
        name: measured_value(state, source, _doubt_of(state, step, name), f"{step.id}.{name}")
        for name, source in step.inputs.items()
    }
    try:
        outputs = evaluate(step.formula, inputs)
    except MeasureError as error:
        readings = tuple(
            s for s in step.inputs.values() if isinstance(s, str) and s in state.readings
        )
        turn.record("misfit", step_id=step.id, why=str(error))
        again = Again(
            say="Those readings do not fit together. We read them again.",
            steps=readings or (step.id,),
            at_most=MISFITS_AT_MOST,
            then_stop="Those readings keep misfitting. Check what they are read from.",
        )
        once_more(turn, step.id, again)
        return
    named = {result: outputs[name] for name, result in step.outputs.items()}
    turn.change(results={**state.results, **named}, done=state.done | {step.id})
    formula = FORMULAS[step.formula]
    turn.record(
        "computed",
        step_id=step.id,
        formula=step.formula,
        text=formula.text,
        source=formula.source,
        inputs={
            name: {"value": item.value, "u": item.u, "source": str(step.inputs[name])}
            for name, item in inputs.items()
        },
        outputs={
            result: _result_body(outputs[name], formula.outputs[name])
            for name, result in step.outputs.items()
        },
    )


def _doubt_of(state: State, step: Computation, name: str) -> float:
    doubt = step.input_doubts.get(name)
    return 0.0 if doubt is None else number(state, doubt)


def _result_body(result: Measured, unit: str) -> dict[str, object]:
    shares = [[share.name, round(share.percent, 3)] for share in budget(result)]
    return {"value": result.value, "u": result.u, "unit": unit, "budget": shares}


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
        halt(turn, step.id, prompts.CANNOT_BE_INSIDE)
        return
    verdict = _verdict(step, value, low, high)
    turn.record(
        "decided",
        step_id=step.id,
        title=step.title,
        result=step.result,
        value=value.value,
        u=value.u,
        unit=_unit(state, step.result),
        low=low,
        high=high,
        level=step.confidence if step.rule == "probability" else None,
        answer=verdict.answer,
        probability_inside=verdict.probability_inside,
        times=state.rounds.get(step.id, 0) + 1,
    )
    _notice_wrong_way(turn, step, value)
    if verdict.answer == "inside":
        turn.change(done=turn.state.done | {step.id})
        return
    if step.move is None:
        once_more(turn, step.id, step.again)
        return
    text = _correction(step.move, value.value - number(state, step.centre))
    turn.record("corrected", step_id=step.id, text=text, move={"from": value.value, "u": value.u})
    turn.change(last_moves={**turn.state.last_moves, step.id: LastMove(value.value, value.u)})
    once_more(turn, step.id, step.again, (Task(step.id, text),))


def _verdict(step: Decision, value: Measured, low: float, high: float) -> Verdict:
    if step.rule == "plain":
        inside = low <= value.value <= high
        return Verdict("inside" if inside else "outside", 1.0 if inside else 0.0)
    return decide(value.value, value.u, low, high, step.confidence)


def _notice_wrong_way(turn: Turn, step: Decision, value: Measured) -> None:
    last = turn.state.last_moves.get(step.id)
    if last is None or step.move is None:
        return
    remaining = dict(turn.state.last_moves)
    del remaining[step.id]
    turn.change(last_moves=remaining)
    centre = number(turn.state, step.centre)
    before, now = last.value - centre, value.value - centre
    worse_by = abs(now) - abs(before)
    if before * now > 0 and worse_by > WRONG_WAY_IN_U * math.hypot(last.u, value.u):
        turn.record(
            "move_judged", step_id=step.id, kind="wrong_way", screw_ids=[], probability=None
        )
        turn.announce(prompts.WENT_THE_WRONG_WAY, "explain")


def _correction(move: Move, error: float) -> str:
    steps = max(1, round(abs(error) / move.resolution))
    amount = as_written(move.resolution) * steps
    direction = move.direction_when_positive if error > 0 else move.direction_when_negative
    return move.say.replace("{amount}", say_number(amount, move.amount)).replace(
        "{direction}", direction.replace("_", " ")
    )


def _unit(state: State, name: str) -> str | None:
    step = next((s for s in state.plan.steps if s.id == name), None)
    return step.unit if isinstance(step, Reading) else unit_of(name)
