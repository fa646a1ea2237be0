"""`step(state, event) -> (state, effects)`: the whole conversation as one pure function."""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce

from companion.dialogue import answering, into_prompts
from companion.dialogue.effects import Effect
from companion.dialogue.events import Event
from companion.dialogue.state import Lexicon, State
from companion.dialogue.transaction import Transaction
from companion.dialogue.transitions import kind_of, then
from companion.job.plan import Plan


def begin(plan: Plan, lexicon: Lexicon) -> State:
    """The state before anything has happened; `Opened` is its first event."""
    return State(plan=plan, lexicon=lexicon)


def step(state: State, event: Event) -> tuple[State, tuple[Effect, ...]]:
    """What the event changes and what is to be done about it, in order.

    Total: any event in any state gives a state. A closed job changes no more.
    """
    doing = then(state.mode, kind_of(event, state))
    if doing is None:
        return state, ()
    tx = Transaction(state, yes=answering.confirm)
    into_prompts.not_said_out(tx, event)
    doing.handler(tx, event)
    return tx.state, tuple(tx.effects)


def replay(state: State, events: Iterable[Event]) -> State:
    """The state after these events; nothing is said or recorded again."""
    return reduce(lambda so_far, event: step(so_far, event)[0], events, state)
