"""A step's grammar as a machine over words, for recognisers that lay sounds over it themselves."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from companion.errors import EarsError

_PIECE = re.compile(r"<[^<>\s]+>|[a-z']+|[()\[\]|]")
_RULE = re.compile(r"(?:public\s+)?<([^<>\s]+)>\s*=\s*([^;]*);")
_PUBLIC = re.compile(r"public\s+<([^<>\s]+)>")


@dataclass(frozen=True)
class WordRows:
    """State 0 is the start; `after[state]` tells where each word leads, `ends` where to stop."""

    after: tuple[dict[str, int], ...]
    ends: frozenset[int]


@dataclass
class _Loose:
    """States with words and free moves between them."""

    by_word: list[list[tuple[str, int]]] = field(default_factory=list)
    free: list[set[int]] = field(default_factory=list)

    def new(self) -> int:
        self.by_word.append([])
        self.free.append(set())
        return len(self.free) - 1

    def reach(self, states: set[int]) -> frozenset[int]:
        found, waiting = set(states), list(states)
        while waiting:
            fresh = self.free[waiting.pop()] - found
            found |= fresh
            waiting += fresh
        return frozenset(found)


def word_rows(jsgf: str) -> WordRows:
    """From JSGF text without recursion, weights or repetition. Raises `EarsError` for another."""
    public = _PUBLIC.search(jsgf)
    if public is None:
        raise EarsError("a grammar without a public rule; wanted the JSGF of a step")
    rules = {name: _PIECE.findall(text) for name, text in _RULE.findall(jsgf)}
    loose = _Loose()
    start, end = loose.new(), loose.new()
    _lay(rules, [f"<{public.group(1)}>"], loose, start, end)
    return _one_way_each(loose, start, end)


def _lay(rules: dict[str, list[str]], pieces: list[str], loose: _Loose, a: int, b: int) -> None:
    """The alternatives of `pieces`, brackets and all, between two states."""
    for row in _split_at_bars(pieces):
        here, place = a, 0
        while place < len(row):
            piece, there = row[place], loose.new()
            if piece in ("(", "["):
                closing = _closing(row, place)
                _lay(rules, row[place + 1 : closing], loose, here, there)
                if piece == "[":
                    loose.free[here].add(there)
                place = closing
            elif piece.startswith("<"):
                _lay(rules, rules[piece[1:-1]], loose, here, there)
            else:
                loose.by_word[here].append((piece, there))
            here, place = there, place + 1
        loose.free[here].add(b)


def _split_at_bars(pieces: list[str]) -> list[list[str]]:
    rows: list[list[str]] = [[]]
    depth = 0
    for piece in pieces:
        depth += (piece in "([") - (piece in ")]")
        if piece == "|" and depth == 0:
            rows.append([])
        else:
            rows[-1].append(piece)
    return rows


def _closing(row: list[str], opening: int) -> int:
    depth = 0
    for place in range(opening, len(row)):
        depth += (row[place] in "([") - (row[place] in ")]")
        if depth == 0:
            return place
    raise EarsError("a grammar with a bracket that nothing closes; wanted the JSGF of a step")


def _one_way_each(loose: _Loose, start: int, end: int) -> WordRows:
    """One state for each set of loose states that the same words lead to."""
    first = loose.reach({start})
    numbers, waiting = {first: 0}, [first]
    after: list[dict[str, int]] = []
    while len(after) < len(waiting):
        onward: dict[str, set[int]] = {}
        for state in waiting[len(after)]:
            for word, there in loose.by_word[state]:
                onward.setdefault(word, set()).add(there)
        after.append({})
        for word, states in sorted(onward.items()):
            reached = loose.reach(states)
            if reached not in numbers:
                numbers[reached] = len(waiting)
                waiting.append(reached)
            after[-1][word] = numbers[reached]
    return WordRows(tuple(after), frozenset(numbers[s] for s in numbers if end in s))
