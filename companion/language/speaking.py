"""Amounts as words to speak and as figures to show: never a sign, never a digit left to the voice.

What the companion says of an amount goes digit by digit (`say_figure`): "fifteen" and "fifty" are
taken for each other in noise, by people too. Only counts (stages, times) are said as cardinals.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from babel import Locale

from companion.errors import CompanionError
from companion.facts.meanings import Number
from companion.facts.message import Amount
from companion.language.cardinals import CardinalRules
from companion.language.vocabulary import Direction, Unit, Vocabulary

_MOST_SPOKEN_WHOLE = 999_999
_WRITTEN_QUARTERS = ("", "¼", "½", "¾")

Figure = Decimal | int | Fraction


class SpeakingError(CompanionError):
    """A value cannot be said as asked: it is negative, too large, or has no exact words."""


class Speaker:
    """Says and shows amounts in one language."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self._cardinals = CardinalRules(vocabulary.numbers.cardinals)
        self._plural: Callable[[Any], str] = Locale.parse(vocabulary.locale).plural_form

    def say_number(
        self, value: Figure, unit: str | None = None, direction: str | None = None
    ) -> str:
        """The value as people say it: whole part as a cardinal, decimals digit by digit.

        In English `say_number(Decimal("15.25"), "deg", "left")` is "fifteen point two five degrees
        left". Raises SpeakingError for a negative value (give its size and a direction instead),
        for a fraction that does not end in decimals, for an unknown unit or direction.
        """
        return self._said(value, unit, direction, self._cardinal_with_decimals)

    def say_figure(
        self, value: Figure, unit: str | None = None, direction: str | None = None
    ) -> str:
        """The value as the companion says it: digit by digit, so that nothing sounds alike.

        "one five millimetres", "zero point four zero degrees left"; turns in quarters, "two and
        three quarter turns clockwise". Raises SpeakingError as `say_number` does.
        """
        return self._said(value, unit, direction, self._digit_by_digit)

    def read_back(self, number: Number) -> str:
        """The heard number said back for a yes, as `say_figure` does.

        What it says is itself in the language of the step, with the same meaning.
        """
        return self.say_figure(number.value, number.unit, number.direction)

    def say_amount(self, amount: Amount) -> str:
        """As `say_figure`."""
        return self.say_figure(amount.value, amount.unit, amount.direction)

    def show_amount(self, amount: Amount) -> str:
        """The amount in figures: "0.40° left", "2¾ turns clockwise"."""
        told = self._written(amount.value, amount.unit)
        if amount.direction is None:
            return told
        return f"{told} {self._direction(amount.direction).said}"

    def show_figure(self, value: Figure) -> str:
        """A number in figures, without a unit."""
        return self._written(value, None)

    def say_turns(self, turns: Figure) -> str:
        """Turns in quarters: "a quarter turn", "one two turns", "two and three quarter turns".

        Raises SpeakingError for negative turns and for anything but whole quarters.
        """
        signed = turns.is_signed() if isinstance(turns, Decimal) else turns < 0
        if signed or not _counts_quarters(turns):
            raise SpeakingError(
                f"{turns} turns to say: wanted zero or more, in whole quarter turns"
            )
        whole, quarters = divmod(int(Fraction(turns) * 4), 4)
        amount = self._with_unit(self.say_digits(str(whole)), Decimal(whole), "turns")
        if quarters == 0:
            return amount
        words = self.vocabulary.quarters
        part = str(quarters)
        if whole == 0:
            return words.alone[part]  # type: ignore[index]
        pattern = words.after[part]  # type: ignore[index]
        return pattern.format(whole=self.say_digits(str(whole)), amount=amount)

    def say_digits(self, digits: str, separator: str = " ") -> str:
        """Each digit by its name: "238" is "two three eight". SpeakingError for other signs."""
        if not digits or not (digits.isascii() and digits.isdigit()):
            raise SpeakingError(f"{digits!r} to say digit by digit: wanted the digits 0 to 9 only")
        return separator.join(self.vocabulary.numbers.digits[int(digit)] for digit in digits)

    def say_cardinal(self, whole: int, gender: str = "main") -> str:
        """A whole number as a cardinal: "one hundred and five". SpeakingError above 999999.

        `gender` is that of what is counted, where the language has rules for it.
        """
        if not 0 <= whole <= _MOST_SPOKEN_WHOLE:
            raise SpeakingError(f"{whole} to say: wanted 0 to {_MOST_SPOKEN_WHOLE}")
        return self._cardinals.say(whole, gender)

    def say_list(self, items: Sequence[str], last: str | None = None) -> str:
        """Items in one sentence: "a, b and c"; `last` joins the last one ("or" for an offer)."""
        if len(items) < 2:
            return "".join(items)
        joined = self.vocabulary.lists.conjunction if last is None else last
        return f"{', '.join(items[:-1])} {joined} {items[-1]}"

    def in_writing(self, phrase: str) -> str:
        """A phrase as it is heard, in small letters, as it is written."""
        capital = self.vocabulary.always_capital
        return " ".join(w.capitalize() if w in capital else w for w in phrase.split())

    def direction_word(self, direction: str) -> str:
        """A direction alone. Raises SpeakingError for an unknown one."""
        return self._direction(direction).said

    def plural_category(self, value: Figure) -> str:
        """The plural category (CLDR) of a value that is never negative."""
        return self._plural(value if isinstance(value, int | Decimal) else float(value))

    def _said(
        self,
        value: Figure,
        unit: str | None,
        direction: str | None,
        in_words: Callable[[Decimal], str],
    ) -> str:
        if unit == "turns" and _counts_quarters(value):
            amount = self.say_turns(value)
        else:
            decimal = _checked(value)
            amount = self._with_unit(in_words(decimal), decimal, unit)
        return amount if direction is None else f"{amount} {self._direction(direction).said}"

    def _cardinal_with_decimals(self, value: Decimal) -> str:
        whole, _, decimals = format(value, "f").partition(".")
        return self._with_point(self.say_cardinal(int(whole)), decimals)

    def _digit_by_digit(self, value: Decimal) -> str:
        whole, _, decimals = format(value, "f").partition(".")
        return self._with_point(self.say_digits(whole), decimals)

    def _with_point(self, whole: str, decimals: str) -> str:
        point = self.vocabulary.numbers.point
        return f"{whole} {point} {self.say_digits(decimals)}" if decimals else whole

    def _with_unit(self, amount: str, value: Decimal, unit: str | None) -> str:
        if unit is None:
            return amount
        words = self._unit(unit)
        if format(value, "f") == "1":
            amount = self.say_cardinal(1, words.gender)
        category = self.plural_category(value)
        return f"{amount} {words.forms.get(category, words.forms['other'])}"

    def _written(self, value: Figure, unit: str | None) -> str:
        quarters = unit == "turns" and _counts_quarters(value)
        if quarters:
            whole, part = divmod(int(Fraction(value) * 4), 4)
            digits = f"{whole or ('' if part else '0')}{_WRITTEN_QUARTERS[part]}"
        else:
            digits = format(_checked(value), "f")
        digits = digits.replace(".", self.vocabulary.numbers.typed_points[0])
        if unit is None:
            return digits
        written = self._unit(unit).written
        if not isinstance(written, str):
            # Parts of one are written like one: "½ turn".
            category = self.plural_category(1 if quarters and 0 < value < 1 else value)
            written = written.get(category, written["other"])
        return f"{digits}{written}"

    def _unit(self, unit: str) -> Unit:
        units = self.vocabulary.units
        if unit not in units:
            raise SpeakingError(f"unit {unit!r} to say: wanted one of {', '.join(units)}")
        return units[unit]

    def _direction(self, direction: str) -> Direction:
        directions = self.vocabulary.directions
        if direction not in directions:
            raise SpeakingError(f"direction {direction!r} to say: wanted {', '.join(directions)}")
        return directions[direction]


def _counts_quarters(value: Figure) -> bool:
    if isinstance(value, Decimal) and not value.is_finite():
        return False
    return (Fraction(value) * 4).denominator == 1


def _checked(value: Figure) -> Decimal:
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
