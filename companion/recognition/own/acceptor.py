"""A step's automaton as a machine that reads one token at a time and knows when it may stop."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from companion.recognition.port import WordAutomaton


@dataclass(frozen=True)
class Acceptor:
    """States are numbers, 0 is the start.

    `steps[state]` tells for each token that may come next its state and a word that says it;
    `ends[state]` whether the language has a sentence that ends there.
    """

    steps: tuple[dict[int, tuple[int, str]], ...]
    ends: tuple[bool, ...]

    def endings(self, state: int) -> Iterator[tuple[str, ...]]:
        """Every row of words, one at least, that leads from a state to a sentence's end."""
        for after, word in self.steps[state].values():
            if self.ends[after]:
                yield (word,)
            for rest in self.endings(after):
                yield (word, *rest)


def make_acceptor(automaton: WordAutomaton, token_of: Callable[[str], int]) -> Acceptor:
    """The automaton made certain: a state for each set of its states that the same tokens reach.

    `token_of` gives the token of a word; words of one token are one to the ears.
    """
    reached = [frozenset((0,))]
    numbers = {reached[0]: 0}
    steps: list[dict[int, tuple[int, str]]] = []
    while len(steps) < len(reached):
        onward: dict[int, tuple[set[int], str]] = {}
        for state in sorted(reached[len(steps)]):
            for word, after in automaton.arcs(state):
                onward.setdefault(token_of(word), (set(), word))[0].add(after)
        step: dict[int, tuple[int, str]] = {}
        for token, (afters, word) in onward.items():
            states = frozenset(afters)
            if states not in numbers:
                numbers[states] = len(reached)
                reached.append(states)
            step[token] = (numbers[states], word)
        steps.append(step)
    return Acceptor(
        tuple(steps), tuple(any(automaton.is_end(state) for state in states) for states in reached)
    )
