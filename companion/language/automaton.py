"""The one automaton of a prompt: what may be said there, and what it means.

The rules of a step never lead back to themselves, so they unfold into a finite automaton of
positions (V. M. Glushkov, 1961): each place where a word stands is a state, and a phrase is a path
through them. The proof that nothing can be said in two ways (`ambiguity`), the parser behind the
recogniser and the search of the companion's own ears all read this one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import assert_never

from companion.facts.meanings import Meaning
from companion.language.step_rules import TOP, StepLine, StepRules
from companion.language.template import Chain, Either, Maybe, Node, Slot, Word
from companion.language.values import Given, give

START = 0
# No phrase of any prompt comes near this; a longer one is refused unread.
MOST_WORDS = 40
_NOWHERE = -1


@dataclass(frozen=True, slots=True)
class Position:
    """Where one word stands, or one of the words of a rule that has single words only.

    `lines`: the words that are read here, each with the lines of such a rule that it is; empty
    where the word stands in the line itself. `label`: what the line's value calls such a rule.
    `usage`: the number of the `Usage` that the position stands in.
    """

    lines: Mapping[str, tuple[StepLine, ...]]
    label: str
    usage: int
    where: str


@dataclass(frozen=True, slots=True)
class Usage:
    """A line of a rule at one of the places where that rule is used.

    `above`: the number of the usage that its slot stands in, and `label` what it is called there.
    """

    line: StepLine
    above: int
    label: str


@dataclass(frozen=True, slots=True)
class _Part:
    """What an unfolded part begins and ends with, and whether it may be left out."""

    may_be_empty: bool
    begins: tuple[int, ...]
    ends: tuple[int, ...]


class Automaton:
    """States are numbers; `START` is where every phrase begins, each other one a `Position`."""

    def __init__(self, rules: StepRules) -> None:
        self._rules = rules.rules
        self._usages: list[Usage] = []
        self._positions = [Position({}, "", _NOWHERE, "")]
        self._following: list[set[int]] = [set()]
        whole = self._rule(TOP, "", _NOWHERE, "the step")
        self._following[START].update(whole.begins)
        self._final = frozenset(whole.ends)
        self._by_word: dict[int, dict[str, tuple[int, ...]]] = {}
        self._usages_around: dict[int, tuple[int, ...]] = {_NOWHERE: ()}

    def position(self, state: int) -> Position:
        """What stands at a state."""
        return self._positions[state]

    def following(self, state: int) -> set[int]:
        """The states that one word leads to from a state, whichever word."""
        return self._following[state]

    def is_end(self, state: int) -> bool:
        """Whether a phrase may end here."""
        return state in self._final

    def arcs(self, state: int) -> Iterator[tuple[str, int]]:
        """Every word that may come next, with the state that it leads to."""
        for word, states in self._step(state).items():
            for after in states:
                yield word, after

    def meanings(self, words: Sequence[str]) -> frozenset[Meaning]:
        """Every meaning that the words have as a whole; empty when they are no phrase."""
        if len(words) > MOST_WORDS:
            return frozenset()
        paths: list[tuple[int, ...]] = [(START,)]
        for word in words:
            paths = [
                (*path, after) for path in paths for after in self._step(path[-1]).get(word, ())
            ]
        found = {
            given
            for path in paths
            if self.is_end(path[-1])
            for given in self._given_along(path[1:], words)
        }
        return frozenset(
            given for given in found if given is not None and not isinstance(given, str)
        )

    def _step(self, state: int) -> dict[str, tuple[int, ...]]:
        found = self._by_word.get(state)
        if found is None:
            gathered: dict[str, list[int]] = {}
            for after in sorted(self._following[state]):
                for word in self._positions[after].lines:
                    gathered.setdefault(word, []).append(after)
            found = {word: tuple(states) for word, states in gathered.items()}
            self._by_word[state] = found
        return found

    def _given_along(self, path: Sequence[int], words: Sequence[str]) -> Iterator[Given]:
        """What a path gives; more than one thing where a rule has the same word twice."""
        lines = [
            self._positions[state].lines[word] for state, word in zip(path, words, strict=True)
        ]
        for chosen in product(*(each or (None,) for each in lines)):
            yield self._folded(path, chosen)

    def _folded(self, path: Sequence[int], chosen: Sequence[StepLine | None]) -> Given:
        """The usages that the path goes through, closed one into the other."""
        open_usages: list[tuple[int, list[tuple[str, Given]]]] = []
        last: Given = None

        def close_down_to(depth: int) -> None:
            nonlocal last
            while len(open_usages) > depth:
                number, found = open_usages.pop()
                usage = self._usages[number]
                last = give(usage.line.gives, tuple(found))
                if open_usages:
                    open_usages[-1][1].append((usage.label, last))

        for state, line in zip(path, chosen, strict=True):
            position = self._positions[state]
            around = self._around(position.usage)
            depth = 0
            while depth < min(len(around), len(open_usages)) and (
                open_usages[depth][0] == around[depth]
            ):
                depth += 1
            close_down_to(depth)
            open_usages += [(number, []) for number in around[depth:]]
            if line is not None:
                last = give(line.gives, ())
                if open_usages:
                    open_usages[-1][1].append((position.label, last))
        close_down_to(0)
        return last

    def _around(self, usage: int) -> tuple[int, ...]:
        """The usages that one stands in, the outermost first, itself last."""
        found = self._usages_around.get(usage)
        if found is None:
            found = (*self._around(self._usages[usage].above), usage)
            self._usages_around[usage] = found
        return found

    def _rule(self, name: str, label: str, above: int, where: str) -> _Part:
        lines = self._rules[name]
        if all(isinstance(line.phrase, Word) for line in lines):
            by_word: dict[str, tuple[StepLine, ...]] = {}
            for line in lines:
                if isinstance(line.phrase, Word):
                    text = line.phrase.text
                    by_word[text] = (*by_word.get(text, ()), line)
            # Its place is the line that uses it: there the two ways part.
            return self._laid(Position(by_word, label, above, where))
        parts = []
        for line in lines:
            self._usages.append(Usage(line, above, label))
            parts.append(self._node(line.phrase, len(self._usages) - 1, line.where))
        return _one_of(parts)

    def _node(self, node: Node, usage: int, where: str) -> _Part:
        match node:
            case Word(text):
                return self._laid(Position({text: ()}, "", usage, where))
            case Slot(rule, label):
                return self._rule(rule, label, usage, where)
            case Maybe(part):
                inner = self._node(part, usage, where)
                return _Part(True, inner.begins, inner.ends)
            case Either(parts):
                return _one_of([self._node(part, usage, where) for part in parts])
            case Chain(parts):
                return self._chained([self._node(part, usage, where) for part in parts])
            case _:
                assert_never(node)

    def _laid(self, position: Position) -> _Part:
        self._positions.append(position)
        self._following.append(set())
        number = len(self._positions) - 1
        return _Part(False, (number,), (number,))

    def _chained(self, parts: list[_Part]) -> _Part:
        joined = parts[0]
        for part in parts[1:]:
            for end in joined.ends:
                self._following[end].update(part.begins)
            joined = _Part(
                joined.may_be_empty and part.may_be_empty,
                joined.begins + part.begins if joined.may_be_empty else joined.begins,
                joined.ends + part.ends if part.may_be_empty else part.ends,
            )
        return joined


def _one_of(parts: list[_Part]) -> _Part:
    return _Part(
        any(part.may_be_empty for part in parts),
        tuple(begin for part in parts for begin in part.begins),
        tuple(end for part in parts for end in part.ends),
    )
