"""A step's grammar as a machine that reads one token at a time and knows when it may stop."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from companion.errors import EarsError

_PART = re.compile(r"<[^<>\s]+>|[a-z']+|[()\[\]|]")
_RULE = re.compile(r"(?:public\s+)?<([^<>\s]+)>\s*=\s*([^;]*);")
_PUBLIC = re.compile(r"public\s+<([^<>\s]+)>")


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


@dataclass
class _Loose:
    """The grammar with free moves and several ways for one word, before it is made certain."""

    words: list[list[tuple[str, int]]] = field(default_factory=list)
    free: list[list[int]] = field(default_factory=list)

    def state(self) -> int:
        self.words.append([])
        self.free.append([])
        return len(self.words) - 1


def make_acceptor(jsgf: str, token_of: Callable[[str], int]) -> Acceptor:
    """The machine of a JSGF text without recursion, weights, tags or repetition.

    `token_of` gives the token of a word; words of one token are one to the ears. Raises
    `EarsError` for a text of another kind.
    """
    head, _, body = jsgf.partition(";")
    rules = {name: _PART.findall(text) for name, text in _RULE.findall(body)}
    public = _PUBLIC.search(body)
    if not head.startswith("#JSGF") or public is None:
        raise EarsError("this is not the grammar of a step; wanted JSGF with one public rule")
    loose = _Loose()
    start, end = loose.state(), loose.state()
    _Builder(rules, loose).rule(public.group(1), start, end)
    return _certain(loose, start, end, token_of)


class _Builder:
    """Lays the parts of rules between two states."""

    def __init__(self, rules: dict[str, list[str]], loose: _Loose) -> None:
        self._rules = rules
        self._loose = loose
        self._open: list[str] = []

    def rule(self, name: str, start: int, end: int) -> None:
        if name in self._open or name not in self._rules:
            raise EarsError(f"the grammar's rule <{name}> is missing or leads back to itself")
        self._open.append(name)
        parts = self._rules[name]
        if self._ways(parts, 0, start, end) != len(parts):
            raise EarsError(f"the grammar's rule <{name}> has brackets that do not match")
        self._open.pop()

    def _ways(self, parts: list[str], place: int, start: int, end: int) -> int:
        """Alternatives up to a closing bracket or the end; returns the place behind them."""
        here = start
        while place < len(parts):
            part = parts[place]
            if part in (")", "]"):
                break
            place += 1
            if part == "|":
                self._loose.free[here].append(end)
                here = start
                continue
            after = self._loose.state()
            if part in ("(", "["):
                if part == "[":
                    self._loose.free[here].append(after)
                place = self._ways(parts, place, here, after) + 1
            elif part.startswith("<"):
                self.rule(part[1:-1], here, after)
            else:
                self._loose.words[here].append((part, after))
            here = after
        self._loose.free[here].append(end)
        return place


def _certain(loose: _Loose, start: int, end: int, token_of: Callable[[str], int]) -> Acceptor:
    """One state for each set of loose states that the same tokens lead to."""
    reached = [_with_free(loose, {start})]
    numbers = {reached[0]: 0}
    steps: list[dict[int, tuple[int, str]]] = []
    while len(steps) < len(reached):
        onward: dict[int, tuple[set[int], str]] = {}
        for state in sorted(reached[len(steps)]):
            for word, after in loose.words[state]:
                onward.setdefault(token_of(word), (set(), word))[0].add(after)
        step: dict[int, tuple[int, str]] = {}
        for token, (afters, word) in onward.items():
            states = _with_free(loose, afters)
            if states not in numbers:
                numbers[states] = len(reached)
                reached.append(states)
            step[token] = (numbers[states], word)
        steps.append(step)
    return Acceptor(tuple(steps), tuple(end in states for states in reached))


def _with_free(loose: _Loose, states: set[int]) -> frozenset[int]:
    found, waiting = set(states), list(states)
    while waiting:
        for after in loose.free[waiting.pop()]:
            if after not in found:
                found.add(after)
                waiting.append(after)
    return frozenset(found)
