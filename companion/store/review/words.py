"""The words of a job as the index keeps them, and what somebody types as a question to it."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from types import TracebackType
from typing import Any

from companion.archive.digest import Told
from companion.archive.plain_words import MOST_FIGURES, plain_words, split_words
from companion.archive.query import Place, digit_words, figure_of, fts_query
from companion.archive.search import Hit, Snippets

WHOSE = {"said": "s", "heard": "h", "noted": "n"}
"""The letter before a word that says whose it is."""
_PART = re.compile(r'"([^"]*)"|(\S+)')
MOST_WORDS = 20
MOST_PLACES = 255
"""The engine keeps no more places of a word in one job."""
_ACCENTED = re.compile(r"[aceilnorsuyz]")


def words_vector(told: Sequence[Told]) -> str:
    """What a job is found by, as text of a `tsvector`: its words, and each two that follow on.

    The place of a word is that of its event, so that the engine sees which words stand in one.
    Where a job has more events than the engine keeps places, a few neighbours share one.
    """
    places: dict[str, dict[int, None]] = {}
    for number, one in enumerate(told):
        place = 1 + number * MOST_PLACES // max(len(told), MOST_PLACES)
        for lexeme in _lexemes(one):
            places.setdefault(lexeme, {})[place] = None
    return " ".join(
        f"'{lexeme}':{','.join(map(str, found))}" for lexeme, found in sorted(places.items())
    )


def _lexemes(told: Told) -> Iterator[str]:
    for whose, letter in WHOSE.items():
        if text := getattr(told, whose):
            yield from _lexemes_of(letter, text)


# Much is said in the same words in every job.
@lru_cache(maxsize=20_000)
def _lexemes_of(letter: str, text: str) -> tuple[str, ...]:
    return (
        *(letter + word for word in plain_words(text)),
        *(f"{letter}{first}_{second}" for first, second in pairwise(split_words(text))),
    )


@dataclass(frozen=True)
class Query:
    """A question to the index, as two `tsquery`: jobs that hold every word, and those of them in
    which the words stand in one event. Both are "" for no words."""

    every: str
    together: str


def asked(typed: str, place: Place) -> Query:
    """The question that was typed. Every job that fits is found by it, and a few more."""
    letters = tuple(WHOSE.values()) if place == "anywhere" else (WHOSE[place],)
    parts = [
        "(" + " | ".join(f"'{letter}{word}'{ending}" for letter in letters) + ")"
        for word, ending in _words(typed)
    ]
    return Query(" & ".join(parts), " <0> ".join(parts))


def rough(typed: str) -> tuple[re.Pattern[str], ...]:
    """One pattern a word; what holds the words, however they are accented, holds all of these."""
    found: list[str] = []
    for words, _ in _words(typed):
        for word in words.split("_"):
            ways = [_ACCENTED.sub(".", word)]
            if word.isdigit():
                ways += [
                    re.escape(said)
                    for language in digit_words()
                    for said in language.get(word[0], ())
                ]
            found.append("|".join(ways))
    return tuple(re.compile(way, re.IGNORECASE) for way in dict.fromkeys(found))


def _words(typed: str) -> list[tuple[str, str]]:
    """Each word with what follows it in a query: ":*" where it may go on. In quotes each two."""
    found: list[tuple[str, str]] = []
    figures: list[str] = []
    for quoted, bare in _PART.findall(typed):
        if not quoted and figure_of(bare):
            figures.append(bare)
            continue
        found += _number(figures)
        figures = []
        words = list(split_words(quoted or bare))
        # What is typed without a space and parts into words ("A-1") stands in one row, too.
        whole = words[:-1] if bare.endswith("*") else words
        found += [(f"{first}_{second}", "") for first, second in pairwise(whole)]
        if len(words) == 1 or not quoted:
            found += [(word, "") for word in words]
        if bare.endswith("*") and words:
            found[-1] = (words[-1], ":*")
    found += _number(figures)
    return list(dict.fromkeys(found))[:MOST_WORDS]


def _number(figures: list[str]) -> list[tuple[str, str]]:
    """Figures one after the other, as the number that they are."""
    number = "".join(map(figure_of, figures))
    return [(part[:MOST_FIGURES], "") for part in number.split(".") if part]


class Matching:
    """Whether an event holds the words, by the same rules as the index of one record."""

    def __init__(self, typed: str, place: Place) -> None:
        self._rough = rough(typed)
        self._snippets = Snippets(fts_query(typed, place))

    def __enter__(self) -> Matching:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: object, trace: TracebackType | None
    ) -> None:
        self._snippets.close()

    def hits(self, told: Iterable[Sequence[Any]], most: int) -> list[Hit]:
        """The first events that hold the words, of those that the index keeps of a job."""
        found: list[Hit] = []
        for seq, at_utc, kind, *columns in told:
            if not all(any(map(way.search, columns)) for way in self._rough):
                continue
            try:
                snippet = self._snippets.of_match(*columns)
            except sqlite3.Error:
                return []
            if snippet is not None:
                found.append(Hit(seq, at_utc, kind, snippet))
                if len(found) == most:
                    break
        return found
