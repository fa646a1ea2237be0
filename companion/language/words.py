"""What is shown in one language to readers: screen, report, pages and terminal."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from companion.errors import CompanionError, GrammarError
from companion.facts.answers import Answered
from companion.facts.figures import Quantity
from companion.facts.meanings import COMMAND_NAMES
from companion.facts.message import Amount, Arg, Message
from companion.language.language import Language
from companion.language.loader import REFERENCE, load_language


class Words:
    """What is shown in one language: English where the record's is not here."""

    def __init__(self, code: str = REFERENCE) -> None:
        self.language: Language = _language(code)

    def __call__(self, id_: str, **args: Arg) -> str:
        return self.language.show(Message(id_, args))

    @property
    def code(self) -> str:
        """The language's code, such as "en"."""
        return self.language.code

    def has(self, id_: str) -> bool:
        """Whether there is such a text."""
        return id_ in self.language.messages.arguments

    def known(self, beginning: str) -> Iterator[str]:
        """The ids of texts that begin so, without that beginning."""
        for id_ in self.language.messages.arguments:
            if id_.startswith(beginning):
                yield id_.removeprefix(beginning)

    def problem(self, error: CompanionError) -> str:
        """What is wrong, in this language; in English where only the box's keeper sees it."""
        return self(f"problem-{error.said}", **error.values) if error.said else str(error)

    def named(self, beginning: str, name: str) -> str:
        """The text for a name out of a record; the name itself, spaced, where there is none."""
        id_ = f"{beginning}{name}"
        return self(id_) if self.has(id_) else name.replace("_", " ")

    def choice(self, choice_id: str) -> str:
        """An answer to a question as it is said back; its id, spaced, for one not known here."""
        try:
            return self.language.choice_name(choice_id)
        except GrammarError:
            return choice_id.replace("_", " ")

    def asked(self, answered: Answered) -> str:
        """What was answered: the question's title; of what the companion asked by itself, ours."""
        return answered.title or (self.named("asked-", answered.asked) if answered.asked else "")

    def command(self, name: str) -> str:
        """A command as it is said; its name, spaced, for one not known here."""
        if name not in COMMAND_NAMES:
            return name.replace("_", " ")
        return self.language.grammar.command_phrase(name)

    def decimals(self, digits: str) -> str:
        """Digits with a point, as this language writes them."""
        return digits.replace(".", self.language.vocabulary.numbers.typed_points[0])

    def unit(self, unit: str) -> str:
        """A unit as it is written behind a number, without the gap before it."""
        units = self.language.vocabulary.units
        if unit not in units:
            return unit
        written = units[unit].written
        return (written if isinstance(written, str) else written["other"]).strip()

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
        """Turns, whichever way: "2¾ turns"."""
        size = abs(turns)
        if (size * 4).denominator == 1:
            return self.language.speaker.show_amount(Amount(size, "turns"))
        whole, part = divmod(size, 1)
        written = self.language.vocabulary.units["turns"].written
        category = self.language.speaker.plural_category(1 if size < 1 else size)
        unit = written if isinstance(written, str) else written.get(category, written["other"])
        return f"{whole or ''} {part}".strip() + unit

    def direction(self, direction: str) -> str:
        """A direction in words; its id, spaced, for one not known here."""
        try:
            return self.language.speaker.direction_word(direction)
        except CompanionError:
            return direction.replace("_", " ")


def _language(code: str) -> Language:
    try:
        return load_language(code)
    except GrammarError:
        return load_language()
