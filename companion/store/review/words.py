"""What somebody types, as a question to the index of words and to the events of a job."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable
from types import TracebackType

from companion.archive.digest import told_by
from companion.archive.plain_words import MOST_FIGURES, split_words
from companion.archive.query import Place, digit_words, figure_of, fts_query
from companion.archive.search import Hit, Snippets
from companion.record.port import StoredEvent
from companion.store.review.indexing import WHOSE

_PART = re.compile(r'"([^"]*)"|(\S+)')
MOST_WORDS = 20
_ACCENTED = re.compile(r"[aceilnorsuyz]")


def lexemes(typed: str, place: Place) -> str:
    """A `tsquery` that every job fits in which the words stand; "" for no words.

    That they stand in the same event, and next to each other where they were quoted, is looked at
    in the job's events (`Matching`).
    """
    letters = WHOSE.values() if place == "anywhere" else (WHOSE[place],)
    alternatives = []
    for word, ending in _words(typed):
        quoted = "".join(sign for sign in word if sign.isalnum())
        alternatives.append(
            "(" + " | ".join(f"'{letter}{quoted}'{ending}" for letter in letters) + ")"
        )
    return " & ".join(alternatives)


def needles(typed: str) -> list[str]:
    """Patterns (LIKE) of which an event that holds one of the words holds one."""
    found: list[str] = []
    for word, _ in _words(typed):
        found.append(f"%{_ACCENTED.sub('_', word)}%")
        if word.isdigit():
            found += [
                f"%{said}%" for language in digit_words() for said in language.get(word[0], ())
            ]
    return found


def _words(typed: str) -> list[tuple[str, str]]:
    """Each word with what follows it in a query: ":*" where it may go on."""
    found: list[tuple[str, str]] = []
    figures: list[str] = []
    for quoted, bare in _PART.findall(typed):
        if not quoted and figure_of(bare):
            figures.append(bare)
            continue
        found += _number(figures)
        figures = []
        words = list(split_words(quoted or bare))
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
        self._query = fts_query(typed, place)
        self._snippets = Snippets(self._query)

    def __enter__(self) -> Matching:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: object, trace: TracebackType | None
    ) -> None:
        self._snippets.close()

    def hits(self, events: Iterable[StoredEvent], most: int) -> list[Hit]:
        """The first events that hold the words."""
        found: list[Hit] = []
        for event in events:
            told = told_by(event)
            if told is None:
                continue
            try:
                snippet = self._snippets.of_match(told.said, told.heard, told.noted)
            except sqlite3.Error:
                return []
            if snippet is not None:
                found.append(Hit(event.seq, event.at_utc, event.kind, snippet))
                if len(found) == most:
                    break
        return found
