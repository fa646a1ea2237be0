"""The end of a job: what it came to by its steps, and the sign-off."""

from __future__ import annotations

from dataclasses import replace

from companion.dialogue.asking import ask_step
from companion.dialogue.kind import Outcome, kind_of
from companion.dialogue.progress import applies
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import fill
from companion.facts.ending import Finished
from companion.facts.message import Told
from companion.steps.finish import prompts
from companion.steps.finish.model import Finish

NOT_AIMED = "not_aimed"


def ask_to_sign(tx: Transaction, step: Finish, before: Told) -> None:
    """Say the result and what it means, and ask for the sign-off."""
    if before:
        tx.announce(before)
    tx.announce(outcome_of(tx.state, step).say, "explain")
    ask_step(tx, step)


def sign_off(tx: Transaction, step: Finish) -> None:
    """Close the job with its result in the record."""
    finished = outcome_of(tx.state, step).finished
    if finished.axes:
        finished = replace(finished, step_id=step.id)
    tx.change(done=tx.state.done | {step.id})
    tx.record(finished)
    tx.close(finished.result)


def outcome_of(state: State, step: Finish) -> Outcome:
    """What the job came to: what the last of its steps says that says anything of it."""
    for other in reversed(state.plan.steps):
        if applies(state, other):
            found = kind_of(state.plan, other).outcome(state, other, step.ranges_m)
            if found is not None:
                return found
    result, say = NOT_AIMED, prompts.NOTHING_AIMED
    if step.otherwise is not None:
        result, say = step.otherwise.result, fill(state, step.otherwise.say)
    return Outcome(say, Finished(result, yaw=None, elevation=None, misses_m=()))
