"""Is a result inside its limits: go on, put right and measure again, or stop and say why."""

from __future__ import annotations

import math
from dataclasses import replace

from companion.dialogue import prompts
from companion.dialogue.retry import of_job, retry
from companion.dialogue.state import LastMove, State, Task
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import measured_value, number, unit_of_number
from companion.facts.message import Message, in_a_row, text
from companion.facts.workings import Corrected, Correction
from companion.steps.decision.model import Decision
from companion.steps.shared import advice, fault_isolation
from companion.steps.shared.conformity import (
    cannot_pass,
    correction,
    decided,
    notice_wrong_way,
    readings_to_settle,
)
from companion.uncertainty.conformity import (
    Verdict,
    can_ever_pass,
    contradicts,
    decide,
    probability_inside,
)
from companion.uncertainty.measured import Measured


def limits(state: State, step: Decision) -> tuple[float, float]:
    """The lower and upper limit of the decision, in the unit of its result."""
    if step.low is not None and step.high is not None:
        return number(state, step.low), number(state, step.high)
    centre, within = number(state, step.centre), number(state, step.within or 0.0)
    if step.within_is_a_fraction:
        within *= abs(centre)
    return centre - within, centre + within


def decide_on(tx: Transaction, step: Decision) -> None:
    """Inside: done. Else: the correction in the person's terms, and the loop's steps again."""
    state = tx.state
    value = measured_value(state, step.result)
    low, high = limits(state, step)
    if step.rule == "probability" and not can_ever_pass(value.u, low, high, step.confidence):
        cannot_pass(tx, step.id, step.title, step.result, value, (high - low) / 2)
        return
    verdict = _verdict(step, value, low, high)
    tx.record(
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
        notice_wrong_way(tx, step.id, error, value.u)
    if verdict.answer == "inside":
        tx.change(
            done=tx.state.done | {step.id}, suspected=fault_isolation.cleared(tx.state, step.id)
        )
        return
    if step.move is None:
        _look_again(tx, step, value, verdict)
        return
    told, instruction, target = correction(step.move, step.move.quantity, error, tx.state, error)
    put_right = Correction(value.value, value.u)
    tx.record(Corrected(step.id, tx.words(told), put_right, instruction, target))
    tx.change(
        last_moves={**tx.state.last_moves, step.id: LastMove(error, value.u)},
        targets={target.reading_id: target.value} if target is not None else {},
    )
    retry(tx, step.id, of_job(step.again), (Task(step.id, told, instruction),))


def _look_again(tx: Transaction, step: Decision, value: Measured, verdict: Verdict) -> None:
    """Without a move only reading again helps: the suspect alone, where one can be named."""
    state = tx.state
    again = replace(
        of_job(step.again),
        say=_with_figures(state, step, step.again.say, value, verdict),
        wrong=_with_figures(state, step, step.wrong, value, verdict) if step.wrong else None,
    )
    if step.suspects:
        off = [_off(state, other) for other in _with_beside(state, step)]
        found = fault_isolation.suspects_of(state, off, step.suspects)
        fault_isolation.ask_the_likeliest(tx, step.id, *found, again)
    elif step.misread is not None:
        fault_isolation.ask_misread_level(tx, step.id, step.misread, again)
    else:
        retry(tx, step.id, again)


def _with_beside(state: State, step: Decision) -> tuple[Decision, ...]:
    """The decision and those whose results are weighed with it, each once."""
    named = (state.plan.step(other) for other in step.beside if other != step.id)
    return (step, *(other for other in named if isinstance(other, Decision)))


def _off(state: State, step: Decision) -> fault_isolation.Off:
    """How far a result is from the middle of its limits; beside others all within may be true."""
    value, (low, high) = measured_value(state, step.result), limits(state, step)
    if not step.beside:
        return fault_isolation.Off(value, 0.0)
    middle, half = (low + high) / 2.0, (high - low) / 2.0
    off = Measured(value.value - middle, value.contributions)
    return fault_isolation.Off(off, half / math.sqrt(3.0))


def _with_figures(
    state: State, step: Decision, sentence: str, value: Measured, verdict: Verdict
) -> Message:
    """A sentence with the result's size and doubt, and what it would take to settle it."""
    unit = unit_of_number(state.plan, step.result)
    figures = {"value": advice.size(value.value, unit), "doubt": advice.size(2 * value.u, unit)}
    said = prompts.sentence(text(sentence, figures))
    if verdict.answer != "too_close":
        return said
    low, high = limits(state, step)
    count = readings_to_settle(value, (low, high), step.confidence, verdict)
    return in_a_row(advice.too_close_for(count), said)


def _verdict(step: Decision, value: Measured, low: float, high: float) -> Verdict:
    if step.rule == "plain":
        inside = low <= value.value <= high
        return Verdict("inside" if inside else "outside", 1.0 if inside else 0.0)
    if step.rule == "consistent":
        return _consistent(value, low, high)
    if step.rule == "as_known":
        return _as_known(value, low, high)
    return decide(value.value, value.u, low, high, step.confidence)


def _as_known(value: Measured, low: float, high: float) -> Verdict:
    """Inside where what is known lies within U = 2 u of the value, and U within the limits.

    The ratio of the difference to U is the "E n number" of ISO 13528 (from memory): 1 or less.
    """
    off, half = abs(value.value - (low + high) / 2.0), (high - low) / 2.0
    as_known = off <= 2.0 * value.u <= half
    return Verdict(
        "inside" if as_known else "outside", probability_inside(value.value, value.u, low, high)
    )


def _consistent(value: Measured, low: float, high: float) -> Verdict:
    """Inside unless the value contradicts its limits."""
    probability = probability_inside(value.value, value.u, low, high)
    beyond = contradicts(value.value, value.u, low, high)
    return Verdict("outside" if beyond else "inside", probability)
