"""The screen's own words, in the language of the job that is on it."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from companion.errors import CompanionError, GrammarError
from companion.facts.figures import Quantity
from companion.facts.message import Amount, Arg, Message
from companion.language.language import Language
from companion.language.loader import REFERENCE, load_language


class Words:
    """What is shown in one language: English where the record's is not here."""

    def __init__(self, code: str = REFERENCE) -> None:
        self.language: Language = _language(code)

    def __call__(self, id_: str, **args: Arg) -> str:
        return self.language.show(Message(id_, args))

    def has(self, id_: str) -> bool:
        """Whether there is such a text."""
        return id_ in self.language.messages.arguments

    def amount(self, value: str, unit: str, direction: str) -> str:
        """A number as it is written, "12 mm left"; as it stands where it is no plain number."""
        try:
            told = Amount(Decimal(value), unit or None, direction or None)
            return self.language.speaker.show_amount(told)
        except (ArithmeticError, ValueError, CompanionError):
            return f"{value} {unit.replace('_', ' ')} {direction}".strip()

    def angle(self, quantity: Quantity, positive: str, negative: str) -> str:
        """An angle to a hundredth of a degree with its way in words."""
        hundredths = Decimal(f"{abs(quantity.value or 0.0):.2f}")
        way = positive if (quantity.value or 0.0) > 0 else negative
        return self.amount(str(hundredths), "deg", way if hundredths else "")

    def turns(self, turns: Fraction) -> str:
        """Turns, whichever way."""
        size = abs(turns)
        if (size * 4).denominator != 1:
            return f"{size}"
        return self.language.speaker.show_amount(Amount(size, "turns"))


def _language(code: str) -> Language:
    try:
        return load_language(code)
    except GrammarError:
        return load_language()
