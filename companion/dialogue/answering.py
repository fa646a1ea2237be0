"""What an answer does: taken, said back, confirmed, replaced, done. The step's kind says how."""

from __future__ import annotations

from companion.dialogue import in_one_breath, prompts, together
from companion.dialogue.advance import advance, settle_what_was_said_first
from companion.dialogue.asking import ask_again, ask_step, count_miss, is_typed, repeat
from companion.dialogue.events import Event
from companion.dialogue.kind import kind_of
from companion.dialogue.progress import step_at_hand
from companion.dialogue.state import Mode
from companion.dialogue.transaction import Transaction
from companion.facts.answers import Done
from companion.facts.meanings import (
    Choice,
    Confirmed,
    Mended,
    No,
    Number,
    Pair,
    Unconfirmed,
    Yes,
)
from companion.facts.talking import TYPED, Heard, Refused


def take_answer(tx: Transaction, event: Heard[Number | Choice]) -> None:
    """A number or a choice was heard: the step's kind says it back, or doubts it."""
    _take(tx, event.meaning)


def _take(tx: Transaction, meaning: Number | Choice) -> None:
    step = step_at_hand(tx.state)
    kind_of(tx.state.plan, step).take(tx, step, meaning)


def take_pair(tx: Transaction, event: Heard[Pair]) -> None:
    """Two readings in one answer."""
    _take_pair(tx, event.meaning)


def _take_pair(tx: Transaction, pair: Pair) -> None:
    step = step_at_hand(tx.state)
    following = together.partner(tx.state, step)
    if following is None:
        repeat(tx, prompts.NOT_NOW, again=True)
        return
    kind_of(tx.state.plan, step).take_pair(tx, step, following, pair)


def accept(tx: Transaction, event: Heard[Yes]) -> None:
    """Yes to what was said back; what was asked behind it is not said once more, if it was said."""
    if in_one_breath.was_asked(tx) and not event.how.cut_short:
        tx.voice = "screen"
    confirm(tx)


def take_proposed(tx: Transaction, event: Heard[Yes]) -> None:
    """Yes to an answer that the files gave: it counts, if it was heard to its end."""
    prompt = tx.state.prompt
    told = prompt.told.said_back if prompt is not None else None
    if told is None or not told.proposed or told.choice is None:
        repeat(tx, prompts.NOT_NOW, again=True)
    elif event.how.cut_short:
        repeat(tx, again=True)
    else:
        tx.change(pending=Choice(told.choice))
        confirm(tx)


def ask_in_full(tx: Transaction, event: Event) -> None:
    """No to it: the question itself, which was not asked yet."""
    tx.change(no_matches=0, silences=0)
    advance(tx)


def accept_and_take(tx: Transaction, event: Heard[Confirmed]) -> None:
    """Yes, and the answer to what was asked behind the read-back."""
    then = event.meaning.then
    if not in_one_breath.was_asked(tx, then):
        confirm(tx)
        return
    tx.voice = "none"
    confirm(tx)
    tx.voice = "spoken"
    if isinstance(then, Pair):
        _take_pair(tx, then)
    else:
        _take(tx, then)


def ask_for_yes(tx: Transaction, event: Heard[Unconfirmed]) -> None:
    """What was asked behind the read-back was answered, and nobody said yes to that: yes or no?"""
    repeat(tx, again=True)


def confirm(tx: Transaction) -> None:
    """What was said back counts from here on, and the walk goes on."""
    step = step_at_hand(tx.state)
    if tx.state.waiting or tx.state.pending is not None:
        settle_what_was_said_first(tx)
    if tx.state.waiting:
        tx.change(no_matches=0, silences=0, tasks_done=())
        together.accept(tx)
        advance(tx)
        return
    pending = tx.state.pending
    attempts = tx.state.no_matches + 1
    tx.change(pending=None, doubted=None, no_matches=0, silences=0, tasks_done=())
    if pending is None:
        advance(tx)
        return
    kind_of(tx.state.plan, step).accept(tx, step, pending, attempts)


def reject(tx: Transaction, event: Heard[No]) -> None:
    """No to what was said back: ask again, a number digit by digit; several one by one.

    Who types was not misheard: he is asked again, and nothing has to be said otherwise.
    """
    if tx.state.waiting:
        tx.change(no_matches=0, silences=0)
        together.one_by_one(tx)
        advance(tx)
        return
    if event.how.ears == TYPED:
        tx.change(no_matches=0)
    else:
        count_miss(tx, typed=False, denied=True)
    tx.change(pending=None, silences=0, mode=Mode.ASKING)
    ask_step(tx, step_at_hand(tx.state), prompts.NOT_TAKEN, again=True)


def mend(tx: Transaction, event: Heard[Mended]) -> None:
    """One of several that were said back together is another."""
    together.mend(tx, event.meaning.place, event.meaning.number)
    together.say_back(tx)


def take_done(tx: Transaction, event: Event) -> None:
    """Done: with the task at hand, or with the step."""
    tx.change(no_matches=0, silences=0)
    state = tx.state
    if state.tasks:
        tx.record(Done(state.tasks[0].step_id, tx.words(state.tasks[0].text)))
        tx.change(tasks=state.tasks[1:], tasks_done=(*state.tasks_done, state.tasks[0]))
        advance(tx)
        return
    tx.change(tasks_done=())
    step = step_at_hand(state)
    settle_what_was_said_first(tx)
    kind_of(state.plan, step).done(tx, step)


def no_match(tx: Transaction, event: Refused) -> None:
    """Something was heard that does not count: ask again, easier each time.

    Without its direction a number was heard well enough: nothing has to be said more clearly.
    """
    in_one_breath.count_miss(tx)
    if not event.missing:
        count_miss(tx, typed=is_typed(event))
    tx.change(silences=0)
    ask_again(tx, event)
