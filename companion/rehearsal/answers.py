"""How a technician words his answers: as people do, not always in the same way."""

from __future__ import annotations

from decimal import Decimal
from random import Random

from companion.rehearsal.prompts_heard import WantsReading
from companion.rehearsal.scales import Scale
from companion.rehearsal.scenario import CHOICE_WORDS
from companion.rehearsal.spoken_numbers import amount_in, number_words_in
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


def said_choice(choice: str, random: Random, *, varied: bool) -> str:
    """One of the ways to say this answer."""
    forms = CHOICE_WORDS[choice]
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


def says_the_same(words: str, value: Decimal, scale: Scale) -> bool:
    """Whether a read-back says this value, with the right direction."""
    size = amount_in(number_words_in(words))
    if size is None or size != abs(value):
        return False
    if scale.directions is None or value == 0:
        return True
    right, wrong = scale.directions if value > 0 else scale.directions[::-1]
    heard = words.replace(",", " ").split()
    return right in heard and wrong not in heard


def choice_said_back(words: str) -> str | None:
    """The answer that a read-back names: the one that shares most of its words with it."""
    heard = set(words.split())

    def likeness(choice: str) -> float:
        return max(
            len(heard & set(form.split())) / len(heard | set(form.split()))
            for form in CHOICE_WORDS[choice]
        )

    best = max(CHOICE_WORDS, key=likeness)
    return best if likeness(best) > 0 else None


def names_place(wanted: WantsReading) -> str:
    """A reading's name for the list of slips."""
    return f"{wanted.scale} {wanted.where}".strip()
