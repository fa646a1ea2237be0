"""Where in the job we are, and what a change makes stale.

The place is derived: the first step that belongs to the job and is not done.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TypeVar

from companion.dialogue.kind import kind_of
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.facts.answers import TakenBack
from companion.facts.message import Told
from companion.job.job_file import Step
from companion.job.plan import names_of

Value = TypeVar("Value")


def applies(state: State, step: Step) -> bool:
    """Whether the step belongs to this job, by the answers given so far."""
    return step.when is None or state.answers.get(step.when.question) in step.when.answered


def is_done(state: State, step: Step) -> bool:
    return kind_of(state.plan, step).is_done(state, step)


def current_step(state: State) -> Step | None:
    """The first step that applies and is not done; None when the whole job is done.

    A reading that waits to be said back with others is passed over: it was answered. So is what is
    said in front of the open prompt: it is done with that answer.
    """
    waits = {waiting.step_id for waiting in state.waiting} | set(state.said_first)
    for step in state.plan.steps:
        if step.id not in waits and applies(state, step) and not is_done(state, step):
            return step
    return None


def step_at_hand(state: State) -> Step:
    """The same in a job that goes on: it has one, for its last step closes it."""
    return current_step(state) or state.plan.steps[-1]


def mark_stale(
    tx: Transaction, step_ids: Iterable[str], why: Told, *, by_technician: bool = False
) -> None:
    """Forget these steps and all that was derived from them; the record keeps both."""
    state = tx.state
    stale = state.plan.with_dependents(step_ids)
    # Said before what it rests on was taken back, and never confirmed: it is asked for anew.
    tx.change(one_by_one=_without(state.one_by_one, stale))
    results = {
        result
        for step in state.plan.steps
        if step.id in stale and step.id in state.done
        for result in names_of(state.plan.files.kinds, step)
    }
    forgotten = {
        step.id
        for step in state.plan.steps
        if step.id in stale and kind_of(state.plan, step).is_begun(state, step)
    }
    if not forgotten:
        return
    tx.record(TakenBack(tuple(sorted(forgotten)), tx.words(why), by_technician))
    tx.change(
        readings=_without(state.readings, stale),
        answers=_without(state.answers, stale),
        results=_without(state.results, results),
        done=frozenset(d for d in state.done if d.split("/")[0] not in stale),
        history=tuple(h for h in state.history if h.split("/")[0] not in stale),
    )


def _without(mapping: Mapping[str, Value], gone: Iterable[str]) -> dict[str, Value]:
    removed = set(gone)
    return {key: value for key, value in mapping.items() if key not in removed}
