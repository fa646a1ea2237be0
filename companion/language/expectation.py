"""What may be said now: the shape of the answer that a prompt waits for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from companion.errors import CompanionError
from companion.facts.meanings import COMMAND_NAMES
from companion.facts.quantities import DIRECTION_IDS, UNIT_IDS
from companion.language.vocabulary import is_word

NumberStyle = Literal["whole", "decimal", "quarters"]

LARGEST_WHOLE_DIGITS = 6
LARGEST_DECIMALS = 4
MOST_PLACES = 3
"""Numbers that may be said back together: people mix up the elements of a longer message."""


class ExpectationError(CompanionError):
    """A prompt expects something that the words do not cover."""


@dataclass(frozen=True, slots=True)
class NumberForm:
    """How a number is said at this prompt.

    `style`: "whole" has no decimals, "decimal" has up to `decimals` of them after "point",
    "quarters" counts turns, its only unit, in halves and quarters. `max_whole_digits`: 1 to 6
    (1 or 2 for quarters); the smaller, the fewer ways to mishear. `directions`: ids of which one
    must be said, except at zero; empty for a plain number. `units`: ids that may be said; a
    single one may be left out when speaking, of several one must be said. `digits_only`: digit by
    digit, for asking again after a number was not understood.

    Raises ExpectationError when the parts do not fit together.
    """

    style: NumberStyle
    max_whole_digits: int
    decimals: int = 0
    directions: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    digits_only: bool = False

    def __post_init__(self) -> None:
        most_digits = 2 if self.style == "quarters" else LARGEST_WHOLE_DIGITS
        _need(
            1 <= self.max_whole_digits <= most_digits,
            f"max_whole_digits of {self.max_whole_digits}",
            f"1 to {most_digits} for a number of style {self.style}",
        )
        if self.style == "decimal":
            _need(
                1 <= self.decimals <= LARGEST_DECIMALS,
                f"decimals of {self.decimals}",
                f"1 to {LARGEST_DECIMALS} for style decimal",
            )
        else:
            _need(self.decimals == 0, f"decimals of {self.decimals}", f"0 for style {self.style}")
        for direction in self.directions:
            _need(direction in DIRECTION_IDS, f"direction {direction!r}", _listed(DIRECTION_IDS))
        for unit in self.units:
            _need(unit in UNIT_IDS, f"unit {unit!r}", _listed(UNIT_IDS))
        _need(
            self.style != "quarters" or self.units == ("turns",),
            f"units {self.units}",
            "turns, the one unit counted in quarters",
        )
        _need(
            "turns" not in self.units or self.style == "quarters",
            f"style {self.style} for turns",
            "quarters, the style in which turns are said and read back",
        )
        _need(
            not (self.digits_only and self.style == "quarters"),
            "quarters asked digit by digit",
            "digits_only with style whole or decimal",
        )


@dataclass(frozen=True, slots=True)
class Expectation:
    """All that may be said now: the union of its parts.

    A question has choices, a reading a number, an instruction done, a prompt that confirms a
    reading yes_no and number together, a paused one commands alone. `words` are single words that
    may be said for their own sake, and mean nothing but themselves. `places`: so many numbers wait
    for one yes together; a number is then said with its place alone, to mend it. `pair`: two
    numbers of the form may be said in one go, or one of them alone. `then`: what may be said right
    behind a yes, for it was asked in the same breath; without a yes it answers nothing.
    Raises ExpectationError for a command or a doubled choice that nobody can say.
    """

    number: NumberForm | None = None
    choices: tuple[str, ...] = ()
    done: bool = False
    yes_no: bool = False
    commands: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    places: int = 0
    pair: bool = False
    then: Expectation | None = None

    def __post_init__(self) -> None:
        _need(0 <= self.places <= MOST_PLACES, f"{self.places} places", f"0 to {MOST_PLACES}")
        _need(not self.places or self.number is not None, "places of no number", "a number")
        _need(not self.pair or self._takes_one(), "a pair of no number", "a number alone")
        _need(
            self.then is None or self.yes_no, "then without yes_no", "a yes that it is said behind"
        )
        _need(
            self.then is None or self.then._is_plain(), f"then {self.then}", "a number or choices"
        )
        for word in self.words:
            _need(is_word(word), f"word {word!r}", "a single word of letters")
        for name in self.commands:
            _need(name in COMMAND_NAMES, f"command {name!r}", _listed(COMMAND_NAMES))
        for names in (self.choices, self.commands, self.words):
            _need(len(set(names)) == len(names), f"{names} with one named twice", "each once")

    def _is_plain(self) -> bool:
        """Whether it is a number, or choices, and nothing else."""
        asks = self.number is not None or bool(self.choices)
        return asks and self == Expectation(self.number, self.choices, pair=self.pair)

    def _takes_one(self) -> bool:
        quarters = self.number is None or self.number.style == "quarters"
        return not quarters and not self.yes_no and not self.places


def _need(holds: bool, found: str, wanted: str) -> None:
    if not holds:
        raise ExpectationError(f"an expectation has {found}: wanted {wanted}")


def _listed(names: tuple[str, ...]) -> str:
    return "one of " + ", ".join(names)
