"""Proof that no phrase can be said in two ways at a prompt, or the phrase that can.

The rules never lead back to themselves, so they unfold into a finite automaton of positions
(V. M. Glushkov, 1961): each place where a word stands is a state. Two different paths that read
the same words are searched for in the square of that automaton; where there are none, every
phrase has one derivation and with it one meaning. This takes milliseconds where listing the
phrases of a number would take hours.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import assert_never

from companion.words.step_rules import TOP, StepLine, StepRules
from companion.words.template import Chain, Either, Maybe, Node, Slot, Word


@dataclass(frozen=True, slots=True)
class TwoWays:
    """A phrase that two lines give; `first` and `second` say where these are written."""

    phrase: str
    first: str
    second: str


@dataclass(frozen=True, slots=True)
class _Part:
    """What an unfolded part begins and ends with, and whether it may be left out."""

    may_be_empty: bool
    begins: tuple[int, ...]
    ends: tuple[int, ...]


def find_two_ways(rules: StepRules) -> TwoWays | None:
    """A phrase that can be said in two ways, or None when there is none."""
    doubled = _doubled_line(rules)
    if doubled is not None:
        return doubled
    return _Unfolded(rules).two_ways()


def _doubled_line(rules: StepRules) -> TwoWays | None:
    """The same phrase written twice in one rule."""
    for lines in rules.rules.values():
        seen: dict[Node, StepLine] = {}
        for line in lines:
            first = seen.setdefault(line.phrase, line)
            if first is not line:
                return TwoWays(_shown(line.phrase), first.where, line.where)
    return None


def _shown(node: Node) -> str:
    match node:
        case Word(text):
            return text
        case Slot(rule):
            return f"<{rule}>"
        case Maybe(part):
            return f"[{_shown(part)}]"
        case Either(parts) | Chain(parts):
            return " ".join(_shown(part) for part in parts)
        case _:
            assert_never(node)


class _Unfolded:
    """The automaton of positions. A rule of single words is one position with all its words."""

    def __init__(self, rules: StepRules) -> None:
        self._rules = rules.rules
        self._words: list[frozenset[str]] = []
        self._where: list[str] = []
        self._next: list[set[int]] = []
        whole = self._rule(TOP, "the step")
        self._begins = whole.begins
        self._final = set(whole.ends)

    def two_ways(self) -> TwoWays | None:
        """The shortest doubled phrase, found from the start outwards in pairs of positions."""
        came_from: dict[tuple[int, int], tuple[tuple[int, int] | None, str]] = {}
        waiting = list(self._steps(self._begins, self._begins))
        for pair, word in waiting:
            came_from.setdefault(pair, (None, word))
        queue = list(came_from)
        for pair in queue:
            one, other = pair
            if one != other and one in self._final and other in self._final:
                return TwoWays(_retraced(came_from, pair), self._where[one], self._where[other])
            for following, word in self._steps(self._next[one], self._next[other]):
                if following not in came_from:
                    came_from[following] = (pair, word)
                    queue.append(following)
        return self._rejoined(came_from, queue)

    def _rejoined(
        self,
        came_from: dict[tuple[int, int], tuple[tuple[int, int] | None, str]],
        queue: list[tuple[int, int]],
    ) -> TwoWays | None:
        """Two paths that part and meet again before the end."""
        for one, other in queue:
            if one == other:
                continue
            for end in sorted(self._next[one] & self._next[other]):
                words = _retraced(came_from, (one, other))
                return TwoWays(
                    f"{words} {min(self._words[end])}", self._where[one], self._where[other]
                )
        return None

    def _steps(
        self, ones: Iterable[int], others: Iterable[int]
    ) -> Iterator[tuple[tuple[int, int], str]]:
        """Pairs of positions that one word leads to; which of them comes first is no matter."""
        for one in ones:
            for other in others:
                common = self._words[one] & self._words[other]
                if common:
                    yield (min(one, other), max(one, other)), min(common)

    def _rule(self, name: str, where: str) -> _Part:
        lines = self._rules[name]
        if all(isinstance(line.phrase, Word) for line in lines):
            words = frozenset(line.phrase.text for line in lines if isinstance(line.phrase, Word))
            # Its place is the line that uses it: there the two ways part.
            return self._position(words, where)
        return _one_of([self._node(line.phrase, line.where) for line in lines])

    def _node(self, node: Node, where: str) -> _Part:
        match node:
            case Word(text):
                return self._position(frozenset((text,)), where)
            case Slot(rule):
                return self._rule(rule, where)
            case Maybe(part):
                inner = self._node(part, where)
                return _Part(True, inner.begins, inner.ends)
            case Either(parts):
                return _one_of([self._node(part, where) for part in parts])
            case Chain(parts):
                return self._chained([self._node(part, where) for part in parts])
            case _:
                assert_never(node)

    def _position(self, words: frozenset[str], where: str) -> _Part:
        self._words.append(words)
        self._where.append(where)
        self._next.append(set())
        number = len(self._words) - 1
        return _Part(False, (number,), (number,))

    def _chained(self, parts: list[_Part]) -> _Part:
        joined = parts[0]
        for part in parts[1:]:
            for end in joined.ends:
                self._next[end].update(part.begins)
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


def _retraced(
    came_from: dict[tuple[int, int], tuple[tuple[int, int] | None, str]], pair: tuple[int, int]
) -> str:
    words: list[str] = []
    at: tuple[int, int] | None = pair
    while at is not None:
        at, word = came_from[at]
        words.append(word)
    return " ".join(reversed(words))
