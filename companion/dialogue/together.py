"""Readings of one set, taken one after the other and said back together: three at most.

People keep short messages better than long ones, so a set is cut into parts of two or three. What
waits here is not taken: only yes to the read-back makes it count. "No" has each of them said back
by itself; "the third is four one nine" mends that one, and all are said back once more. Which
readings may be read back so the job file says (`read_back_together`): sets in which the arithmetic
notices a wrong member.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from companion.dialogue import brevity, in_one_breath, prompts
from companion.dialogue.in_one_breath import ReadBack
from companion.dialogue.kind import confirmation_of, kind_of
from companion.dialogue.progress import applies, current_step
from companion.dialogue.state import State, Waiting
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import amount_of
from companion.facts.meanings import Number
from companion.facts.message import Amount, Message
from companion.facts.prompting import Prompted, SaidBack
from companion.job.job_file import Step

MOST_TOGETHER = 3
IN_ONE_ANSWER = 2
READ_BACK = "read-back-together"


def set_of(state: State, step: Step) -> str | None:
    """The set that the step's reading is said back with; None where it stands alone."""
    return kind_of(state.plan, step).said_back_with(step)


def begins_or_goes_on(state: State, step: Step) -> bool:
    """Whether an answer to the step waits for others of its set instead of being said back."""
    return set_of(state, step) is not None and _size(state, step) > 1


def wait(tx: Transaction, step: Step, number: Number) -> None:
    """The answer waits for the others of its part."""
    waiting = Waiting(step.id, number, tx.state.no_matches + 1)
    tx.change(waiting=(*tx.state.waiting, waiting), no_matches=0, silences=0, doubted=None)


def partner(state: State, step: Step) -> Step | None:
    """The reading that may be said in one answer with the step's; None where it is asked alone.

    Those of a set are said back together, others one after the other.

    After a miss or a doubt each is asked by itself.
    """
    name = set_of(state, step)
    if state.no_matches or state.doubted is not None:
        return None
    following = state.plan.behind(step)
    if following is None or not kind_of(state.plan, step).asked_with_next(step):
        return None
    answered = {waiting.step_id for waiting in state.waiting} | set(state.one_by_one)
    if answered & {step.id, following.id} or kind_of(state.plan, following).is_done(
        state, following
    ):
        return None
    fits = name is None or len(state.waiting) + IN_ONE_ANSWER <= _size(state, step)
    same = set_of(state, following) == name and applies(state, following)
    return following if fits and same else None


def is_whole(state: State) -> bool:
    """Whether all that is said back together has been answered."""
    if not state.waiting:
        return False
    first = state.plan.step(state.waiting[0].step_id)
    following = current_step(state)
    return (
        len(state.waiting) >= _size(state, first)
        or following is None
        or set_of(state, following) != set_of(state, first)
    )


def _size(state: State, step: Step) -> int:
    """How many are said back together: the rest of the set in parts as even as can be."""
    name = set_of(state, step)
    waits = {each.step_id for each in state.waiting}
    left = 0
    begun = False
    for other in state.plan.steps:
        kind = kind_of(state.plan, other)
        is_open = other.id in waits or not kind.is_done(state, other)
        if kind.said_back_with(other) == name and is_open and other.id not in state.one_by_one:
            begun, left = True, left + 1
        elif begun and kind.asks:
            break
    parts = -(-left // MOST_TOGETHER)
    return -(-left // parts) if parts else 0


def say_back(tx: Transaction) -> None:
    """All that waits, in one sentence; only yes makes it count."""
    state = tx.state
    waiting = state.waiting
    step = state.plan.step(waiting[-1].step_id)
    expectation = replace(confirmation_of(state.plan, step), places=len(waiting))
    # Their unit the prompts have told, and it is the same of all.
    numbers = (each.number for each in waiting)
    amounts = tuple(Amount(number.value, None, number.direction) for number in numbers)
    short = Message("asked-back-together", {"amounts": amounts})
    asks = Message("said-back-together", {"amounts": amounts})
    wording = brevity.Wording(asks, prompts.YES_OR_WHICH, short, READ_BACK, brevity.FIRST_FEW)
    spoken = brevity.said(tx, wording)
    together = tuple(
        SaidBack(
            tx.words(Message("amount", {"amount": amount_of(each.number)})),
            format(each.number.value, "f"),
            each.number.unit or "",
            each.number.direction,
            step_id=each.step_id,
        )
        for each in waiting
    )
    unit = waiting[-1].number.unit
    tx.change(pending=None)
    if unit is not None:
        tx.count(brevity.unit_of(unit), once=True)
    reply, told = prompts.YES_OR_WHICH, Prompted(together=together)
    in_one_breath.say_back(tx, ReadBack(step.id, asks, reply, expectation, short, told, spoken))


def each_by_itself(tx: Transaction, numbers: Mapping[str, Number]) -> None:
    """Several that were said in one answer are said back one after the other."""
    tx.change(one_by_one={**tx.state.one_by_one, **numbers}, no_matches=0, silences=0, doubted=None)


def accept(tx: Transaction) -> None:
    """Yes to all of them: each counts from here on."""
    waiting = tx.state.waiting
    tx.change(waiting=())
    for each in waiting:
        step = tx.state.plan.step(each.step_id)
        kind_of(tx.state.plan, step).count(tx, step, each.number, each.attempts)


def one_by_one(tx: Transaction) -> None:
    """No: each of them is said back by itself."""
    singly = {each.step_id: each.number for each in tx.state.waiting}
    tx.change(waiting=())
    each_by_itself(tx, singly)


def mend(tx: Transaction, place: int, number: Number) -> None:
    """This one is another; all of them are said back once more."""
    waiting = list(tx.state.waiting)
    waiting[place - 1] = replace(waiting[place - 1], number=number)
    tx.change(waiting=tuple(waiting), no_matches=0, silences=0)


def forget(tx: Transaction) -> None:
    """What waits was never taken: after a break it is asked for again."""
    tx.change(waiting=(), one_by_one={})
