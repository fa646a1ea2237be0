"""What a person types into a search, as a query of the word index."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from itertools import groupby, islice, product
from typing import Literal

from companion.language.loader import language_codes, load_language

Place = Literal["anywhere", "said", "heard", "noted"]
"""Whose words: the companion's, the technician's, or what was kept."""

LONGEST_NUMBER = 12
MOST_SPELLINGS = 64
_NUMBER = re.compile(r"\d+(?:\.\d+)?", re.ASCII)


@cache
def digit_words() -> tuple[Mapping[str, tuple[str, ...]], ...]:
    """How each figure and the point are said, language by language: a record may hold several."""
    found = []
    for code in language_codes():
        numbers = load_language(code).vocabulary.numbers
        words = {str(n): (word,) for n, word in enumerate(numbers.digits)}
        words["."] = (numbers.point,)
        found.append(words | {n: (*words[n], *also) for n, also in numbers.digits_also.items()})
    return tuple(found)


@cache
def _figures_of() -> tuple[Mapping[str, str], ...]:
    return tuple(
        {word: figure for figure, said in words.items() for word in said} for words in digit_words()
    )


_PART = re.compile(r'"([^"]*)"|(\S+)')


def fts_query(typed: str, place: Place = "anywhere") -> str:
    """An FTS5 query: every word must stand in the same event, in any case and order.

    `"words in quotes"` must follow each other; a word ending in `*` may go on. A number also finds
    itself as it is said ("806": "eight zero six"), and the figures as said find the number. Nothing
    else has a meaning of its own, so that whatever is typed is a query; one of no letters or digits
    is "".
    """
    parts = []
    for quoted, bare in _numbers_together(_PART.findall(typed)):
        words = quoted or bare
        if not any(sign.isalnum() for sign in words):
            continue
        if not quoted and (spellings := _spellings(words)):
            parts.append("(" + " OR ".join(f'"{told}"' for told in spellings) + ")")
            continue
        stem = words.rstrip("*")
        ending = "*" if not quoted and stem != words else ""
        parts.append('"' + stem.replace('"', '""').replace("\0", " ") + '"' + ending)
    if not parts:
        return ""
    together = " AND ".join(parts)
    return together if place == "anywhere" else f"{{{place}}} : ({together})"


def _spellings(typed: str) -> list[str]:
    """The number as figures and as it may be said; nothing where it is no number."""
    words = typed.split(" ")
    if len(words) > 1:
        number = "".join(figure_of(word) for word in words)
    else:
        number = typed.replace(",", ".")
    if _NUMBER.fullmatch(number) is None or len(number) > LONGEST_NUMBER:
        return []
    said = [
        " ".join(choice)
        for language in digit_words()
        for choice in islice(product(*(language[sign] for sign in number)), MOST_SPELLINGS)
    ]
    return list(dict.fromkeys([number, *([typed] if len(words) > 1 else []), *said]))


def _numbers_together(parts: Iterable[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """The parts, with figures that were typed as words one after the other taken as one."""
    for are_figures, run in groupby(parts, key=lambda part: bool(figure_of(part[1]))):
        found = list(run)
        if are_figures and len(found) > 1:
            yield "", " ".join(bare for _, bare in found)
        else:
            yield from found


def figure_of(word: str) -> str:
    """The figure that this word says in any language, "" where it is none."""
    return next((known[word.lower()] for known in _figures_of() if word.lower() in known), "")
