"""A number is doubted when it is unlikely, else said back; confirmed, it counts."""

from __future__ import annotations

from decimal import Decimal

from companion.dialogue import prompts, together
from companion.dialogue.advance import advance
from companion.dialogue.asking import ask_step, say_back
from companion.dialogue.retry import Retry, retry
from companion.dialogue.state import Mode
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import amount_of, as_written, number
from companion.facts.answers import Accepted, Implausible, NotAllowed
from companion.facts.meanings import Number, Pair
from companion.facts.message import Amount, Message, in_a_row
from companion.steps.reading.model import Reading
from companion.steps.reading.values import as_taken, is_plausible, signed

TARGET_IN_STEPS, TARGET_OF_MOVE = 10, 0.25
"""So far from what it should read after a move a reading is doubted: in steps of its scale, and as
a part of the way that it had to go, for hands move by some per cent more or less than asked."""

READ_ALIKE_IN_STEPS = 2


def take_number(tx: Transaction, step: Reading, meaning: Number) -> None:
    """A number was heard: doubt it when it is unlikely, else say it back."""
    doubt = _why_unlikely(tx, step, meaning)
    if doubt is not None and not _read_alike(step, tx.state.doubted, meaning):
        _doubt(tx, step, meaning, doubt)
        return
    if together.begins_or_goes_on(tx.state, step) and tx.state.mode is Mode.ASKING:
        together.wait(tx, step, meaning)
        advance(tx)
        return
    say_back(tx, step, meaning)


def take_pair(tx: Transaction, step: Reading, following: Reading, pair: Pair) -> None:
    """Two numbers in one answer: both wait to be said back; an unlikely one is asked for alone."""
    if together.set_of(tx.state, step) is None:
        _take_each(tx, step, following, pair)
        return
    for each, meaning in ((step, pair.first), (following, pair.second)):
        doubt = _why_unlikely(tx, each, meaning)
        if doubt is not None:
            _doubt(tx, each, meaning, doubt)
            return
        together.wait(tx, each, meaning)
        tx.change(asked_last=each.id)
    advance(tx)


def _take_each(tx: Transaction, step: Reading, following: Reading, pair: Pair) -> None:
    """Each is said back by itself; where the second is unlikely, it is asked for in its turn."""
    doubt = _why_unlikely(tx, step, pair.first)
    if doubt is not None:
        _doubt(tx, step, pair.first, doubt)
        return
    numbers = {step.id: pair.first}
    if _why_unlikely(tx, following, pair.second) is None:
        numbers[following.id] = pair.second
    together.each_by_itself(tx, numbers)
    tx.change(asked_last=following.id)
    advance(tx)


def _doubt(tx: Transaction, step: Reading, meaning: Number, doubt: Message) -> None:
    tx.record(Implausible(step.id, tx.state.lexicon.read_back(meaning), tx.words(doubt)))
    tx.change(doubted=meaning)
    # Asked for a moment ago: what is wanted is known. After a miss it counts as asked again.
    missed = tx.state.no_matches > 0
    ask_step(tx, step, doubt, again=missed, short=True, made_easier=False)


def _read_alike(step: Reading, doubted: Number | None, meaning: Number) -> bool:
    """Whether it is what was doubted, read once more: nobody reads twice to the last step."""
    if doubted is None:
        return False
    apart = abs(signed(step, meaning) - signed(step, doubted))
    return apart <= Decimal(str(step.resolution)) * READ_ALIKE_IN_STEPS


def accept_number(tx: Transaction, step: Reading, meaning: Number, attempts: int) -> None:
    """It was confirmed: it counts, unless it is true and stops the work."""
    if count_number(tx, step, meaning, attempts):
        advance(tx)
    else:
        _put_right(tx, step, meaning)


def count_number(tx: Transaction, step: Reading, meaning: Number, attempts: int) -> bool:
    """It counts from here on; False where it is true and stops the work."""
    state = tx.state
    value = signed(step, meaning)
    take = state.takes.get(step.id, 0) + 1
    taken = as_taken(step, value, amount_of(meaning), take)
    tx.record(
        Accepted(
            reading_id=step.id,
            title=step.title,
            value=format(value, "f"),
            unit=step.unit,
            direction=meaning.direction,
            spoken=state.lexicon.read_back(meaning),
            u=taken.u,
            take=take,
            attempts=attempts,
        )
    )
    tx.change(takes={**state.takes, step.id: take})
    if step.allowed is not None:
        low, high = number(state, step.allowed.low), number(state, step.allowed.high)
        if not low <= float(value) <= high:
            return False
    tx.change(
        readings={**state.readings, step.id: taken},
        last_values={**state.last_values, step.id: taken},
        history=(*state.history, step.id),
        targets={name: target for name, target in tx.state.targets.items() if name != step.id},
    )
    return True


def _put_right(tx: Transaction, step: Reading, meaning: Number) -> None:
    """A true reading that stops the work: ask for a new one after it was put right."""
    allowed = step.allowed
    assert allowed is not None  # noqa: S101  -- nothing else makes a reading stop the work
    low, high = number(tx.state, allowed.low), number(tx.state, allowed.high)
    wanted = prompts.not_allowed(
        amount_of(meaning), _bare(_bound(step, low)), _bare(_bound(step, high))
    )
    told = in_a_row(wanted, allowed.otherwise)
    tx.record(NotAllowed(step.id, tx.words(told)))
    again = Retry(
        say=told,
        steps=(step.id,),
        at_most=allowed.at_most,
        then_stop=told,
    )
    retry(tx, step.id, again)
    if tx.state.mode is not Mode.STOPPED:
        advance(tx)


def _why_unlikely(tx: Transaction, step: Reading, meaning: Number) -> Message | None:
    value = signed(step, meaning)
    heard = amount_of(meaning)
    if not is_plausible(step, meaning):
        low, high = step.plausible
        least = _bound(step, low)
        alike = not step.number.directions
        return prompts.implausible(
            _bare(heard), _bare(least) if alike else least, _bound(step, high)
        )
    last = tx.state.last_values.get(step.id)
    target = tx.state.targets.get(step.id)
    if target is not None:
        moved = abs(float(last.value) - target) if last is not None else 0.0
        allowed = TARGET_IN_STEPS * step.resolution + TARGET_OF_MOVE * moved
        if abs(float(value) - target) > allowed:
            return prompts.far_from_target(_bare(heard), _bound(step, target))
    if step.far_from_last is not None and last is not None:
        change = abs(value - last.value)
        if change > Decimal(str(step.far_from_last)):
            return prompts.far_from_last(_bare(heard), last.amount)
    return None


def _bare(amount: Amount) -> Amount:
    """Without its unit, which was said just before."""
    return Amount(amount.value, None, amount.direction)


def _bound(step: Reading, bound: float) -> Amount:
    directions = step.number.directions
    direction = None
    if directions and bound != 0:
        direction = directions[0] if bound > 0 else directions[1]
    return Amount(as_written(abs(bound)), step.unit, direction)
