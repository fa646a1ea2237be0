"""Spoken numbers as figures: a screen is read faster in "12 mm" than in "twelve millimetres".

Only what cannot be anything else is written as a figure: number words in front of a unit, or with
"point" among them, and the number of a stage. "Read it once more" keeps its words.
"""

from __future__ import annotations

import re
from itertools import pairwise

_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = (
    *("ten", "eleven", "twelve", "thirteen", "fourteen"),
    *("fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_VALUES = {
    **{word: value for value, word in enumerate((*_DIGITS, *_TEENS))},
    **{word: 20 + 10 * place for place, word in enumerate(_TENS)},
}
_SIGNS = {
    "millimetre per metre": "\u00a0mm/m",
    "millimetres per metre": "\u00a0mm/m",
    "millimetre": "\u00a0mm",
    "millimetres": "\u00a0mm",
    "degree celsius": "\u00a0°C",
    "degrees celsius": "\u00a0°C",
    "degree": "°",
    "degrees": "°",
    "decibel": "\u00a0dB",
    "decibels": "\u00a0dB",
    "metre": "\u00a0m",
    "metres": "\u00a0m",
    "volt": "\u00a0V",
    "volts": "\u00a0V",
    "bar": "\u00a0bar",
    "turn": "\u00a0turn",
    "turns": "\u00a0turns",
}
_QUARTERS = {"a quarter": "¼", "a half": "½", "three quarter": "¾"}

_WORD = "|".join(sorted((*_VALUES, "hundred", "thousand"), key=len, reverse=True))
_DIGIT = "|".join(_DIGITS)
_WHOLE = rf"(?:{_WORD})(?: (?:and )?(?:{_WORD}))*"
_UNIT = "|".join(sorted(_SIGNS, key=len, reverse=True))
_AMOUNT = re.compile(
    rf"\b(?P<whole>{_WHOLE})(?P<point> point(?: (?:{_DIGIT}))+)?(?: (?P<unit>{_UNIT})\b)?",
    re.IGNORECASE,
)
_TURNS = re.compile(
    rf"\b(?:(?P<whole>{_WHOLE}) and )?(?P<part>a quarter|a half|three quarter) (?P<unit>turns?)\b",
    re.IGNORECASE,
)
_STAGE = re.compile(rf"\bstage (?P<number>{_WHOLE})(?: of (?P<of>{_WHOLE}))?", re.IGNORECASE)


def written(spoken: str) -> str:
    """The sentence with its amounts as figures and signs.

    >>> written("Move the stand twelve millimetres to the left.")
    'Move the stand 12\\xa0mm to the left.'
    """
    with_stage = _STAGE.sub(_stage, spoken)
    return _AMOUNT.sub(_amount, _TURNS.sub(_turns, with_stage))


def whole_number(words: str) -> str | None:
    """The figures of a whole number in words, a cardinal or digit by digit; None for neither."""
    said = words.lower().split()
    if all(word in _DIGITS for word in said):
        return "".join(str(_DIGITS.index(word)) for word in said)
    value = _cardinal(said)
    return None if value is None else str(value)


def _cardinal(said: list[str]) -> int | None:
    """The value of a cardinal; None where the words only look like one."""
    if any(
        after == "and" and before not in ("hundred", "thousand") for before, after in pairwise(said)
    ):
        return None
    total, group, last = 0, 0, 1_000
    for word in said:
        if word == "and":
            continue
        if word == "thousand":
            total, group, last = group * 1_000, 0, 1_000
        elif word == "hundred":
            group, last = group * 100, 100
        else:
            value = _VALUES[word]
            size = 10 if value >= 20 else 1
            if last <= size or (last == 10 and value >= 10):
                return None
            group, last = group + value, size
    return total + group


def _stage(match: re.Match[str]) -> str:
    number, of = whole_number(match["number"]), match["of"] and whole_number(match["of"])
    if number is None or (match["of"] and of is None):
        return match[0]
    told = f"{match[0][:5]} {number}"
    return f"{told} of {of}" if of else told


def _turns(match: re.Match[str]) -> str:
    whole = whole_number(match["whole"]) if match["whole"] else ""
    if whole is None:
        return match[0]
    unit = match["unit"].lower() if whole else "turn"
    return f"{whole}{_QUARTERS[match['part'].lower()]}\u00a0{unit}"


def _amount(match: re.Match[str]) -> str:
    if match["unit"] is None and match["point"] is None:
        return match[0]
    whole = whole_number(match["whole"])
    if whole is None:
        return match[0]
    decimals = (match["point"] or "").split()[1:]
    told = whole + (
        "." + "".join(str(_DIGITS.index(d.lower())) for d in decimals) if decimals else ""
    )
    if match["unit"] is None:
        return told
    return told + _SIGNS[match["unit"].lower()]
