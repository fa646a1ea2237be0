"""How a technician words his answers: as people do, not always in the same way."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from random import Random

from companion.facts.prompting import SaidBack
from companion.rehearsal.scales import Scale
from companion.words.speaking import say_digits, say_number, say_turns
from companion.words.vocabulary import UNITS

DONE_WORDS = ("done", "done", "all done", "finished")
YES_WORDS = ("yes", "yes", "correct", "yes correct")
NO_WORDS = ("no", "wrong")
OUT_OF_GRAMMAR = (
    "hang on where is my torch",
    "has anybody seen the small ratchet",
    "that radio is far too loud",
    "put the kettle on would you",
)


def said_choice(forms: Sequence[str], random: Random, *, varied: bool) -> str:
    """One of the ways to say an answer; the first is how it is said back."""
    return random.choice(forms) if varied else forms[0]


def said_number(
    value: Decimal, scale: Scale, random: Random, *, varied: bool, digit_by_digit: bool = False
) -> str:
    """The reading in words: its sign as a direction, its unit said or left out."""
    size = abs(value)
    amount = _amount(size, scale, digit_by_digit or (varied and random.random() < 0.5))
    if scale.unit != "turns" and (not varied or random.random() < 0.5):
        one = format(size, "f") == "1"
        amount = f"{amount} {UNITS[scale.unit].forms['one' if one else 'other']}"
    if scale.directions is None or value == 0:
        return amount
    direction = scale.directions[0] if value > 0 else scale.directions[1]
    if varied and random.random() < 0.25:
        return f"{direction} {amount}"
    return f"{amount} {direction}"


def _amount(size: Decimal, scale: Scale, by_digits: bool) -> str:
    if scale.unit == "turns":
        return say_turns(size)
    if not by_digits:
        return say_number(size)
    whole, _, decimals = format(size, "f").partition(".")
    return f"{say_digits(whole)} point {say_digits(decimals)}" if decimals else say_digits(whole)


def says_the_same(said_back: SaidBack, value: Decimal, scale: Scale) -> bool:
    """Whether what is said back is this value, with the right direction."""
    if said_back.value is None or Decimal(said_back.value) != abs(value):
        return False
    if scale.directions is None or value == 0:
        return True
    return said_back.direction == scale.directions[0 if value > 0 else 1]
