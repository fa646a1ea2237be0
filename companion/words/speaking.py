"""Meanings and amounts as words to speak: never a sign, never a digit left to the voice.

What the companion says of an amount goes digit by digit (`say_figure`): "fifteen" and "fifty" are
taken for each other in noise, by people too. Only counts (stages, times) are said as cardinals.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from companion.errors import CompanionError
from companion.words.meanings import Number
from companion.words.vocabulary import DIGIT_WORDS, DIRECTIONS, UNITS, DirectionWords

_BELOW_TWENTY = (
    *DIGIT_WORDS,
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
)
_TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_PARTS_OF_A_TURN = {1: "a quarter", 2: "a half", 3: "three quarter"}
_MOST_SPOKEN_WHOLE = 999_999


class SpeakingError(CompanionError):
    """A value cannot be said as asked: it is negative, too large, or has no exact words."""


def say_number(
    value: Decimal | int | Fraction, unit: str | None = None, direction: str | None = None
) -> str:
    """The value as people say it: whole part as a cardinal, decimals digit by digit.

    `say_number(Decimal("15.25"), "deg", "left")` is "fifteen point two five degrees left".
    Raises SpeakingError for a negative value (give its size and a direction instead), for a
    fraction that does not end in decimals, for an unknown unit or direction.
    """
    if unit == "turns" and _counts_quarters(value):
        amount = say_turns(value)
    else:
        decimal = _checked(value)
        amount = _with_unit(_cardinal_with_decimals(decimal), decimal, unit)
    return amount if direction is None else f"{amount} {_direction(direction).spoken}"


def say_figure(
    value: Decimal | int | Fraction, unit: str | None = None, direction: str | None = None
) -> str:
    """The value as the companion says it: digit by digit, so that nothing sounds like another.

    "one five millimetres", "zero point four zero degrees left"; turns in quarters, "two and three
    quarter turns clockwise". Raises SpeakingError as `say_number` does.
    """
    if unit == "turns" and _counts_quarters(value):
        amount = say_turns(value)
    else:
        decimal = _checked(value)
        amount = _with_unit(_digit_by_digit(decimal), decimal, unit)
    return amount if direction is None else f"{amount} {_direction(direction).spoken}"


def read_back(number: Number) -> str:
    """The heard number said back for a yes, as `say_figure` does.

    What it says is itself in the language of the step, with the same meaning.
    """
    return say_figure(number.value, number.unit, number.direction)


def say_turns(turns: Fraction | Decimal | int) -> str:
    """Turns in quarters: "a quarter turn", "one two turns", "two and three quarter turns".

    Raises SpeakingError for negative turns and for anything but whole quarters.
    """
    signed = turns.is_signed() if isinstance(turns, Decimal) else turns < 0
    if signed or not _counts_quarters(turns):
        raise SpeakingError(f"{turns} turns to say: wanted zero or more, in whole quarter turns")
    whole, quarters = divmod(int(Fraction(turns) * 4), 4)
    if quarters == 0:
        return f"{say_digits(str(whole))} {'turn' if whole == 1 else 'turns'}"
    part = _PARTS_OF_A_TURN[quarters]
    if whole == 0:
        return f"{part} {'turns' if quarters == 3 else 'turn'}"
    return f"{say_digits(str(whole))} and {part} turns"


def say_digits(digits: str) -> str:
    """Each digit by its name: "238" is "two three eight". Raises SpeakingError for other signs."""
    if not digits or not (digits.isascii() and digits.isdigit()):
        raise SpeakingError(f"{digits!r} to say digit by digit: wanted the digits 0 to 9 only")
    return " ".join(DIGIT_WORDS[int(digit)] for digit in digits)


def say_cardinal(whole: int) -> str:
    """A whole number as a cardinal: "one hundred and five". Raises SpeakingError above 999999."""
    if not 0 <= whole <= _MOST_SPOKEN_WHOLE:
        raise SpeakingError(f"{whole} to say: wanted 0 to {_MOST_SPOKEN_WHOLE}")
    if whole >= 1000:
        thousands, rest = divmod(whole, 1000)
        return _joined(f"{say_cardinal(thousands)} thousand", rest)
    if whole >= 100:
        hundreds, rest = divmod(whole, 100)
        return _joined(f"{_BELOW_TWENTY[hundreds]} hundred", rest)
    if whole >= 20:
        tens, ones = divmod(whole, 10)
        return _TENS[tens] if ones == 0 else f"{_TENS[tens]} {_BELOW_TWENTY[ones]}"
    return _BELOW_TWENTY[whole]


def say_list(items: Sequence[str], last: str = "and") -> str:
    """Items in one sentence: "a, b and c"; `last` joins the last one ("or" for an offer)."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def _joined(head: str, rest: int) -> str:
    if rest == 0:
        return head
    return f"{head} {'and ' if rest < 100 else ''}{say_cardinal(rest)}"


def _cardinal_with_decimals(value: Decimal) -> str:
    whole, _, decimals = format(value, "f").partition(".")
    spoken = say_cardinal(int(whole))
    return f"{spoken} point {say_digits(decimals)}" if decimals else spoken


def _digit_by_digit(value: Decimal) -> str:
    whole, _, decimals = format(value, "f").partition(".")
    spoken = say_digits(whole)
    return f"{spoken} point {say_digits(decimals)}" if decimals else spoken


def _with_unit(amount: str, value: Decimal, unit: str | None) -> str:
    if unit is None:
        return amount
    if unit not in UNITS:
        raise SpeakingError(f"unit {unit!r} to say: wanted one of {', '.join(UNITS)}")
    # "one point zero millimetres": the singular belongs to a bare one alone.
    words = UNITS[unit]
    return f"{amount} {words.singular if format(value, 'f') == '1' else words.plural}"


def _direction(direction: str) -> DirectionWords:
    if direction not in DIRECTIONS:
        raise SpeakingError(f"direction {direction!r} to say: wanted {', '.join(DIRECTIONS)}")
    return DIRECTIONS[direction]


def _counts_quarters(value: Decimal | int | Fraction) -> bool:
    if isinstance(value, Decimal) and not value.is_finite():
        return False
    return (Fraction(value) * 4).denominator == 1


def _checked(value: Decimal | int | Fraction) -> Decimal:
    """The value as an exact decimal, refused when a sign would have to be said."""
    if isinstance(value, Fraction):
        exact = Decimal(value.numerator) / Decimal(value.denominator)
        if Fraction(exact) != value:
            raise SpeakingError(f"{value} to say: wanted a fraction that ends in decimals")
        value = exact
    decimal = Decimal(value)
    # A signed zero is refused too: it is a negative value rounded away, whose side is lost.
    if not decimal.is_finite() or decimal.is_signed():
        raise SpeakingError(f"{decimal} to say: wanted zero or more, with the direction as a word")
    return decimal
