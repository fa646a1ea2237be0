"""Where in the job we are, and what a change makes stale.

The place is derived: the first step that belongs to the job and is not done.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TypeVar

from companion.dialogue.state import State
from companion.dialogue.turn import Turn
from companion.facts.answers import TakenBack
from companion.procedure.job import (
    AnyStep,
    Checklist,
    Computation,
    Question,
    Reading,
)

Value = TypeVar("Value")


def applies(state: State, step: AnyStep) -> bool:
    """Whether the step belongs to this job, by the answers given so far."""
    return step.when is None or state.answers.get(step.when.question) in step.when.answered


def is_done(state: State, step: AnyStep) -> bool:
    match step:
        case Reading():
            return step.id in state.readings
        case Question():
            return step.id in state.answers
        case Checklist():
            return all(item_id(step, i) in state.done for i in range(len(step.items)))
        case _:
            return step.id in state.done


def current_step(state: State) -> AnyStep | None:
    """The first step that applies and is not done; None when the whole job is done."""
    for step in state.plan.steps:
        if applies(state, step) and not is_done(state, step):
            return step
    return None


def item_id(step: Checklist, index: int) -> str:
    """What the set of done things calls one item of a checklist."""
    return f"{step.id}/{index + 1}"


def mark_stale(turn: Turn, step_ids: Iterable[str], why: str) -> None:
    """Forget these steps and all that was derived from them; the record keeps both."""
    state = turn.state
    stale = state.plan.with_dependents(step_ids)
    results = {
        result
        for step in state.plan.steps
        if isinstance(step, Computation) and step.id in stale and step.id in state.done
        for result in step.outputs.values()
    }
    forgotten = {
        step.id for step in state.plan.steps if step.id in stale and _was_begun(state, step)
    }
    if not forgotten:
        return
    turn.record(TakenBack(tuple(sorted(forgotten)), why))
    turn.change(
        readings=_without(state.readings, stale),
        answers=_without(state.answers, stale),
        results=_without(state.results, results),
        done=frozenset(d for d in state.done if d.split("/")[0] not in stale),
        history=tuple(h for h in state.history if h not in stale),
    )


def _was_begun(state: State, step: AnyStep) -> bool:
    if isinstance(step, Checklist):
        return any(item_id(step, i) in state.done for i in range(len(step.items)))
    return is_done(state, step)


def _without(mapping: Mapping[str, Value], gone: Iterable[str]) -> dict[str, Value]:
    removed = set(gone)
    return {key: value for key, value in mapping.items() if key not in removed}
