"""The strict gate: what heard words mean at this prompt, or nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import assert_never

from companion.words.meanings import Choice, Command, Done, Meaning, No, Number, Yes
from companion.words.meanings import Word as SpokenWord
from companion.words.step_rules import TOP, Gives, Passed, Reading, StepRules
from companion.words.template import (
    Chain,
    Combined,
    Either,
    Literal,
    Maybe,
    Mention,
    Node,
    Slot,
    Word,
    evaluate,
)

# What a slot gave: the text of a value, a whole meaning, or nothing.
Given = str | Meaning | None
Pairs = tuple[tuple[str, Given], ...]

# No phrase of any prompt comes near this; a longer one is refused unread.
MOST_WORDS = 40


def meanings_of(rules: StepRules, words: Sequence[str]) -> frozenset[Meaning]:
    """Every meaning that the words have as a whole; empty when they are not of the language."""
    if len(words) > MOST_WORDS:
        return frozenset()
    found = _Matcher(rules, words).rule(TOP, 0)
    return frozenset(
        given
        for end, given in found
        if end == len(words) and given is not None and not isinstance(given, str)
    )


def give(gives: Gives, found: Pairs) -> Given:
    """What a line gives, from what its slots gave, in the order they were said."""
    match gives:
        case None:
            return None
        case Number() | Choice() | Done() | Yes() | No() | Command() | SpokenWord():
            return gives
        case Passed(label):
            return next(given for name, given in found if name == label)
        case Reading(unit_id):
            return _number(dict(found), unit_id)
        case Literal() | Mention() | Combined():
            return evaluate(gives, _texts(found))
        case _:
            assert_never(gives)


def _texts(found: Pairs) -> Mapping[str, Sequence[str]]:
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


class _Matcher:
    """Tries every way the rules can cover the words; remembers each rule at each position."""

    def __init__(self, rules: StepRules, words: Sequence[str]) -> None:
        self._rules = rules.rules
        self._words = words
        self._known: dict[tuple[str, int], frozenset[tuple[int, Given]]] = {}

    def rule(self, name: str, start: int) -> frozenset[tuple[int, Given]]:
        """The ends that the rule can reach from a position, with what it then gives."""
        key = (name, start)
        if key not in self._known:
            self._known[key] = frozenset(
                (end, give(line.gives, found))
                for line in self._rules[name]
                for end, found in self._node(line.phrase, start)
            )
        return self._known[key]

    def _node(self, node: Node, start: int) -> Iterator[tuple[int, Pairs]]:
        match node:
            case Word(text):
                if start < len(self._words) and self._words[start] == text:
                    yield start + 1, ()
            case Slot(rule, label):
                for end, given in self.rule(rule, start):
                    yield end, ((label, given),)
            case Maybe(part):
                yield start, ()
                yield from self._node(part, start)
            case Either(parts):
                for part in parts:
                    yield from self._node(part, start)
            case Chain(parts):
                yield from self._chain(parts, start)
            case _:
                assert_never(node)

    def _chain(self, parts: Iterable[Node], start: int) -> Iterator[tuple[int, Pairs]]:
        reached: list[tuple[int, Pairs]] = [(start, ())]
        for part in parts:
            reached = [
                (end, (*found, *more))
                for middle, found in reached
                for end, more in self._node(part, middle)
            ]
        yield from reached
