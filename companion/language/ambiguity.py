"""Proof that no phrase can be said in two ways at a prompt, or the phrase that can.

Two different paths that read the same words are searched for in the square of the prompt's
automaton; where there are none, every phrase has one derivation and with it one meaning. This takes
milliseconds where listing the phrases of a number would take hours.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from companion.language.automaton import START, Automaton


@dataclass(frozen=True, slots=True)
class TwoWays:
    """A phrase that two lines give; `first` and `second` say where these are written."""

    phrase: str
    first: str
    second: str


_Pair = tuple[int, int]


def find_two_ways(automaton: Automaton) -> TwoWays | None:
    """The shortest phrase that can be said in two ways, or None when there is none."""
    # Each pair of states with the pair that it was reached from, and the word.
    came_from: dict[_Pair, tuple[_Pair, str]] = {}
    queue: list[_Pair] = [(START, START)]
    for pair in queue:
        one, other = pair
        for following, word in _steps(automaton, one, other):
            if following in came_from:
                continue
            came_from[following] = (pair, word)
            doubled = _doubled(automaton, came_from, following)
            if doubled is not None:
                return doubled
            queue.append(following)
    for pair in queue[1:]:
        two_ways = _rejoined(automaton, came_from, pair)
        if two_ways is not None:
            return two_ways
    return None


def _doubled(
    automaton: Automaton, came_from: dict[_Pair, tuple[_Pair, str]], pair: _Pair
) -> TwoWays | None:
    """A phrase that ends here and was read in two ways; or a word that a rule has twice."""
    one, other = (automaton.position(state) for state in pair)
    if pair[0] != pair[1]:
        ends = automaton.is_end(pair[0]) and automaton.is_end(pair[1])
        return TwoWays(_retraced(came_from, pair), one.where, other.where) if ends else None
    for word, lines in one.lines.items():
        if len(lines) > 1:
            return TwoWays(word, lines[0].where, lines[1].where)
    return None


def _rejoined(
    automaton: Automaton, came_from: dict[_Pair, tuple[_Pair, str]], pair: _Pair
) -> TwoWays | None:
    """Two paths that part and meet again before the end."""
    one, other = pair
    if one == other:
        return None
    for end in sorted(automaton.following(one) & automaton.following(other)):
        phrase = f"{_retraced(came_from, pair)} {min(automaton.position(end).lines)}"
        return TwoWays(phrase, automaton.position(one).where, automaton.position(other).where)
    return None


def _steps(automaton: Automaton, one: int, other: int) -> Iterator[tuple[_Pair, str]]:
    """Pairs of states that one word leads to; which of them comes first is no matter."""
    for first in automaton.following(one):
        first_words = automaton.position(first).lines.keys()
        for second in automaton.following(other):
            common = first_words & automaton.position(second).lines.keys()
            if common:
                yield (min(first, second), max(first, second)), min(common)


def _retraced(came_from: dict[_Pair, tuple[_Pair, str]], pair: _Pair) -> str:
    words: list[str] = []
    while pair != (START, START):
        pair, word = came_from[pair]
        words.append(word)
    return " ".join(reversed(words))


__all__ = ["TwoWays", "find_two_ways"]
