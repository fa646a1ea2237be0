"""The kind `reading`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal

from companion.dialogue import together
from companion.dialogue.advance import advance
from companion.dialogue.asking import ask_step, say_back
from companion.dialogue.state import State
from companion.dialogue.transaction import ALWAYS, Transaction
from companion.dialogue.values import fill
from companion.facts.meanings import Choice, Number, Pair
from companion.facts.message import Amount, Told
from companion.job.job_file import Step
from companion.job.kind import MOUNT, Context, Fault, Readable
from companion.job.plan import named
from companion.language.expectation import Expectation
from companion.steps.kind import Kind
from companion.steps.reading.model import MOST_DIGITS_IN_A_PAIR, Reading
from companion.steps.reading.run import (
    accept_number,
    count_number,
    take_number,
    take_pair,
)
from companion.steps.reading.values import (
    as_taken,
    example,
    is_plausible,
    number_form,
    smallest_step,
    typical,
)
from companion.steps.shared.checks import check_limits, check_screw


class ReadingKind(Kind[Reading]):
    """One number that the technician reads off and says."""

    model = Reading
    takes_readings = True
    asks = True

    def numbers(self, step: Reading) -> Mapping[str, str | None]:
        return {step.id: step.unit}

    def uses(self, step: Reading) -> Iterator[str]:
        if step.allowed is not None:
            yield from named(step.allowed.low, step.allowed.high)

    def needs(self, step: Reading) -> Iterator[str]:
        if step.each_screw or step.unit == "turns":
            yield MOUNT

    def texts(self, step: Reading) -> tuple[str, ...]:
        texts = (
            *(step.ask, step.reply, step.ask_short, step.ask_next),
            *(step.ask_pair, step.ask_pair_short, step.ask_pair_next),
        )
        return tuple(text for text in texts if text is not None)

    def asks_for(self, step: Reading) -> tuple[str, ...]:
        return (step.ask,) if step.ask_pair is None else (step.ask, step.ask_pair)

    def short_texts(self, step: Reading) -> tuple[str, ...]:
        texts = (step.ask_short, step.ask_next, step.ask_pair_short, step.ask_pair_next)
        return tuple(text for text in texts if text is not None)

    def forms(self, step: Reading, *, both: bool) -> tuple[str, ...]:
        pair = (step.ask_pair, step.ask_pair_short, step.ask_pair_next)
        alone = (step.ask, step.ask_short, step.ask_next)
        return tuple(text for text in (pair if both else alone) if text is not None)

    def readable(self, step: Reading) -> Readable:
        return Readable(step.unit, step.number.directions, smallest_step(step), typical(step))

    def check(self, step: Reading, context: Context) -> Iterator[Fault]:
        units, directions = context.vocabulary.units, context.vocabulary.directions
        if step.unit not in units:
            yield Fault(step.id, f"unit '{step.unit}'", ", ".join(sorted(units)))
        for direction in step.number.directions:
            if direction not in directions:
                yield Fault(step.id, f"direction '{direction}'", ", ".join(sorted(directions)))
        alike = _said_back_with(step, context)
        if alike is not None and any(number_form(o) != number_form(step) for o in alike):
            yield Fault(step.id, "read_back_together of several kinds", "numbers said alike")
        if alike is not None and len(alike) < 2:
            yield Fault(step.id, "read_back_together alone", "two readings of the set or more")
        if step.ask_pair is not None:
            yield from _check_pair(step, context)
        if step.allowed is not None:
            yield from check_limits(context, step.id, step.allowed.low, step.allowed.high)
        if step.short_after is not None:
            if step.ask_short is None:
                yield Fault(step.id, "short_after without ask_short", "a short form to be said")
            if step.short_after not in {other.id for other in context.steps}:
                yield Fault(step.id, f"short_after '{step.short_after}'", "a reading of the job")
        for name in ("ask_next", "ask_pair_next"):
            if getattr(step, name) is not None and step.short_after is None:
                yield Fault(step.id, f"{name} without short_after", "the reading that it follows")
        if step.ask_pair_next is not None and step.ask_pair is None:
            yield Fault(step.id, "ask_pair_next without ask_pair", "both asked for in full")
        text = f"{step.title} {step.ask}"
        yield from check_screw(context, step, text, reads_turns=step.unit == "turns")

    def reach(self, tx: Transaction, step: Reading, before: Told) -> None:
        number = tx.state.one_by_one.get(step.id)
        if number is None:
            ask_step(tx, step, before)
            return
        left = {name: n for name, n in tx.state.one_by_one.items() if name != step.id}
        tx.change(one_by_one=left)
        say_back(tx, step, number)

    def said_back_with(self, step: Reading) -> str | None:
        return step.read_back_together

    def answered_early(self, step: Reading) -> bool:
        return step.answer_early

    def asked_behind_read_back(self, step: Reading) -> bool:
        return step.behind_read_back

    def asked_with_next(self, step: Reading) -> bool:
        return step.ask_pair is not None

    def take_pair(self, tx: Transaction, step: Reading, following: Step, meaning: Pair) -> None:
        assert isinstance(following, Reading)  # noqa: S101  -- the job's check
        take_pair(tx, step, following, meaning)

    def count(self, tx: Transaction, step: Reading, meaning: Number, attempts: int) -> None:
        count_number(tx, step, meaning, attempts)

    def is_done(self, state: State, step: Reading) -> bool:
        # Done without being taken: what it is for was settled without it.
        return step.id in state.readings or step.id in state.done

    def is_begun(self, state: State, step: Reading) -> bool:
        return step.id in state.readings

    def title(self, step: Reading) -> str:
        return step.title

    def prompt(self, state: State, step: Reading) -> Told:
        both = step.ask_pair if together.partner(state, step) is not None else None
        return fill(state, both or step.ask)

    def reply(self, state: State, step: Reading) -> Told:
        return fill(state, step.reply) if step.reply is not None else ""

    def short(self, state: State, step: Reading) -> Told:
        both = together.partner(state, step) is not None
        short = step.ask_pair_short if both else step.ask_short
        return fill(state, short) if short is not None else ""

    def short_next(self, state: State, step: Reading) -> Told:
        both = together.partner(state, step) is not None
        following = step.ask_pair_next if both else step.ask_next
        return fill(state, following) if following is not None else ""

    def short_after(self, step: Reading) -> str | None:
        return step.short_after

    def names_sides(self, step: Reading) -> bool:
        return step.sides

    def expectation(self, step: Reading, *, digits_only: bool = False) -> Expectation:
        return Expectation(number=number_form(step, digits_only=digits_only), commands=ALWAYS)

    def confirmation(self, step: Reading, *, digits_only: bool = False) -> Expectation:
        form = number_form(step, digits_only=digits_only)
        return Expectation(yes_no=True, number=form, commands=ALWAYS)

    def take(self, tx: Transaction, step: Reading, meaning: Number | Choice) -> None:
        if isinstance(meaning, Number):
            take_number(tx, step, meaning)
        else:
            advance(tx)

    def accept(
        self, tx: Transaction, step: Reading, meaning: Number | Choice, attempts: int
    ) -> None:
        if isinstance(meaning, Number):
            accept_number(tx, step, meaning, attempts)
        else:
            advance(tx)

    def example(self, step: Reading) -> Number:
        return example(step)

    def is_likely(self, step: Reading, meaning: Number | Choice) -> bool:
        return not isinstance(meaning, Number) or is_plausible(step, meaning)

    def supposed(self, state: State, step: Reading) -> State:
        value = Decimal(str(typical(step)))
        taken = as_taken(step, value, Amount(abs(value), step.unit), 1)
        return replace(state, readings={**state.readings, step.id: taken})


def _said_back_with(step: Reading, context: Context) -> list[Reading] | None:
    """The readings of its set; None where it is said back by itself."""
    if step.read_back_together is None:
        return None
    return [
        other
        for other in context.steps
        if isinstance(other, Reading) and other.read_back_together == step.read_back_together
    ]


def _check_pair(step: Reading, context: Context) -> Iterator[Fault]:
    place = next(at for at, other in enumerate(context.steps) if other.id == step.id)
    following = context.steps[place + 1] if place + 1 < len(context.steps) else None
    alike = (
        isinstance(following, Reading)
        and number_form(following) == number_form(step)
        and following.read_back_together == step.read_back_together
        and following.when == step.when
    )
    if not alike:
        yield Fault(
            step.id,
            "ask_pair",
            "a reading said alike right behind it, of the same set or both of none",
        )
    number = step.number
    if number.style == "quarters" or number.whole_digits > MOST_DIGITS_IN_A_PAIR:
        wanted = f"numbers of {MOST_DIGITS_IN_A_PAIR} digits before the point at most"
        yield Fault(step.id, "ask_pair", wanted)


KIND = ReadingKind()
