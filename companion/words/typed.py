"""Typed text as the words that would have been said, so that keyboard and voice share one gate."""

from __future__ import annotations

import re

from companion.words.speaking import say_digits
from companion.words.vocabulary import UNITS

_SHORT_UNITS = {
    "mm": UNITS["mm"].plural,
    "mm/m": UNITS["mm_per_m"].plural,
    "deg": UNITS["deg"].plural,
    "°": UNITS["deg"].plural,
    "db": UNITS["db"].plural,
    "v": UNITS["volt"].plural,
    "°c": UNITS["celsius"].plural,
}
_PARTS = {"1/4": "a quarter", "1/2": "a half", "3/4": "three quarters"}
_NUMBER = re.compile(r"(\d*)(?:\.(\d+))?")
_NUMBER_AND_UNIT = re.compile(r"(\d*\.?\d+)(mm/m|mm|deg|°c|°|db|v)")


def words_from_typed(text: str) -> str:
    """Numerals and short unit names as words: "775 mm left", "0.40", "2 3/4 turns".

    Anything else passes as it was typed, for the gate to refuse: a sign ("-0.25") and a comma
    ("0,4", which is a decimal sign to some and a divider to others) are never guessed at.
    """
    words: list[str] = []
    after_number = False
    for piece in text.lower().split():
        joined = _NUMBER_AND_UNIT.fullmatch(piece)
        for each in joined.groups() if joined else (piece,):
            # "2 3/4" is typed without the "and" that is said.
            if each in _PARTS and after_number:
                words.append("and")
            words.append(_word(each))
            after_number = each.isdigit()
    return " ".join(words)


def _word(piece: str) -> str:
    if piece in _SHORT_UNITS:
        return _SHORT_UNITS[piece]
    if piece in _PARTS:
        return _PARTS[piece]
    number = _NUMBER.fullmatch(piece)
    if number is None or not piece.isascii() or not piece:
        return piece
    whole, decimals = number[1], number[2]
    said = [say_digits(whole)] if whole else []
    return " ".join([*said, "point", say_digits(decimals)] if decimals else said)
