"""Is an answer one of those that the open prompt waits for?

The grammar in front of the dialogue lets no other answer through; here the dialogue keeps to it by
itself, so that no event can make it take what it did not ask for.
"""

from __future__ import annotations

from decimal import Decimal
from typing import assert_never

from companion.facts.meanings import (
    Choice,
    Command,
    Confirmed,
    Done,
    Meaning,
    Mended,
    No,
    Number,
    Pair,
    Unconfirmed,
    Word,
    Yes,
)
from companion.language.expectation import Expectation, NumberForm

QUARTERS_OF_A_TURN = 4


def is_expected(expectation: Expectation, meaning: Meaning) -> bool:
    """Whether this prompt takes an answer of this meaning."""
    match meaning:
        case Number():
            alone = expectation.number is not None and not expectation.places
            return alone and expectation.number is not None and _fits(expectation.number, meaning)
        case Pair(first, second):
            form = expectation.number if expectation.pair else None
            return form is not None and _fits(form, first) and _fits(form, second)
        case Mended(place, number):
            form = expectation.number
            return form is not None and 1 <= place <= expectation.places and _fits(form, number)
        case Choice(choice_id):
            return choice_id in expectation.choices
        case Done():
            return expectation.done
        case Yes() | No():
            return expectation.yes_no
        case Confirmed(then) | Unconfirmed(then):
            return expectation.then is not None and is_expected(expectation.then, then)
        case Command(name):
            return name in expectation.commands
        case Word(text):
            return text in expectation.words
        case _:
            assert_never(meaning)


def _fits(form: NumberForm, number: Number) -> bool:
    way_is_said = number.direction in form.directions
    way_is_needless = number.direction is None and (not form.directions or number.value == 0)
    return (
        number.value < 10**form.max_whole_digits
        and _has_the_decimals(form, number.value)
        and (way_is_said or way_is_needless)
        and (number.unit in form.units if form.units else number.unit is None)
    )


def _has_the_decimals(form: NumberForm, value: Decimal) -> bool:
    if form.style == "quarters":
        return (value * QUARTERS_OF_A_TURN) % 1 == 0
    exponent = value.as_tuple().exponent
    return isinstance(exponent, int) and 0 <= -exponent <= form.decimals
