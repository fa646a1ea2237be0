"""Spoken amounts back to figures: a judge of what is said, which knows plain English alone."""

from __future__ import annotations

import re
from decimal import Decimal

_SMALL_WORDS = """zero one two three four five six seven eight nine ten eleven twelve thirteen
fourteen fifteen sixteen seventeen eighteen nineteen"""
_TENS_WORDS = "twenty thirty forty fifty sixty seventy eighty ninety"
_SMALL = {word: value for value, word in enumerate(_SMALL_WORDS.split())}
_TENS = {word: 10 * (place + 2) for place, word in enumerate(_TENS_WORDS.split())}
_PARTS = {"quarter": Decimal("0.25"), "quarters": Decimal("0.25"), "half": Decimal("0.5")}
_GLUE = {"a", "and"}
_NUMBER_WORDS = {*_SMALL, *_TENS, *_PARTS, *_GLUE, "hundred", "thousand", "point"}


def amount_in(text: str) -> Decimal | None:
    """The amount that a few words say, None if they say none.

    Understands cardinals, digits said one by one, "point" with digits, quarters and halves with
    or without a whole part, and figures ("12.5").
    """
    words = re.findall(r"[a-z]+|\d+(?:\.\d+)?", text.lower())
    if len(words) == 1 and words[0][0].isdigit():
        return Decimal(words[0])
    words = [word for word in words if word in _NUMBER_WORDS]
    if not any(word not in _GLUE for word in words):
        return None
    if words[-1] in _PARTS:
        return _with_part(words)
    if "point" in words:
        place = words.index("point")
        decimals = "".join(str(_SMALL[word]) for word in words[place + 1 :] if word in _SMALL)
        return Decimal(f"{_whole(words[:place])}.{decimals or '0'}")
    return Decimal(_whole(words))


def number_words_in(text: str) -> str:
    """The longest run of number words in a sentence, "" if there is none."""
    runs: list[list[str]] = [[]]
    for word in re.findall(r"[a-z]+|\d+(?:\.\d+)?", text.lower()):
        if word in _NUMBER_WORDS or word[0].isdigit():
            runs[-1].append(word)
        elif runs[-1]:
            runs.append([])
    longest: list[str] = max(runs, key=len)
    return " ".join(longest)


def _with_part(words: list[str]) -> Decimal:
    """ "two and three quarter", "a half", "three quarter", "one and a quarter"."""
    part = _PARTS[words[-1]]
    rest = [word for word in words[:-1] if word != "a"]
    before, joined, after = _split_at_last_and(rest)
    if joined:
        count = _whole(after) if after else 1
        return Decimal(_whole(before)) + part * count
    return part * (_whole(rest) if rest else 1)


def _split_at_last_and(words: list[str]) -> tuple[list[str], bool, list[str]]:
    if "and" not in words:
        return words, False, []
    place = len(words) - 1 - words[::-1].index("and")
    return words[:place], True, words[place + 1 :]


def _whole(words: list[str]) -> int:
    words = [word for word in words if word not in _GLUE]
    if len(words) > 1 and all(_SMALL.get(word, 10) < 10 for word in words):
        return int("".join(str(_SMALL[word]) for word in words))
    total, group = 0, 0
    for word in words:
        if word == "thousand":
            total, group = total + group * 1000, 0
        elif word == "hundred":
            group *= 100
        else:
            group += _SMALL[word] if word in _SMALL else _TENS.get(word, 0)
    return total + group
