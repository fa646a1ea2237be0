"""What a line of a rule gives: a meaning, or the text of a value, from what its slots gave."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import assert_never

from companion.facts.meanings import (
    Choice,
    Command,
    Confirmed,
    Done,
    Meaning,
    Mended,
    NextAnswer,
    No,
    Number,
    Pair,
    Unconfirmed,
    Yes,
)
from companion.facts.meanings import Word as SpokenWord
from companion.language.step_rules import (
    FIRST,
    READING,
    SECOND,
    THEN,
    Confirms,
    Gives,
    LeavesOpen,
    Mends,
    Pairs,
    Passed,
    Reading,
)
from companion.language.template import Combined, Literal, Mention, evaluate

Given = str | Meaning | None
"""What a slot gave: the text of a value, a whole meaning, or nothing."""
Found = tuple[tuple[str, Given], ...]


def give(gives: Gives, found: Found) -> Given:
    """What a line gives, from what its slots gave, in the order they were said."""
    match gives:
        case None:
            return None
        case Number() | Choice() | Done() | Yes() | No() | Command() | SpokenWord():
            return gives
        case Mended() | Pair() | Confirmed() | Unconfirmed():
            return gives
        case Confirms():
            return Confirmed(_next_answer(dict(found)))
        case LeavesOpen():
            return Unconfirmed(_next_answer(dict(found)))
        case Pairs():
            return _pair(dict(found))
        case Mends():
            return _mended(dict(found))
        case Passed(label):
            return next(given for name, given in found if name == label)
        case Reading(unit_id):
            return _number(dict(found), unit_id)
        case Literal() | Mention() | Combined():
            return evaluate(gives, _texts(found))
        case _:
            assert_never(gives)


def _pair(found: Mapping[str, Given]) -> Pair:
    first, second = found.get(FIRST), found.get(SECOND)
    if not isinstance(first, Number) or not isinstance(second, Number):
        raise TypeError(f"a pair made of {found!r}")
    return Pair(first, second)


def _next_answer(found: Mapping[str, Given]) -> NextAnswer:
    then = found.get(THEN)
    if not isinstance(then, Number | Pair | Choice):
        raise TypeError(f"a next answer made of {found!r}")
    return then


def _mended(found: Mapping[str, Given]) -> Mended:
    place, number = found.get("place"), found.get(READING)
    if not isinstance(place, str) or not isinstance(number, Number):
        raise TypeError(f"a mended number made of {found!r}")
    return Mended(int(place), number)


def _texts(found: Found) -> Mapping[str, Sequence[str]]:
    texts: dict[str, list[str]] = {}
    for label, given in found:
        if isinstance(given, str):
            texts.setdefault(label, []).append(given)
    return texts


def _number(found: Mapping[str, Given], unit_id: str | None) -> Number:
    amount = found.get("some") or found.get("nothing") or found.get("spelled")
    direction, unit = found.get("direction"), found.get("unit", unit_id)
    if (
        not isinstance(amount, str)
        or not isinstance(direction, str | None)
        or not isinstance(unit, str | None)
    ):
        raise TypeError(f"a reading made of {found!r}")
    return Number(Decimal(amount), direction, unit)
