"""A prompt's rules without the words that a recogniser does not know.

A synonym may go; a meaning may not. What cannot be said at all any more is named by `lost`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import assert_never

from companion.facts.meanings import Number
from companion.language.automaton import Automaton
from companion.language.expectation import Expectation, NumberForm
from companion.language.speaking import Speaker
from companion.language.step_rules import TOP, StepLine, StepRules
from companion.language.template import Chain, Either, Maybe, Node, Slot, Word, chain, either

_QUARTERS = ("0.25", "0.5", "0.75")


def without_words(rules: StepRules, lacking: frozenset[str]) -> StepRules:
    """The rules with every way of saying something that needs one of these words left out.

    The rule `TOP` stays, empty where nothing is left.
    """
    kept: dict[str, tuple[StepLine, ...]] = {}
    _Pruned(rules.rules, lacking, kept).rule(TOP)
    # In the order that they were in: the recogniser's text is then as it was.
    return StepRules({name: kept[name] for name in rules.rules if kept.get(name) or name == TOP})


def lost(
    whole: StepRules,
    lacking: frozenset[str],
    expectation: Expectation,
    optional: frozenset[str],
    speaker: Speaker,
) -> tuple[str, ...]:
    """What the prompt asks for and nobody can say without these words, in words for a person.

    Words asked for their own sake may go where they are `optional`.
    """
    rules = without_words(whole, lacking)
    top = {line.phrase.rule for line in rules.rules[TOP] if isinstance(line.phrase, Slot)}
    wanted = [f"choice_{choice}" for choice in expectation.choices]
    wanted += ["answer_done"] if expectation.done else []
    wanted += ["answer_yes", "answer_no"] if expectation.yes_no else []
    wanted += [f"command_{command}" for command in expectation.commands]
    wanted += [f"word_{word}" for word in expectation.words if word not in optional]
    missing = [name.replace("_", " ") for name in wanted if name not in top]
    # One of several is mended by its place, or else after "no", each by itself.
    if expectation.number is not None and not expectation.places:
        automaton = Automaton(rules)
        instead = _synonyms(whole, lacking)
        for number in _probes(expectation.number):
            phrase = speaker.read_back(number)
            words = [instead.get(word, word) for word in phrase.split()]
            if automaton.meanings(words) != {number}:
                missing.append(phrase)
    return tuple(missing)


def _synonyms(rules: StepRules, lacking: frozenset[str]) -> dict[str, str]:
    """For a lacking word another that gives the same in the same rule."""
    found: dict[str, str] = {}
    for lines in rules.rules.values():
        words = {line.phrase.text: line.gives for line in lines if isinstance(line.phrase, Word)}
        for word, gives in words.items():
            same = [w for w, other in words.items() if other == gives and w not in lacking]
            if word in lacking and same:
                found.setdefault(word, same[0])
    return found


def _probes(form: NumberForm) -> Iterator[Number]:
    """Numbers that together need every digit at every place, each unit and each direction."""
    values = ["0"]
    if form.style == "quarters":
        values += [*_QUARTERS, *(f"{digit}.75" for digit in range(1, 10))]
    else:
        longest = form.max_whole_digits
        values += [f"1{str(digit) * (longest - 1)}" for digit in range(10)] if longest > 1 else []
        values += [str(digit) * longest for digit in range(1, 10)]
        values += [f"1.{str(digit) * form.decimals}" for digit in range(10) if form.decimals]
    units = form.units or (None,)
    directions = form.directions or (None,)
    for value in values:
        zero = Decimal(value) == 0
        yield Number(Decimal(value), None if zero else directions[0], units[0])
    for unit in units:
        for direction in directions:
            yield Number(Decimal(1), direction, unit)


class _Pruned:
    def __init__(
        self,
        rules: Mapping[str, tuple[StepLine, ...]],
        lacking: frozenset[str],
        kept: dict[str, tuple[StepLine, ...]],
    ) -> None:
        self._rules = rules
        self._lacking = lacking
        self._kept = kept

    def rule(self, name: str) -> bool:
        """Whether anything of the rule is left."""
        if name not in self._kept:
            lines = [
                StepLine(phrase, line.gives, line.where)
                for line in self._rules[name]
                if (phrase := self._node(line.phrase)) is not None
            ]
            self._kept[name] = tuple(lines)
        return bool(self._kept[name])

    def _node(self, node: Node) -> Node | None:
        match node:
            case Word(text):
                return None if text in self._lacking else node
            case Slot(rule):
                return node if self.rule(rule) else None
            case Maybe(part):
                # Left out where it cannot be said; an empty chain says nothing.
                inner = self._node(part)
                return Maybe(inner) if inner is not None else Chain(())
            case Either(parts):
                kept = [inner for part in parts if (inner := self._node(part)) is not None]
                return either(kept) if kept else None
            case Chain(parts):
                whole = [self._node(part) for part in parts]
                if any(part is None for part in whole):
                    return None
                said = [part for part in whole if part is not None and part != Chain(())]
                return chain(said) if said else Chain(())
            case _:
                assert_never(node)
