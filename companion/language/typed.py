"""Typed text as the words that would have been said, so that keyboard and voice share one gate."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from decimal import ROUND_HALF_UP, Decimal
from itertools import islice, product

from companion.language.speaking import Speaker
from companion.language.vocabulary import is_word

_NUMBER = re.compile(r"(\d*)(?:([.,])(\d+))?")
_THOUSANDS = 3
_MINUTES = re.compile(r"(?:(\d+)\s*[°º]\s*)?(?<!\d)([0-5]?\d)\s*['′’](?=\s|$|[^\W\d_])")
"""Degrees and minutes as a wheel-alignment sheet writes them: 0°10', or the minutes alone."""
_END_MARKS = ".,;:!?"
_QUARTERS = {"25": "1/4", "5": "1/2", "50": "1/2", "75": "3/4"}
# A line of an answer has few pieces with more than one reading; any other line is no answer.
_MOST_READINGS = 64


class TypedWords:
    """Numerals and short names as words: "775 mm left", "0.40", "2 3/4 turns", "12l", "y", "help".

    Degrees and minutes, "0°10'", become degrees with two decimals.

    What is short may stand for several words ("ok" for done, and for yes): the prompt's grammar
    decides. Anything else passes as it was typed, for the gate to refuse: a sign ("-0.25"), or
    three digits behind another language's point (1.250 is thousands to some), is never guessed at.
    `known`: words of the language; one that is typed without its accents is taken for the one that
    it can only be.
    """

    def __init__(self, speaker: Speaker, known: Iterable[str] = ()) -> None:
        self._speaker = speaker
        vocabulary = speaker.vocabulary
        self._shorts: dict[str, tuple[str, ...]] = dict(vocabulary.typed_answers)
        self._lines = vocabulary.typed_lines
        for unit in vocabulary.units.values():
            for short in unit.typed:
                self._shorts[short] = (*self._shorts.get(short, ()), unit.forms["other"])
        for direction in vocabulary.directions.values():
            for short in direction.typed:
                self._shorts[short] = (*self._shorts.get(short, ()), direction.said)
        behind = set(self._shorts) | {
            heard
            for direction in vocabulary.directions.values()
            for heard in direction.all_heard()
            if " " not in heard
        }
        names = "|".join(re.escape(name) for name in sorted(behind, key=len, reverse=True))
        points = re.escape("".join(vocabulary.numbers.typed_points))
        self._number_and_name = re.compile(rf"(\d*[{points}]?\d+)({names})")
        self._accented = _only_accented(known)

    def __call__(self, text: str, accepts: Callable[[str], bool] | None = None) -> str:
        """The words: of all readings the first that `accepts`, or what was typed if none is.

        A stop, a comma or a mark at the end of the line says nothing.
        """
        text = _without_end_marks(text)
        if accepts is None:
            return next(self._readings(text))
        found = (words for words in islice(self._readings(text), _MOST_READINGS) if accepts(words))
        return next(found, " ".join(text.split()))

    def _readings(self, text: str) -> Iterator[str]:
        """Every line of words that it may stand for, the plainest first."""
        line = " ".join(unicodedata.normalize("NFC", text).lower().split())
        if line in self._lines:
            yield self._lines[line]
            return
        line = _MINUTES.sub(self._degrees, line)
        pieces: list[tuple[str, ...]] = []
        after_number = False
        quarters = self._speaker.vocabulary.quarters
        for piece in line.split():
            joined = self._number_and_name.fullmatch(piece)
            for each in joined.groups() if joined else (piece,):
                if each in quarters.typed:
                    parts = quarters.typed_after if after_number else quarters.typed
                    pieces.append((parts[each],))  # type: ignore[index]
                else:
                    pieces.append(self._words(each))
                after_number = each.isdigit()
        for words in product(*pieces):
            yield " ".join(words)

    def _degrees(self, found: re.Match[str]) -> str:
        """Degrees and minutes in degrees, to a hundredth."""
        degrees = Decimal(found[1] or 0) + Decimal(found[2]) / 60
        rounded = degrees.quantize(Decimal("0.01"), ROUND_HALF_UP)
        return f"{rounded}".replace(".", self._speaker.vocabulary.numbers.typed_points[0])

    def _words(self, piece: str) -> tuple[str, ...]:
        if piece in self._shorts:
            return self._shorts[piece]
        if piece in self._accented:
            return (self._accented[piece],)
        number = _NUMBER.fullmatch(piece)
        if number is None or not piece.isascii() or not piece:
            return (piece,)
        whole, point, decimals = number.groups()
        numbers = self._speaker.vocabulary.numbers
        said = [self._speaker.say_digits(whole)] if whole else []
        if not decimals:
            return (" ".join(said),)
        own = numbers.typed_points[0]
        # With another language's point three digits may be thousands: "1.250".
        if point not in numbers.typed_points or (point != own and len(decimals) == _THOUSANDS):
            return (piece,)
        plain = " ".join([*said, numbers.point, self._speaker.say_digits(decimals)])
        return (plain, *self._in_quarters(int(whole or 0), whole, decimals))

    def _in_quarters(self, count: int, whole: str, decimals: str) -> tuple[str, ...]:
        """The same as turns are said: 1.5 as one and a half."""
        part = _QUARTERS.get(decimals)
        if part is None:
            return ()
        quarters = self._speaker.vocabulary.quarters
        if not count:
            return (quarters.typed[part],)  # type: ignore[index]
        return (f"{self._speaker.say_digits(whole)} {quarters.typed_after[part]}",)  # type: ignore[index]


def _without_end_marks(text: str) -> str:
    """The line without the marks that a sentence ends with; a line of nothing else stays."""
    return text.rstrip().rstrip(_END_MARKS) or text


def _only_accented(known: Iterable[str]) -> dict[str, str]:
    """Each word with accents by its letters without them, where that can be no other word."""
    bare: dict[str, set[str]] = {}
    for word in known:
        if is_word(word):
            plain = "".join(
                sign
                for sign in unicodedata.normalize("NFD", word)
                if unicodedata.category(sign) != "Mn"
            )
            bare.setdefault(plain, set()).add(word)
    return {
        plain: next(iter(words))
        for plain, words in bare.items()
        if words != {plain} and len(words) == 1
    }
