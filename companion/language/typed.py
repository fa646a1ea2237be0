"""Typed text as the words that would have been said, so that keyboard and voice share one gate."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from companion.language.speaking import Speaker
from companion.language.vocabulary import is_word

_NUMBER = re.compile(r"(\d*)(?:([.,])(\d+))?")
_THOUSANDS = 3


class TypedWords:
    """Numerals and short unit names as words: "775 mm left", "0.40", "2 3/4 turns".

    Anything else passes as it was typed, for the gate to refuse: a sign ("-0.25"), or a comma where
    the language has none ("0,4" is 4 tenths to some and 4 thousand to others), is never guessed at.
    `known`: words of the language; one that is typed without its accents is taken for the one that
    it can only be.
    """

    def __init__(self, speaker: Speaker, known: Iterable[str] = ()) -> None:
        self._speaker = speaker
        vocabulary = speaker.vocabulary
        self._units = {
            short: unit.forms["other"] for unit in vocabulary.units.values() for short in unit.typed
        }
        shorts = "|".join(re.escape(short) for short in sorted(self._units, key=len, reverse=True))
        points = re.escape("".join(vocabulary.numbers.typed_points))
        self._number_and_unit = re.compile(rf"(\d*[{points}]?\d+)({shorts})")
        self._accented = _only_accented(known)

    def __call__(self, text: str) -> str:
        """The words."""
        words: list[str] = []
        after_number = False
        quarters = self._speaker.vocabulary.quarters
        for piece in unicodedata.normalize("NFC", text).lower().split():
            joined = self._number_and_unit.fullmatch(piece)
            for each in joined.groups() if joined else (piece,):
                if each in quarters.typed:
                    parts = quarters.typed_after if after_number else quarters.typed
                    words.append(parts[each])  # type: ignore[index]
                else:
                    words.append(self._word(each))
                after_number = each.isdigit()
        return " ".join(words)

    def _word(self, piece: str) -> str:
        if piece in self._units:
            return self._units[piece]
        if piece in self._accented:
            return self._accented[piece]
        number = _NUMBER.fullmatch(piece)
        if number is None or not piece.isascii() or not piece:
            return piece
        whole, point, decimals = number.groups()
        numbers = self._speaker.vocabulary.numbers
        said = [self._speaker.say_digits(whole)] if whole else []
        if not decimals:
            return " ".join(said)
        own = numbers.typed_points[0]
        # With another language's point three digits may be thousands: "1.250".
        if point not in numbers.typed_points or (point != own and len(decimals) == _THOUSANDS):
            return piece
        return " ".join([*said, numbers.point, self._speaker.say_digits(decimals)])


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
