"""What is known of a sensor that follows on this car, and what waits for it."""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue.kind import kind_of
from companion.dialogue.progress import applies
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.facts.message import Message
from companion.facts.opening import NextSensor
from companion.steps.visit_end.model import VisitEnd

NEXT_SENSOR = "next_sensor"
"""Where a state keeps what was known of the visit's sensors as the job began."""
LAST, FOLLOWS = VisitEnd.CHOICES
_KNOWN = {"last": LAST, "follows": FOLLOWS}


def told_of(state: State) -> NextSensor | None:
    """What was known as the job began; None for a job that stands alone."""
    found = state.kept.get(NEXT_SENSOR)
    return found if isinstance(found, NextSensor) else None


def known(state: State) -> str | None:
    """The answer, where nobody has to be asked; None where somebody has."""
    told = told_of(state)
    return LAST if told is None else _KNOWN.get(told.known)


def has_own_code(state: State, step: VisitEnd) -> bool:
    """Whether a code of this sensor's own was stored before the work."""
    own = step.own_code
    return own is not None and state.answers.get(own.question) in own.answered


def settle(tx: Transaction, step: VisitEnd, answer: str) -> None:
    """From here on the steps that hang on it are there, or wait for the last sensor."""
    state = tx.state
    if answer == FOLLOWS and has_own_code(state, step):
        answer = VisitEnd.OWN_CODE
    tx.change(answers={**state.answers, step.id: answer})


def forget_if_otherwise_now(tx: Transaction, step: VisitEnd) -> None:
    """After a break other sensors of the car may be set, or not any more: it is settled anew.

    What somebody has answered stands; "go back" leads to it.
    """
    state = tx.state
    answer = state.answers.get(step.id)
    if answer is None or step.id in state.history:
        return
    if known(state) != (LAST if answer == LAST else FOLLOWS):
        tx.change(answers={name: a for name, a in state.answers.items() if name != step.id})


def left_to_the_end(state: State, step: VisitEnd) -> Message | None:
    """What waits for the car's last sensor, as it is said; None where nothing does."""
    titles = tuple(dict.fromkeys(_waiting(state, step)))
    return Message("left-to-last-sensor", {"left": titles}) if titles else None


def _waiting(state: State, step: VisitEnd) -> Iterator[str]:
    for other in state.plan.steps:
        title = kind_of(state.plan, other).title(other)
        when = other.when
        if not title or when is None or when.question != step.id or applies(state, other):
            continue
        if LAST in when.answered:
            yield title
